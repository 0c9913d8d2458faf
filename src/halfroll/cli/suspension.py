"""``halfroll suspension``: how stiff surround and spider will be, what moves, where it breaks up."""

from __future__ import annotations

from collections.abc import Iterable
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
from halfroll.core.progress import part as stretch

if TYPE_CHECKING:
    from halfroll.publish.parameter_rows import Rows
    from halfroll.suspension.results import PartResult
    from halfroll.workshop import Workshop
    from halfroll.workshop.suspension_report import SuspensionReport
    from halfroll.workshop.suspension_studies import Want


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option(
    "--part",
    "part_name",
    type=click.Choice(["surround", "spider"]),
    default=None,
    help="Tell this part only.",
)
@click.option("--curve", is_flag=True, help="Also force and stiffness over displacement.")
@click.option("--break-up", is_flag=True, help="Also where the cone stops moving as one piece (slower).")
@click.option(
    "--distortion",
    is_flag=True,
    help="Also what the suspension adds to the distortion of the bass (computes the motor when there is one).",
)
@click.option(
    "--volts",
    type=float,
    multiple=True,
    help="Voltage for the distortion, r.m.s.; may be given several times. Default: 1 W into the rated impedance, else 2.83 V.",
)
@click.option(
    "--against",
    default=None,
    metavar="DRIVER/VERSION",
    help="Also list what differs from the moving parts of this version.",
)
@click.option("--tables", is_flag=True, help="Also the tables behind it: parts, masses, materials.")
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the bent shapes to this SVG file; two parts make two files. With --break-up also the far field and "
    "the shapes of the resonances, each in a file named after this one.",
)
@click.option(
    "--3mf",
    "model_file",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the printable models to this 3MF file, with the jig for the gap where there is one; `halfroll models` "
    "checks them.",
)
@drawing_options
@json_option
def suspension(
    version_id: str, part_name: str | None, curve: bool, break_up: bool, distortion: bool, volts: tuple[float, ...], against: str | None,
    tables: bool, svg: Path | None, model_file: Path | None, theme: str, width: int, as_json: bool,
) -> None:  # fmt: skip
    """Compute surround, spider and moving parts from their design.

    Stiffness over the travel with its uncertainty, symmetry, how far compliance holds, strain of the plastic, moving mass, resonance,
    sag, rocking, and what should make you careful; against what was measured, where that was. Results are kept until the design changes.

    \b
    Example:
      halfroll suspension avocet/v8
      halfroll suspension avocet/v8 --tables --curve
      halfroll suspension avocet/v8 --break-up --distortion --volts 2.83 --volts 5
      halfroll suspension avocet/v8 --part surround --svg roll.svg --3mf roll.3mf
    """  # fmt: skip
    workshop = open_workshop()
    from halfroll.workshop.suspension_report import suspension_report
    from halfroll.workshop.suspensions import changes_between, load_moving, solve_suspension

    check_ending(svg, ".svg", "--svg")
    check_ending(model_file, ".3mf", "--3mf")
    _check_asked(part_name, load_moving(workshop, version_id), volts)
    wants: tuple[Want, ...] = ("stiffness", "mass", "break-up") if break_up else ("stiffness", "mass")
    with progress_bar("suspension") as progress:
        solved = solve_suspension(workshop, version_id, stretch(progress, 0.0, 0.8), wants=wants)
        report = suspension_report(
            workshop,
            solved,
            version_id,
            distortion=distortion,
            volts=volts,
            progress=stretch(progress, 0.8, 1.0),
        )
    changes = () if against is None else changes_between(workshop, against, version_id)
    if svg is not None:
        _write_pictures(report, svg, theme, width, version_id, part_name)
    if model_file is not None:
        _write_models(workshop, model_file, version_id, part_name)
    if as_json:
        from dataclasses import asdict

        from halfroll.publish.suspension_json import report_dict

        found = report_dict(report, curve=curve, only=part_name)
        print_json({"version": version_id, **found, "changes": [asdict(change) for change in changes]})
        return
    if against is not None:
        from halfroll.publish.motor_rows import change_rows

        print_tables([change_rows(changes, against)], empty=True)
    _print(report, part_name, curve=curve, tables=tables)
    if model_file is not None:
        from halfroll.suspension.models.checks import PRINT_CAUTIONS

        say_verdicts((PRINT_CAUTIONS,))
    if not tables:
        say(f"All tables: halfroll suspension {version_id} --tables")


