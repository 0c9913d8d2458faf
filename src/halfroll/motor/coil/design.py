"""What a maker decides about a coil, before it is wound: wire, layers, turns, former. In SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.materials.glue import Glue
from halfroll.materials.types import Conductor, Filament, Wire

Packing = Literal["stacked", "nested"]
"""``stacked``: turns of all layers over each other (square). ``nested``: every layer lies in the grooves of the one
below (hexagonal), so that it takes sqrt(3)/2 of a wire in the radius and every second layer has one turn less."""

PACKINGS: tuple[Packing, ...] = ("stacked", "nested")


@dataclass(frozen=True, kw_only=True)
class CoilDesign:
    """A coil as designed.

    Parameters
    ----------
    wire
        Bare and largest overall diameter, metal, enamel class.
    layers, turns
        Number of layers and turns of all layers together.
    former_inner_m, former_wall_m
        Inner diameter of the former and its wall (m).
    former
        What the former is made of: a filament, or a metal (then as a slit strip: a closed one is a shorted turn).
    former_height_m
        Length of the former along the axis (m); None: winding height and 5 mm, which `wind` says.
    insulation_m
        Thickness of paper or film between former and wire, on the radius (m).
    offset_m
        Middle of the winding over the middle of the gap at rest (m), positive outwards.
    packing
        How layers lie on each other.
    glue
        What holds the winding; None when wound dry.
    print_tolerance_m
        Half of the band (m) a printed diameter may be off: 0.1e-3 for a diameter of so many mm ± 0.1 mm.

    Raises
    ------
    InputError
        A number outside what a coil can have; `key` names the field as in ``version.toml``.
    """

    wire: Wire
    layers: int
    turns: int
    former_inner_m: float
    former_wall_m: float
    former: Filament | Conductor
    former_height_m: float | None = None
    insulation_m: float = 0.0
    offset_m: float = 0.0
    packing: Packing = "stacked"
    glue: Glue | None = None
    print_tolerance_m: float = 0.1e-3

    def __post_init__(self) -> None:
        _whole("layers", self.layers, 1, 12)
        _whole("turns", self.turns, self.layers, 5000)
        _length("former_inner_mm", self.former_inner_m, 3e-3, 0.3)
        _length("former_wall_mm", self.former_wall_m, 0.02e-3, 5e-3)
        if self.former_height_m is not None:
            _length("former_height_mm", self.former_height_m, 1e-3, 0.2)
        _length("insulation_mm", self.insulation_m, 0.0, 1e-3)
        _length("offset_mm", self.offset_m, -0.1, 0.1)
        _length("print_tolerance_mm", self.print_tolerance_m, 0.0, 1e-3)
        if self.packing not in PACKINGS:
            raise InputError("The coil's packing must be one of the allowed words", key="coil.packing",
                             found=str(self.packing), allowed=PACKINGS)  # fmt: skip


_LENGTHS = {
    "former_inner_mm": "inner diameter of the coil's former",
    "former_wall_mm": "wall of the coil's former",
    "former_height_mm": "height of the coil's former",
    "insulation_mm": "coil's insulation",
    "offset_mm": "coil's offset",
    "print_tolerance_mm": "coil's print tolerance",
}
"""Keys of lengths in words."""


def _whole(key: str, value: int, low: int, high: int) -> None:
    if isinstance(value, bool) or value != int(value) or not low <= value <= high:
        raise InputError(f"The coil's {key} must be a whole number", key=f"coil.{key}", found=f"{value:g}",
                         allowed=f"{low} to {high}")  # fmt: skip


def _length(key: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:  # also refuses nan
        raise InputError(f"The {_LENGTHS[key]} must be a possible length in millimetres",
                         key=f"coil.{key}", found=f"{value * 1e3:g} mm", allowed=f"{low * 1e3:g} to {high * 1e3:g} mm")  # fmt: skip
