"""``halfroll calibrate``: the modulus of a printing material from what was measured."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from halfroll.cli.calibrate_readings import columns, curve_columns, finish, from_unit
from halfroll.cli.common import (
    InOrder,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say_verdicts,
)
from halfroll.core.errors import InputError

F = TypeVar("F", bound=Callable[..., Any])


@click.group(cls=InOrder)
def calibrate() -> None:
    """Calibrate a printing material, so that all predictions follow the real plastic.

    MATERIAL is the key of a filament, of the catalogue or your own. One of the catalogue becomes your own under the same key, and every version that names it
    follows. Readings are kept with the result, several calibrations are weighed together.

    A printer's hot end and bed burn, and hot plastic gives off fumes: print strips in a room that is aired.

    \b
    Example:
      halfroll calibrate strip tpu-95a --length 60 --width 12 --thickness 1.2 --load 2 --sinks 8.9 --load 4 --sinks 17.1
      halfroll calibrate show tpu-95a
    """


def common_options(command: F) -> F:
    """What all calibrations take: where it starts from, direction, note, and whether to save."""
    for decorate in (
        json_option,
        click.option("--dry-run", "show_only", is_flag=True, help="Show the result without saving it."),
        click.option("--note", default="", help="What should be remembered: spool, printer, who."),
        click.option(
            "--date", "day", default=None, help="When it was measured, such as 2026-03-31. Default: today."
        ),
        click.option("--title", default="", help="What a new material is called."),
        click.option(
            "--like", default=None, help="Filament of the catalogue that a new material starts from."
        ),
    ):
        command = decorate(command)
    return command


lines_option = click.option(
    "--lines", type=click.Choice(["along", "across", "crossed"]), default="along", show_default=True,
    help="How the bend meets the printed lines.",
)  # fmt: skip

table_option = click.option("--table", type=click.Path(dir_okay=False, path_type=Path), default=None, help="CSV file with the readings.")  # fmt: skip


@calibrate.command("strip")
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
    """From a printed strip bent by weights; TABLE has the columns load_g and sinks_mm.

    \b
    Example:
      halfroll calibrate strip asa --setup three-point --length 80 --width 12 --thickness 2 --table strip.csv --lines across
    """
    if table is not None:
        loads, sinks = columns(table, "load_g", "sinks_mm", given=bool(loads or sinks))
    inside = {
        "setup": setup, "length_mm": length, "length_u_mm": length_u, "width_mm": width, "width_u_mm": width_u, "thickness_mm": thickness,
        "thickness_u_mm": thickness_u, "overhang_mm": overhang, "loads_g": loads, "load_u_percent": load_u, "deflections_mm": sinks,
        "deflection_u_mm": sinks_u,
    }  # fmt: skip
    finish(material, {"lines": lines, "strip": inside}, common)


@calibrate.command("ring")
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


@calibrate.command("resonance")
@click.argument("material")
@click.option("--unit", "unit_id", default=None, metavar="DRIVER/VERSION/UNIT", help="Take resonance, moving mass and Qms from this unit's fits, and the stiffness from its version's suspension.")  # fmt: skip
@click.option("--resonance", type=float, default=None, help="Resonance fs, Hz.")
@click.option("--mass", type=float, default=None, help="Moving mass Mms with its air, g.")
@click.option("--qms", type=float, default=None, help="Mechanical Q: gives the loss factor.")
@click.option(
    "--predicted", type=float, default=None, help="Stiffness predicted for the parts of this material, N/mm."
)
@click.option("--reference", type=float, default=None, help="Modulus it was predicted with, MPa.")
@click.option(
    "--rest", type=float, default=None, help="Stiffness of parts of other materials, N/mm. Default: 0."
)
@click.option("--lines", type=click.Choice(["along", "across", "crossed"]), default=None, help="How the bend meets the printed lines. Default: across.")  # fmt: skip
@common_options
def resonance(
    material: str, unit_id: str | None, resonance: float | None, mass: float | None, qms: float | None, predicted: float | None,
    reference: float | None, rest: float | None, lines: str | None, **common: Any,
) -> None:  # fmt: skip
    """From a unit's measured resonance and moving mass.

    What is given stands; what is not is taken from the unit and its version.

    \b
    Example:
      halfroll calibrate resonance tpu-95a --unit avocet/v8/01
      halfroll calibrate resonance tpu-95a --resonance 52 --mass 11.8 --predicted 1.1 --reference 108
    """
    given = {"resonance_hz": resonance, "moving_mass_g": mass, "qms": qms, "predicted_n_mm": predicted, "reference_mpa": reference,
             "rest_n_mm": rest}  # fmt: skip
    inside = from_unit(material, unit_id, given) if unit_id is not None else {}
    inside |= {key: value for key, value in given.items() if value is not None}
    told = inside.pop("lines", "across")
    finish(material, {"lines": lines or told, "resonance": inside}, common)


@calibrate.command("curve")
@click.argument("material")
@click.argument("table", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--predicted", type=click.Path(dir_okay=False, path_type=Path), default=None, help="CSV file with the same columns, predicted.")  # fmt: skip
@click.option("--reference", type=float, default=None, help="Modulus it was predicted with, MPa.")
@click.option(
    "--version",
    "version_id",
    default=None,
    metavar="DRIVER/VERSION",
    help="Take the prediction from this version.",
)
@click.option("--part", type=click.Choice(["surround", "spider"]), default="surround", show_default=True, help="Which part was measured.")  # fmt: skip
@click.option("--lines", type=click.Choice(["along", "across", "crossed"]), default=None, help="How the bend meets the printed lines. Default: across.")  # fmt: skip
@common_options
def curve(
    material: str, table: Path, predicted: Path | None, reference: float | None, version_id: str | None, part: str, lines: str | None,
    **common: Any,
) -> None:  # fmt: skip
    """From a measured stiffness curve: TABLE has the columns x_mm and k_n_mm, or x_mm and force_n.

    \b
    Example:
      halfroll calibrate curve tpu-95a measured.csv --version avocet/v8 --part surround
    """
    kind, x, measured = curve_columns(table)
    if version_id is not None:
        from halfroll.workshop.calibration_readings import predicted_curve

        with progress_bar("suspension") as progress:
            inside = predicted_curve(open_workshop(), version_id, part, material, kind, progress)
    elif predicted is not None and reference is not None:
        other, xs, values = curve_columns(predicted)
        if other != kind:
            raise InputError(
                "Both curves must be of the same quantity", key="--predicted", found=f"{kind} and {other}"
            )
        inside = {"predicted_x_mm": xs, "predicted": values, "reference_mpa": reference}
    else:
        raise InputError("A prediction must be named", key="--version", found="none",
                         remedy="Give --version DRIVER/VERSION, or --predicted FILE and --reference MPA")  # fmt: skip
    told = inside.pop("lines", "across")
    finish(
        material,
        {"lines": lines or told, "curve": {**inside, "of": kind, "x_mm": x, "measured": measured}},
        common,
    )


@calibrate.command("creep")
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
    """From how far a strip sinks over time under one weight; TABLE has the columns time_s and sinks_mm.

    \b
    Example:
      halfroll calibrate creep tpu-95a --time 10 --sinks 12.1 --time 100 --sinks 12.9 --time 3600 --sinks 14.2
    """
    if table is not None:
        times, sinks = columns(table, "time_s", "sinks_mm", given=bool(times or sinks))
    finish(material, {"creep": {"times_s": times, "deflections_mm": sinks}}, common)


@calibrate.command("show")
@click.argument("material")
@json_option
def show(material: str, as_json: bool) -> None:
    """Show a material's starting value, its calibrations and what they make together."""
    from halfroll.publish.calibrations import calibrated_dict, history_rows, modulus_words
    from halfroll.workshop.calibrations import filament_of, versions_using

    workshop = open_workshop()
    found = filament_of(workshop, material)
    using = versions_using(workshop).get(found.key, ())
    if as_json:
        print_json({"material": found.key, "versions": list(using), **calibrated_dict(found.calibrated)})
        return
    click.echo(f"{found.filament.title}: modulus {modulus_words(found.filament)}")
    print_rows(history_rows(found.calibrated))
    say_verdicts(found.calibrated.combined.verdicts)
    click.echo(f"Used by {', '.join(using)}." if using else "No version uses it yet.")


@calibrate.command("leave-out")
@click.argument("material")
@click.argument("number", type=int)
@click.option("--undo", is_flag=True, help="Let it count again.")
@json_option
def leave_out(material: str, number: int, undo: bool, as_json: bool) -> None:
    """Let the calibration of a NUMBER not count; its readings stay in the record."""
    from halfroll.publish.calibrations import calibrated_dict, change_words
    from halfroll.workshop.calibrations import filament_of, use_calibration

    workshop = open_workshop()
    before = filament_of(workshop, material)
    if before.loaded is None:
        raise InputError("This material has no calibrations yet", found=before.key)
    after = use_calibration(workshop, before.loaded, number, used=undo)
    if as_json:
        print_json({"material": after.key, **calibrated_dict(after.calibrated)})
    else:
        click.echo(change_words(before, after))
