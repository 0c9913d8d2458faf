"""``halfroll cabinet``: cabinets listed, shown with a driver in them, suggested, made."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

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
    from halfroll.driver.boxed_suggest import Goal, Wish
    from halfroll.workshop import Workshop
    from halfroll.workshop.cabinet_report import CabinetReport, Source
    from halfroll.workshop.cabinets import LoadedCabinet

_SOURCES = click.Choice(["auto", "predicted", "measured", "entered"])
_DRIVER = click.option("--driver", default=None, metavar="DRIVER/VERSION", help="The driver in it. Default: the one its record names.")
_SOURCE = click.option("--source", type=_SOURCES, default="auto", show_default=True, help="Where the driver's values come from.")
_VOLTS = click.option("--volts", type=float, default=2.83, show_default=True, help="Voltage of travel, air speed and level, V r.m.s.")


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
@_DRIVER
@_SOURCE
@_VOLTS
@click.option("--curves", is_flag=True, help="With --json: also the curves.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), default=None, help="Write the drawing to this SVG file.")
@click.option("--chart", type=click.Choice(["level", "travel", "port", "delay", "impedance"]), default=None, help="Write this chart to the SVG file instead.")
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
        print_json({"id": cabinet_id, "title": built.loaded.record.title, **report_dict(report, curves=curves)})
        return
    print_rows(figure_rows(report))
    if report.driver is None:
        say("No driver is in it. Name one with --driver DRIVER/VERSION.")
    say_verdicts(report.verdicts)


def _worked(workshop: Workshop, cabinet_id: str, driver: str | None, source: Source, volts: float) -> tuple[LoadedCabinet, CabinetReport]:
    from halfroll.workshop.cabinet_report import cabinet_report, driver_in
    from halfroll.workshop.cabinets import built_cabinet

    built = built_cabinet(workshop, cabinet_id, driver)
    version_id = driver or built.loaded.record.driver
    model = None
    if version_id is not None:
        with progress_bar("driver") as progress:
            model = driver_in(workshop, version_id, source, progress)
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
        raise InputError("There is no such chart of this cabinet", key="--chart", found=chart, allowed=list(charts) or "none without a driver")
    return to_svg(charts[chart])


@cabinet.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option("--most", type=float, required=True, help="Most the inside may hold, litres, with driver and port in it.")
@click.option("--goal", type=click.Choice(["deepest", "flattest", "loudest"]), default="deepest", show_default=True, help="What is ranked by: lowest -3 dB, least deviation, highest level by travel.")
@click.option("--kind", "kinds", type=click.Choice(["closed", "vented"]), multiple=True, help="One kind only; may be repeated. Default: both.")
@click.option("--peak", type=float, default=1.0, show_default=True, help="Highest peak allowed, dB.")
@click.option("--group-delay", type=float, default=None, help="Longest group delay allowed, ms.")
@click.option("--port-speed", type=float, default=17.0, show_default=True, help="Fastest air in the port, m/s peak.")
@click.option("--longest-port", type=float, default=None, help="Longest port, mm. Default: the edge of a cube as large as the cabinet.")
@click.option("--narrowest-port", type=float, default=10.0, show_default=True, help="Narrowest port, mm.")
@click.option("--widest-port", type=float, default=150.0, show_default=True, help="Widest port, mm.")
@click.option("--taken", type=float, default=None, help="What driver and bracing take, litres. Default: what the driver's design takes.")
@click.option("--from", "from_hz", type=float, default=100.0, show_default=True, help="Where the loudest is judged from, Hz.")
@click.option("--ql", type=float, default=7.0, show_default=True, help="Q of leaks taken for vented cabinets.")
@_VOLTS
@_SOURCE
@click.option("--save", default=None, metavar="CABINET", help="Make a new cabinet of the first one (see --pick).")
@click.option("--pick", type=click.IntRange(1), default=1, show_default=True, help="Which of the list --save makes.")
@json_option
def suggest(
    version_id: str, most: float, goal: Goal, kinds: tuple[str, ...], peak: float, group_delay: float | None, port_speed: float,
    longest_port: float | None, narrowest_port: float, widest_port: float, taken: float | None, from_hz: float, ql: float, volts: float,
    source: Source, save: str | None, pick: int, as_json: bool,
) -> None:  # fmt: skip
    """Find cabinets for a driver, the best first.

    Alignments of Thiele and Small where they fit, and a search over volume, tuning and port. Every row says why it stands there, or which of
    your limits it misses.

    \b
    Example:
      halfroll cabinet suggest avocet/v8 --most 2
      halfroll cabinet suggest avocet/v8 --most 3 --kind vented --peak 0.5 --save reed-box
    """
    from halfroll.driver.boxed_suggest import suggest as search
    from halfroll.publish.cabinet_rows import suggestion_dict, suggestion_rows
    from halfroll.workshop.cabinet_report import driver_in
    from halfroll.workshop.cabinets import body_of, keep_suggestion

    workshop = open_workshop()
    body = body_of(workshop, version_id, 3e-3)
    takes = 1e-3 * taken if taken is not None else 0.0 if body is None else body.taken_m3
    wish = _wish(goal=goal, most_m3=1e-3 * most, taken_m3=takes, kinds=kinds or ("closed", "vented"), peak_db=peak, volts=volts, from_hz=from_hz,
                 leak_q=ql, port_speed_m_s=port_speed, narrowest_port_m=1e-3 * narrowest_port, widest_port_m=1e-3 * widest_port,
                 longest_port_m=None if longest_port is None else 1e-3 * longest_port,
                 **({} if group_delay is None else {"group_delay_s": 1e-3 * group_delay}))  # fmt: skip
    with progress_bar("driver") as progress:
        model = driver_in(workshop, version_id, source, progress).model
        found = search(model, wish, progress=progress)
    if as_json:
        print_json({"driver": version_id, "suggestions": [suggestion_dict(one) for one in found]})
    else:
        print_rows(suggestion_rows(found))
        if all(one.misses for one in found):
            say("None keeps all your limits; the nearest stand first.")
    if save is not None:
        if pick > len(found):
            raise InputError("There are not so many suggestions", key="--pick", found=str(pick), allowed=f"1 to {len(found)}")
        made = keep_suggestion(workshop, save, found[pick - 1], version_id)
        say(f"Made {made.path}. Look at it with: halfroll cabinet show {save}")


def _wish(**values: Any) -> Wish:
    from halfroll.driver.boxed_suggest import Wish

    return Wish(**values)


@cabinet.command()
@click.argument("cabinet_id", metavar="CABINET")
@click.option("--type", "type_", type=click.Choice(["closed", "vented", "passive-radiator"]), required=True, help="Kind of cabinet.")
@click.option("--driver", default=None, metavar="DRIVER/VERSION", help="The driver that is to stand in it.")
@click.option("--volume", type=float, default=None, help="Volume inside, litres; or --inside.")
@click.option("--inside", type=float, nargs=3, default=None, metavar="WIDTH HEIGHT DEPTH", help="Inside sizes, mm.")
@click.option("--wall", type=float, default=None, help="Thickness of the walls, mm.")
@click.option("--material", default=None, help="Filament of the walls, such as petg.")
@click.option("--port-diameter", type=float, default=None, help="Diameter of a round port, mm.")
@click.option("--port-length", type=float, default=None, help="Its length, mm; or --tuning.")
@click.option("--tuning", type=float, default=None, help="Tuning the port is to give, Hz.")
@click.option("--radiator", type=float, nargs=4, default=None, metavar="MASS COMPLIANCE RMS AREA", help="Passive radiator: g, mm/N, N s/m, cm2.")
@click.option("--ql", type=float, default=None, help="Q of leaks at the tuning. Default: no leak.")
def new(
    cabinet_id: str, type_: str, driver: str | None, volume: float | None, inside: tuple[float, float, float] | None, wall: float | None,
    material: str | None, port_diameter: float | None, port_length: float | None, tuning: float | None,
    radiator: tuple[float, float, float, float] | None, ql: float | None,
) -> None:  # fmt: skip
    """Make a new cabinet.

    Everything else a cabinet may say, such as stuffing, slots, bracing and where the driver sits, goes into its file or the page.

    \b
    Example:
      halfroll cabinet new reed-box --type vented --inside 130 190 140 --wall 4 --material petg --port-diameter 32 --tuning 65 --ql 7
    """
    from halfroll.workshop.cabinets import checked_record, new_cabinet

    data: dict[str, Any] = {"type": type_, "driver": driver, "volume_l": volume}
    data["inside"] = None if inside is None else dict(zip(("width_mm", "height_mm", "depth_mm"), inside, strict=True))
    data["walls"] = None if wall is None else _without_none({"thickness_mm": wall, "material": material})
    data["port"] = _without_none({"diameter_mm": port_diameter, "length_mm": port_length, "tuning_hz": tuning}) or None
    data["radiator"] = None if radiator is None else dict(zip(("mass_g", "cms_mm_per_n", "rms_ns_per_m", "area_cm2"), radiator, strict=True))
    data["losses"] = None if ql is None else {"ql": ql}
    if material is not None and wall is None:
        raise InputError("The walls need a thickness with their material", key="--material", remedy="Add --wall MM")
    made = new_cabinet(open_workshop(), cabinet_id, checked_record(_without_none(data)))
    say(f"Made {made.path}. Look at it with: halfroll cabinet show {cabinet_id}")


def _without_none(values: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}
