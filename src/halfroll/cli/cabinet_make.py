"""``halfroll cabinet suggest`` and ``new``, and the options that commands of cabinets share."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import json_option, open_workshop, print_json, print_rows, progress_bar, say
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.acoustics.cabinet.types import Kind
    from halfroll.driver.boxed_wish import Goal
    from halfroll.workshop.prediction import Source

SOURCES = click.Choice(["auto", "predicted", "measured", "entered"])
DRIVER = click.option(
    "--driver",
    default=None,
    metavar="DRIVER/VERSION",
    help="The driver in it. Default: the one its record names.",
)
SOURCE = click.option(
    "--source", type=SOURCES, default="auto", show_default=True, help="Where the driver's values come from."
)
VOLTS = click.option(
    "--volts",
    type=float,
    default=2.83,
    show_default=True,
    help="Voltage of travel, air speed and level, V r.m.s.",
)


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option(
    "--most", type=float, required=True, help="Most the inside may hold, litres, with driver and port in it."
)
@click.option(
    "--goal",
    type=click.Choice(["deepest", "flattest", "loudest"]),
    default="deepest",
    show_default=True,
    help="What is ranked by: lowest -3 dB, least deviation, highest level by travel.",
)
@click.option(
    "--kind",
    "kinds",
    type=click.Choice(["closed", "vented"]),
    multiple=True,
    help="One kind only; may be repeated. Default: both.",
)
@click.option("--peak", type=float, default=1.0, show_default=True, help="Highest peak allowed, dB.")
@click.option("--group-delay", type=float, default=None, help="Longest group delay allowed, ms.")
@click.option(
    "--port-speed", type=float, default=17.0, show_default=True, help="Fastest air in the port, m/s peak."
)
@click.option(
    "--longest-port",
    type=float,
    default=None,
    help="Longest port, mm. Default: the edge of a cube as large as the cabinet.",
)
@click.option("--narrowest-port", type=float, default=10.0, show_default=True, help="Narrowest port, mm.")
@click.option("--widest-port", type=float, default=150.0, show_default=True, help="Widest port, mm.")
@click.option(
    "--taken",
    type=float,
    default=None,
    help="What driver and bracing take, litres. Default: what the driver's design takes.",
)
@click.option(
    "--from",
    "from_hz",
    type=float,
    default=100.0,
    show_default=True,
    help="Where the loudest is judged from, Hz.",
)
@click.option(
    "--ql", type=float, default=7.0, show_default=True, help="Q of leaks taken for vented cabinets."
)
@VOLTS
@SOURCE
@click.option(
    "--save", default=None, metavar="CABINET", help="Make a new cabinet of the first one (see --pick)."
)
@click.option(
    "--pick", type=click.IntRange(1), default=1, show_default=True, help="Which of the list --save makes."
)
@json_option
def suggest(
    version_id: str, most: float, goal: Goal, kinds: tuple[Kind, ...], peak: float, group_delay: float | None, port_speed: float,
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
    from halfroll.driver.boxed_wish import Wish
    from halfroll.publish.cabinet_rows import suggestion_dict, suggestion_rows
    from halfroll.workshop.cabinets import body_of, keep_suggestion
    from halfroll.workshop.prediction import driver_model

    workshop = open_workshop()
    body = body_of(workshop, version_id, 3e-3)
    takes = 1e-3 * taken if taken is not None else 0.0 if body is None else body.taken_m3
    wish = Wish(goal=goal, most_m3=1e-3 * most, taken_m3=takes, kinds=kinds or ("closed", "vented"), peak_db=peak, volts=volts, from_hz=from_hz,
                leak_q=ql, port_speed_m_s=port_speed, narrowest_port_m=1e-3 * narrowest_port, widest_port_m=1e-3 * widest_port,
                longest_port_m=None if longest_port is None else 1e-3 * longest_port,
                group_delay_s=math.inf if group_delay is None else 1e-3 * group_delay)  # fmt: skip
    with progress_bar("driver") as progress:
        model = driver_model(workshop, version_id, source, progress).model
        found = search(model, wish, progress=progress)
    if as_json:
        print_json({"driver": version_id, "suggestions": [suggestion_dict(one) for one in found]})
    else:
        print_rows(suggestion_rows(found))
        if all(one.misses for one in found):
            say("None keeps all your limits; the nearest stand first.")
    if save is not None:
        if pick > len(found):
            raise InputError(
                "There are not so many suggestions",
                key="--pick",
                found=str(pick),
                allowed=f"1 to {len(found)}",
            )
        made = keep_suggestion(workshop, save, found[pick - 1], version_id)
        say(f"Made {made.path}. Look at it with: halfroll cabinet show {save}")


@click.command()
@click.argument("cabinet_id", metavar="CABINET")
@click.option(
    "--type",
    "type_",
    type=click.Choice(["closed", "vented", "passive-radiator"]),
    required=True,
    help="Kind of cabinet.",
)
@click.option("--driver", default=None, metavar="DRIVER/VERSION", help="The driver that is to stand in it.")
@click.option("--volume", type=float, default=None, help="Volume inside, litres; or --inside.")
@click.option(
    "--inside", type=float, nargs=3, default=None, metavar="WIDTH HEIGHT DEPTH", help="Inside sizes, mm."
)
@click.option("--wall", type=float, default=None, help="Thickness of the walls, mm.")
@click.option("--material", default=None, help="Filament of the walls, such as petg.")
@click.option("--port-diameter", type=float, default=None, help="Diameter of a round port, mm.")
@click.option("--port-length", type=float, default=None, help="Its length, mm; or --tuning.")
@click.option("--tuning", type=float, default=None, help="Tuning the port is to give, Hz.")
@click.option(
    "--radiator",
    type=float,
    nargs=4,
    default=None,
    metavar="MASS COMPLIANCE RMS AREA",
    help="Passive radiator: g, mm/N, N s/m, cm2.",
)
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
    data["inside"] = (
        None if inside is None else dict(zip(("width_mm", "height_mm", "depth_mm"), inside, strict=True))
    )
    data["walls"] = None if wall is None else _without_none({"thickness_mm": wall, "material": material})
    data["port"] = (
        _without_none({"diameter_mm": port_diameter, "length_mm": port_length, "tuning_hz": tuning}) or None
    )
    data["radiator"] = (
        None
        if radiator is None
        else dict(zip(("mass_g", "cms_mm_per_n", "rms_ns_per_m", "area_cm2"), radiator, strict=True))
    )
    data["losses"] = None if ql is None else {"ql": ql}
    if material is not None and wall is None:
        raise InputError(
            "The walls need a thickness with their material", key="--material", remedy="Add --wall MM"
        )
    made = new_cabinet(open_workshop(), cabinet_id, checked_record(_without_none(data)))
    say(f"Made {made.path}. Look at it with: halfroll cabinet show {cabinet_id}")


def _without_none(values: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}
