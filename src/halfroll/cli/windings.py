"""``halfroll windings``: which windings fit a motor and give an impedance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say_verdicts,
)
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.motor.coil.design import Packing
    from halfroll.motor.coil.windings import Target


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option(
    "--impedance", type=float, default=None, help="Rated impedance, ohm. Default: that of the version."
)
@click.option("--resistance", type=float, default=None, help="Resistance at 20 degrees C instead, ohm.")
@click.option(
    "--tolerance", type=float, default=5.0, show_default=True, help="Allowed deviation of the resistance, %."
)
@click.option("--layers", default="1-6", show_default=True, help="Numbers of layers, such as 2,4 or 1-4.")
@click.option("--even", is_flag=True, help="Only even numbers of layers, so that both leads end at one end.")
@click.option("--packing", type=click.Choice(["stacked", "nested"]), default=None, help="One packing only.")
@click.option("--wire", "wires", multiple=True, help="Key of a wire or its beginning, such as cu-0.2; may be repeated. Default: all of copper.")  # fmt: skip
@click.option(
    "--clearance", type=float, default=0.2, show_default=True, help="Least clearance on each side, mm."
)
@click.option("--lowest", type=float, default=2.0, show_default=True, help="Least winding height, mm.")
@click.option("--highest", type=float, default=50.0, show_default=True, help="Most winding height, mm.")
@click.option(
    "--travel",
    type=float,
    default=None,
    help="Least geometric travel each way, mm. Default: that of the design.",
)
@click.option(
    "--other-mass", type=float, default=None, help="Moving mass without the coil, g: ranks by sensitivity."
)
@click.option("--no-field", is_flag=True, help="Do not compute the field; count turns in the gap.")
@click.option("--most", type=click.IntRange(1), default=12, show_default=True, help="Longest list.")
@json_option
def windings(
    version_id: str, impedance: float | None, resistance: float | None, tolerance: float, layers: str, even: bool,
    packing: Packing | None, wires: tuple[str, ...], clearance: float, lowest: float, highest: float, travel: float | None,
    other_mass: float | None, no_field: bool, most: int, as_json: bool,
) -> None:  # fmt: skip
    """Find windings that fit a motor.

    They give an impedance and stand in the order of their worth, the best first. All wires, layers and packings are tried on the former of the version's coil. They are ranked by the force factor squared
    over the resistance; with the moving mass of the rest, by what sensitivity goes with. Every row says why it stands there.

    \b
    Example:
      halfroll windings dunlin/v1 --impedance 4
      halfroll windings dunlin/v1 --resistance 3.4 --even --wire cu-0.1 --wire cca15-0.1
    """
    from halfroll.motor.coil.design import PACKINGS
    from halfroll.publish.coil_json import windings_dict
    from halfroll.workshop.windings import Asked, windings_for

    workshop = open_workshop()
    if impedance is None and resistance is None:
        impedance = workshop.version(version_id).record.rated_impedance_ohm
    asked = Asked(
        target=_target(impedance, resistance, tolerance), wires=wires, layers=layer_numbers(layers), even_only=even,
        clearance_m=_milli("--clearance", clearance, 0.0, 5.0, "mm"), height_m=_heights(lowest, highest),
        travel_m=None if travel is None else _milli("--travel", travel, 0.0, 50.0, "mm"),
        other_mass_kg=None if other_mass is None else _milli("--other-mass", other_mass, 0.0, 1000.0, "g"), with_field=not no_field,
        most=most, packings=PACKINGS if packing is None else (packing,),
    )  # fmt: skip
    with progress_bar("field") as progress:
        found = windings_for(workshop, version_id, asked, progress)
    if as_json:
        print_json({"version": version_id, **windings_dict(found)})
        return
    from halfroll.publish.coil_rows import narrow_winding_rows

    print_rows(narrow_winding_rows(found))
    say_verdicts(found.verdicts)


def _target(impedance: float | None, resistance: float | None, tolerance: float) -> Target:
    from halfroll.motor.coil.windings import Target

    if resistance is not None and impedance is not None:
        raise InputError(
            "Either the rated impedance or the resistance must be given", key="--impedance", found="both"
        )
    if resistance is not None:
        return Target(ohm=resistance, kind="resistance", tolerance=0.01 * tolerance)
    if impedance is None:
        raise InputError("The impedance must be given, since the version states none", key="--impedance",
                         remedy="For example --impedance 4, or --resistance 3.4")  # fmt: skip
    return Target(ohm=impedance)


def layer_numbers(text: str) -> list[int]:
    """Numbers of layers from ``2,4`` or ``1-4``."""
    numbers: set[int] = set()
    for piece in text.split(","):
        first, dash, last = piece.strip().partition("-")
        if not (first.isdigit() and (last.isdigit() or not dash)):
            raise InputError(
                "Layers must be whole numbers", key="--layers", found=text, allowed="such as 2,4 or 1-4"
            )
        numbers |= set(range(int(first), int(last or first) + 1)) if int(last or first) < 100 else {100}
    if not numbers or not 1 <= min(numbers) <= max(numbers) <= 12:
        raise InputError(
            "Layers must be numbers a coil can have", key="--layers", found=text, allowed="1 to 12"
        )
    return sorted(numbers)


def _heights(lowest: float, highest: float) -> tuple[float, float]:
    low, high = _milli("--lowest", lowest, 0.0, 200.0, "mm"), _milli("--highest", highest, 0.0, 200.0, "mm")
    if low >= high:
        raise InputError(
            "The least height must be below the most", key="--lowest", found=f"{lowest:g} and {highest:g} mm"
        )
    return low, high


def _milli(option: str, value: float, low: float, high: float, unit: str) -> float:
    """Millimetres as metres, or grams as kilograms, within what is possible."""
    if not low <= value <= high:
        raise InputError(f"{option[2:].replace('-', ' ').capitalize()} must be possible", key=option, found=f"{value:g} {unit}",
                         allowed=f"{low:g} to {high:g} {unit}")  # fmt: skip
    return 1e-3 * value
