"""``halfroll calibrate strip``, ``ring`` and ``creep``: from printed strips that bend, ring or sink."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from halfroll.cli.calibrate_options import common_options, lines_option, table_option
from halfroll.cli.calibrate_readings import columns, finish


@click.command("strip")
@click.argument("material")
@click.option("--setup", type=click.Choice(["fixed-free", "three-point"]), default="fixed-free", show_default=True, help="Held at one end, or on two supports.")  # fmt: skip
@click.option(
    "--length", type=float, required=True, help="From the clamp to the weight, or between the supports, mm."
)
@click.option("--width", type=float, required=True, help="Width, mm.")
@click.option(
    "--thickness",
    type=float,
    required=True,
    help="Thickness, mm: the mean of several places. Counts three times.",
)
@click.option(
    "--length-u", type=float, default=0.5, show_default=True, help="Standard uncertainty of the length, mm."
)
@click.option(
    "--width-u", type=float, default=0.1, show_default=True, help="Standard uncertainty of the width, mm."
)
@click.option(
    "--thickness-u",
    type=float,
    default=0.03,
    show_default=True,
    help="Standard uncertainty of the thickness, mm.",
)
@click.option(
    "--overhang", type=float, default=0.0, show_default=True, help="How far it goes on beyond the weight, mm."
)
@click.option(
    "--load", "loads", type=float, multiple=True, help="A weight hung on it, g; one for each --sinks."
)
@click.option(
    "--sinks",
    type=float,
    multiple=True,
    help="How far it sank there, mm, counted from the strip without a weight.",
)
@click.option(
    "--load-u",
    type=float,
    default=0.5,
    show_default=True,
    help="Standard uncertainty of the weights together, %.",
)
@click.option(
    "--sinks-u", type=float, default=0.25, show_default=True, help="Standard uncertainty of one reading, mm."
)
@table_option
@lines_option
@common_options
def strip(
    material: str, setup: str, length: float, width: float, thickness: float, length_u: float, width_u: float, thickness_u: float,
    overhang: float, loads: tuple[float, ...], sinks: tuple[float, ...], load_u: float, sinks_u: float, table: Path | None, lines: str,
    **common: Any,
) -> None:  # fmt: skip
    """From a printed strip bent by weights.

    A --table has the columns load_g and sinks_mm.

    \b
    Example:
      halfroll calibrate strip asa --setup three-point --length 80 --width 12
        --thickness 2 --table strip.csv --lines across
    """
    if table is not None:
        loads, sinks = columns(table, "load_g", "sinks_mm", given=bool(loads or sinks))
    inside = {
        "setup": setup, "length_mm": length, "length_u_mm": length_u, "width_mm": width, "width_u_mm": width_u, "thickness_mm": thickness,
        "thickness_u_mm": thickness_u, "overhang_mm": overhang, "loads_g": loads, "load_u_percent": load_u, "deflections_mm": sinks,
        "deflection_u_mm": sinks_u,
    }  # fmt: skip
    finish(material, {"lines": lines, "strip": inside}, common)


@click.command("ring")
@click.argument("material")
@click.option("--length", type=float, required=True, help="Free length from the clamp, mm.")
@click.option("--width", type=float, required=True, help="Width, mm.")
@click.option("--thickness", type=float, required=True, help="Thickness, mm.")
@click.option("--frequency", type=float, required=True, help="At which it rings, Hz.")
@click.option("--fall", type=float, default=None, help="First amplitude over last: gives the loss factor.")
@click.option("--cycles", type=int, default=None, help="Cycles between those two.")
@lines_option
@common_options
def ring(
    material: str, length: float, width: float, thickness: float, frequency: float, fall: float | None, cycles: int | None, lines: str,
    **common: Any,
) -> None:  # fmt: skip
    """From a bare strip that is held at one end, plucked and rings.

    \b
    Example:
      halfroll calibrate ring asa --length 60 --width 10 --thickness 1 --frequency 61 --fall 2 --cycles 9
    """
    inside = {"length_mm": length, "width_mm": width, "thickness_mm": thickness, "frequency_hz": frequency}
    inside |= {key: value for key, value in (("fall", fall), ("cycles", cycles)) if value is not None}
    finish(material, {"lines": lines, "ring": inside}, common)


@click.command("creep")
@click.argument("material")
@click.option(
    "--time",
    "times",
    type=float,
    multiple=True,
    help="Time since the load was hung, s; one for each --sinks.",
)
@click.option("--sinks", type=float, multiple=True, help="How far it has sunk by then, mm.")
@table_option
@common_options
def creep(
    material: str,
    times: tuple[float, ...],
    sinks: tuple[float, ...],
    table: Path | None,
    **common: Any,
) -> None:
    """From how a strip sinks over time.

    It hangs under one weight all the while. A --table has the columns time_s and sinks_mm.

    \b
    Example:
      halfroll calibrate creep tpu-95a --time 10 --sinks 12.1 --time 100 --sinks 12.9 --time 3600 --sinks 14.2
    """
    if table is not None:
        times, sinks = columns(table, "time_s", "sinks_mm", given=bool(times or sinks))
    finish(material, {"creep": {"times_s": times, "deflections_mm": sinks}}, common)
