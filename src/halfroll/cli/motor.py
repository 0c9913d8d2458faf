"""``halfroll motor``: what a version's motor and coil will do, from their design."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    check_ending,
    drawing_options,
    json_option,
    open_workshop,
    print_json,
    print_tables,
    progress_bar,
    say,
    say_faults,
    say_verdicts,
    write_file,
)
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.motor.placing.design_changes import DesignChange
    from halfroll.publish.parameter_rows import Rows
    from halfroll.suspension.design import MovingDesign
    from halfroll.workshop import Workshop
    from halfroll.workshop.motor_report import MotorReport
    from halfroll.workshop.motor_studies import Want


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option(
    "--coil-offset",
    type=float,
    default=None,
    help="Let the coil rest here instead, mm over the gap's middle, outwards above 0.",
)
@click.option(
    "--temperature",
    type=float,
    default=None,
    help="Temperature of the magnets instead of that in the record, degrees C.",
)
@click.option(
    "--against",
    default=None,
    metavar="DRIVER/VERSION",
    help="Also list what differs from the design of this version.",
)
@click.option(
    "--inductance", is_flag=True, help="Also inductance and eddy-current losses, 20 Hz to 20 kHz (slower)."
)
@click.option("--modulation", is_flag=True, help="Also what current does to the force factor (slower).")
@click.option(
    "--forces", is_flag=True, help="Also forces between the parts while they are put together (slower)."
)
@click.option(
    "--spread",
    is_flag=True,
    help="Let the uncertainty hold what bought magnets and steel differ by (slower).",
)
@click.option(
    "--tables",
    is_flag=True,
    help="Also the tables behind it: travel, steel, magnets, coil, clearance, power, cost.",
)
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the half-section with its field to this SVG file.",
)
@drawing_options
@json_option
def motor(
    version_id: str, coil_offset: float | None, temperature: float | None, against: str | None, inductance: bool,
    modulation: bool, forces: bool, spread: bool, tables: bool, svg: Path | None, theme: str, width: int, as_json: bool,
) -> None:  # fmt: skip
    """Compute a motor and coil from their design.

    Force factor and flux density, how far the coil may travel, how full the steel is, how near the magnets are to their knee, the
    coil's resistance, mass, clearance and power, the cost, and what should make you careful. Results are kept until the design
    changes.

    \b
    Example:
      halfroll motor avocet/v7
      halfroll motor avocet/v7 --tables
      halfroll motor avocet/v7 --coil-offset 0.3 --inductance --svg avocet.svg
      halfroll motor avocet/v8 --against avocet/v7
    """  # fmt: skip
    check_ending(svg, ".svg", "--svg")
    workshop = open_workshop()
    from halfroll.motor.field.study import StudySettings
    from halfroll.motor.placing.design_changes import design_changes
    from halfroll.workshop.motor_report import motor_report
    from halfroll.workshop.motors import case_of, load_design, otherwise, solve

    case = case_of(workshop, version_id, settings=StudySettings(material_spread=True) if spread else None)
    offset_m = None if coil_offset is None else 1e-3 * coil_offset
    case = otherwise(case, temperature_c=temperature, offset_m=offset_m)
    slot = version_id if coil_offset is None and temperature is None else f"{version_id} otherwise"
    changes = () if against is None else design_changes(load_design(workshop, against), case.design)
    asked: dict[Want, bool] = {
        "field": True,
        "inductance": inductance,
        "modulation": modulation,
        "forces": forces,
    }
    wants = [want for want, yes in asked.items() if yes]
    with progress_bar("field") as progress:
        solved = solve(workshop, case, wants, progress, slot=slot)
    report = motor_report(workshop, solved, dt.datetime.now().astimezone().date(), version_id)
    if svg is not None:
        _write_section(report, svg, theme, width, version_id, _moving(workshop, version_id))
    if as_json:
        from halfroll.publish.motor_json import report_dict

        print_json(
            {"version": version_id, **report_dict(report), "changes": [asdict(change) for change in changes]}
        )
        return
    _print(version_id, report, against, changes, tables)


def _moving(workshop: Workshop, version_id: str) -> MovingDesign | None:
    """What moves in the motor, where it is designed; what is wrong with it `halfroll suspension` says."""
    from halfroll.workshop.suspensions import load_moving

    try:
        return load_moving(workshop, version_id)
    except InputError:
        return None


def _write_section(
    report: MotorReport, path: Path, look: str, width: int, name: str, moving: MovingDesign | None
) -> None:
    from halfroll.publish.section import section_svg
    from halfroll.publish.theme import theme

    solved = report.solved
    drawn = section_svg(
        solved.assembly,
        coil=report.coil,
        result=solved.motor,
        theme=theme(look),
        width_px=float(width),
        name=name,
        moving=moving,
    )
    write_file(path, drawn)


def _print(
    version_id: str, report: MotorReport, against: str | None, changes: Sequence[DesignChange], tables: bool
) -> None:
    """What the design changed, the answer, tables that were asked for, then what is to be said beside them."""
    from halfroll.publish.motor_rows import change_rows, glance_rows

    if against is not None:
        print_tables([change_rows(changes, against)], empty=True)
    shown = _tables(report) if tables else ()
    print_tables([glance_rows(report), *shown, *_slow_tables(report)])
    say_faults(report.faults)
    say_verdicts(report.verdicts)
    if not tables:
        say(f"All tables: halfroll motor {version_id} --tables")


def _tables(report: MotorReport) -> Iterable[Rows]:
    from halfroll.publish import coil_rows, motor_rows

    solved = report.solved
    result = solved.motor
    assert result is not None
    if report.limits is not None:
        yield motor_rows.travel_rows(report.limits, report.geometric, result, solved.assembly)
    yield motor_rows.steel_rows(result)
    yield motor_rows.magnet_rows(result)
    if report.coil is not None:
        yield coil_rows.coil_rows(report.coil)
    if report.clearance_warm is not None:
        yield coil_rows.clearance_rows(report.clearance_warm)
    if report.heat is not None:
        yield coil_rows.heat_rows(report.heat)
    yield motor_rows.cost_rows(report.cost)


def _slow_tables(report: MotorReport) -> Iterable[Rows]:
    """Tables of what was asked for beside the field."""
    from halfroll.publish import motor_slow_rows

    solved = report.solved
    if solved.inductance is not None:
        yield motor_slow_rows.inductance_rows(solved.inductance)
        if report.coil is not None:
            yield motor_slow_rows.fitted_rows(solved.inductance, report.coil.resistance_ohm)
    if solved.modulation is not None:
        yield motor_slow_rows.modulation_rows(solved.modulation)
    if solved.forces:
        yield motor_slow_rows.force_rows(solved.forces)