def _check_asked(part_name: str | None, design: object, volts: tuple[float, ...]) -> None:
    """Refuse what cannot be told before anything slow begins."""
    if part_name is not None and getattr(design, part_name) is None:
        raise InputError(f"The version must have a {part_name} to tell it", key="--part", found=part_name)
    for value in volts:
        if not 0.0 < value <= 1000.0:
            raise InputError(
                "A voltage must be above zero",
                key="--volts",
                found=f"{value:g} V",
                allowed="above 0, to 1000 V",
            )


def _write_pictures(
    report: SuspensionReport, path: Path, look: str, width: int, name: str, only: str | None
) -> None:
    """Bent shapes and break-up: one file, or one each named after `path`; all are drawn before one is written."""
    drawn = _pictures(report, look, float(width), name, only)
    if not drawn:
        raise InputError("Bent shapes need a suspension", key="--svg", found="no surround and no spider")
    for ending, picture in drawn.items():
        at = path if len(drawn) == 1 else path.with_name(f"{path.stem}-{ending}{path.suffix}")
        write_file(at, picture)


def _pictures(report: SuspensionReport, look: str, width: float, name: str, only: str | None) -> dict[str, str]:  # fmt: skip
    """SVG by the ending of its file's name."""
    from halfroll.publish.diaphragm import mode_svg, response_chart, shown_modes
    from halfroll.publish.render import to_svg
    from halfroll.publish.suspension_shapes import bent_svg
    from halfroll.publish.theme import theme

    ink, found = theme(look), report.solved.break_up
    drawn = {one.name: bent_svg(one, theme=ink, width_px=width, name=name) for one in _parts(report, only)}
    if found is not None:
        drawn["far-field"] = to_svg(response_chart(found, theme=ink, width_px=width))
        for mode in shown_modes(found):
            drawn[f"{mode.frequency_hz:.0f}-hz"] = mode_svg(mode, theme=ink, width_px=width, name=name)
    return drawn


def _write_models(workshop: Workshop, path: Path, name: str, only: str | None) -> None:
    """The same file as that of ``halfroll models``."""
    from halfroll.publish.printing.threemf import write_3mf
    from halfroll.workshop.models import version_models

    models = version_models(workshop, name, parts=None if only is None else (only,))
    if not models:
        raise InputError("A file of models needs a printed part", key="--3mf", found="none that is printed")
    write_file(path, write_3mf(models, title=name, designer=workshop.name))


def _parts(report: SuspensionReport, only: str | None) -> list[PartResult]:
    suspended = report.solved.suspension
    return [] if suspended is None else [one for one in suspended.parts if only in (None, one.name)]


def _print(report: SuspensionReport, only: str | None, *, curve: bool, tables: bool) -> None:
    """The answer, tables that were asked for, then what is to be said beside them."""
    from halfroll.publish.suspension_said import glance_rows

    glance = [glance_rows(report)] if only is None else []
    print_tables([*glance, *_tables(report, only, curve, tables)])
    say_faults(report.faults)
    say_verdicts(tuple(one for one in report.verdicts if only is None or one.data.get("part", only) == only))


def _tables(report: SuspensionReport, only: str | None, curve: bool, tables: bool) -> Iterable[Rows]:
    from halfroll.publish import suspension_rows
    from halfroll.publish.suspension_said import curve_rows, distortion_rows

    solved, parts = report.solved, tuple(_parts(report, only))
    if parts and (tables or only is not None):
        yield suspension_rows.part_rows(parts, tuple(_parts(report, None)))
    if parts and curve:
        whole = solved.suspension
        yield curve_rows(parts[0].curve if only is not None or whole is None else whole.curve)
    if tables and solved.mass is not None:
        yield suspension_rows.mass_rows(solved.mass)
    if tables:
        yield suspension_rows.material_rows(report.materials)
    if only is None:
        yield suspension_rows.comparison_rows(report.comparisons)
    if solved.break_up is not None:
        yield suspension_rows.break_up_rows(solved.break_up)
    yield from distortion_rows(report)
