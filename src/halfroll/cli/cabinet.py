"""``halfroll cabinet``: cabinets listed, shown with a driver in them, suggested, made."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.cabinet_make import DRIVER, SOURCE, VOLTS, new, suggest
from halfroll.cli.common import (
    InOrder,
    check_ending,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say,
    say_faults,
    say_verdicts,
    write_file,
)
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.workshop import Workshop
    from halfroll.workshop.cabinet_report import CabinetReport
    from halfroll.workshop.cabinets import LoadedCabinet
    from halfroll.workshop.prediction import Source


@click.group(cls=InOrder)
def cabinet() -> None:
    """Closed, vented and passive-radiator cabinets, with a driver in them.

    A cabinet is a file in enclosures/ of the workshop. Start with "suggest" when you have a driver and a size in mind.
    """


@cabinet.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List the cabinets of the workshop."""
    from halfroll.publish.cabinet_rows import cabinet_dict, cabinet_list_rows
    from halfroll.workshop.cabinets import all_cabinets

    known, faults = all_cabinets(open_workshop())
    if as_json:
        print_json({
            "cabinets": [{"id": one.loaded.id, "title": one.loaded.record.title, "driver": one.loaded.record.driver, **cabinet_dict(one.cabinet)}
                         for one in known],
            "faults": [fault.as_dict() for fault in faults],
        })  # fmt: skip
        return
    if known:
        print_rows(cabinet_list_rows(known))
    elif not faults:
        say("No cabinets yet. Begin with: halfroll cabinet suggest DRIVER/VERSION --most 2")
    say_faults(faults)


@cabinet.command()
@click.argument("cabinet_id", metavar="CABINET")
@DRIVER
@SOURCE
@VOLTS
@click.option("--curves", is_flag=True, help="With --json: also the curves.")
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the drawing to this SVG file.",
)
@click.option(
    "--chart",
    type=click.Choice(["level", "travel", "port", "delay", "impedance"]),
    default=None,
    help="Write this chart to the SVG file instead.",
)
@json_option
def show(
    cabinet_id: str, driver: str | None, source: Source, volts: float, curves: bool, svg: Path | None, chart: str | None, as_json: bool
) -> None:  # fmt: skip
    """Show a cabinet, and what a driver does in it.

    Lower limit, peak, group delay, travel, air speed in the port, and what should make you careful. Small signals, half space, 1 m.

    \b
    Example:
      halfroll cabinet show reed-box-3l
      halfroll cabinet show reed-box-3l --driver avocet/v7 --volts 6 --svg level.svg --chart level
    """
    check_ending(svg, ".svg", "--svg")
    if chart is not None and svg is None:
        raise InputError("A chart needs a file to be written to", key="--chart", remedy="Add --svg FILE")
    workshop = open_workshop()
    built, report = _worked(workshop, cabinet_id, driver, source, volts)
    if svg is not None:
        write_file(svg, _picture(built, report, chart))
    from halfroll.publish.cabinet_rows import figure_rows, report_dict

    if as_json:
        print_json(
            {"id": cabinet_id, "title": built.loaded.record.title, **report_dict(report, curves=curves)}
        )
        return
    print_rows(figure_rows(report))
    if report.driver is None:
        say("No driver is in it. Name one with --driver DRIVER/VERSION.")
    say_verdicts(report.verdicts)


def _worked(
    workshop: Workshop, cabinet_id: str, driver: str | None, source: Source, volts: float
) -> tuple[LoadedCabinet, CabinetReport]:
    from halfroll.workshop.cabinet_report import cabinet_report
    from halfroll.workshop.cabinets import built_cabinet
    from halfroll.workshop.prediction import driver_model

    built = built_cabinet(workshop, cabinet_id, driver)
    version_id = driver or built.loaded.record.driver
    model = None
    if version_id is not None:
        with progress_bar("driver") as progress:
            model = driver_model(workshop, version_id, source, progress)
    used = built.loaded.record.used_to_hz
    return built, cabinet_report(built.cabinet, model, version_id or "", volts=volts, used_to_hz=used)


def _picture(built: LoadedCabinet, report: CabinetReport, chart: str | None) -> str:
    from halfroll.publish.theme import theme
    from halfroll.workshop.cabinets import wall_m

    if chart is None:
        from halfroll.publish.cabinet_drawing import cabinet_svg

        radius = None if report.driver is None else report.driver.model.radius
        return cabinet_svg(built.cabinet, built.body, wall_m=wall_m(built.loaded.record), cone_radius_m=radius, theme=theme("print"), width_px=900,
                           name=built.loaded.record.title or built.loaded.id)  # fmt: skip
    from halfroll.publish.cabinet import cabinet_charts
    from halfroll.publish.render import to_svg

    charts = cabinet_charts(report, theme=theme("print"), width_px=900)
    if chart not in charts:
        raise InputError(
            "There is no such chart of this cabinet",
            key="--chart",
            found=chart,
            allowed=list(charts) or "none without a driver",
        )
    return to_svg(charts[chart])


cabinet.add_command(suggest)
cabinet.add_command(new)
