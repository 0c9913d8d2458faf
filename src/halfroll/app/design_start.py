"""Two motors to begin with, filled from the catalogue, and a coil that fits a gap."""

from __future__ import annotations

import copy
from typing import Any

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.motor.types import Gap

_SIDE_MM = 0.25
"""Clearance on each side of a first coil, for what a print and a workshop can hold (common practice)."""

_WALL_MM = 0.1
_HIGH = (1.4, 2.5)
"""A first coil is at least and at most so many times as high as its gap, so that it hangs over on both sides."""

_OHM = 4.0

STARTS: dict[str, tuple[str, str, dict[str, Any]]] = {
    "ring": (
        "Ring magnet around a pole",
        "A ferrite ring between two plates, a pole in the middle. Cheap, wide, much of its flux leaks outside.",
        {
            "gap": ["pole", "top plate"],
            "parts": [
                {"name": "back plate", "shape": "disc", "outer_mm": 60, "height_mm": 5, "material": "steel-1008"},
                {"name": "magnet", "part": "ferrite-ring-60x32x10", "material": "y30", "magnetised": "down", "on": "back plate"},
                {"name": "top plate", "shape": "ring", "outer_mm": 56, "inner_mm": 22.8, "height_mm": 4, "material": "steel-1008",
                 "on": "magnet"},
                {"name": "pole", "shape": "disc", "outer_mm": 20, "height_mm": 14, "material": "steel-1008", "on": "back plate"},
            ],
        },
    ),
    "cup": (
        "Disc magnet in a cup",
        "A neodymium disc on the bottom of a steel cup, a pole plate on it. Small and light, hardly any stray field, dear magnet "
        "that bears little heat.",
        {
            "gap": ["pole plate", "cup wall"],
            "parts": [
                {"name": "cup bottom", "shape": "disc", "outer_mm": 31, "height_mm": 4, "material": "steel-1008"},
                {"name": "magnet", "part": "nd-disc-20x10", "material": "n42", "magnetised": "up", "on": "cup bottom"},
                {"name": "pole plate", "shape": "disc", "outer_mm": 20, "height_mm": 4, "material": "steel-1008", "on": "magnet"},
                {"name": "cup wall", "shape": "ring", "outer_mm": 31, "inner_mm": 23, "height_mm": 14, "material": "steel-1008",
                 "on": "cup bottom"},
            ],
        },
    ),
}  # fmt: skip
"""Title, what it is good for, and the table ``[motor]``, by key."""


def start(key: str, catalogue: Catalogue, rated_ohm: float | None = None) -> dict[str, Any]:
    """The tables of a first design, its coil wound for a rated impedance."""
    from halfroll.motor.placing.stack import assemble
    from halfroll.workshop.motor_design import design_of
    from halfroll.workshop.motor_record import MotorTable

    motor = copy.deepcopy(STARTS[key][2])
    gap = assemble(design_of(MotorTable.model_validate(motor), None, catalogue)).gap
    return {"motor": motor, "coil": coil_for(gap, catalogue, rated_ohm)}


def coil_for(gap: Gap, catalogue: Catalogue, rated_ohm: float | None = None) -> dict[str, Any]:
    """A first coil for a gap: of copper wire, even layers, the best for a rated impedance (4 ohm) of those that leave room on both sides.

    Raises `InputError` when the gap is too narrow for any.
    """
    from halfroll.materials.glue import glue_of
    from halfroll.motor.coil.design import CoilDesign
    from halfroll.motor.coil.gap_field import in_gap_only
    from halfroll.motor.coil.windings import Room, Target, windings_that_fit

    height = gap.z_high - gap.z_low
    inside = round(2e3 * gap.r_inner + 2.0 * _SIDE_MM, 2)
    wires = [
        wire for wire in catalogue.wires.values() if wire.key.startswith("cu-0.") and wire.key.endswith("-g1")
    ]
    base = CoilDesign(
        wire=wires[0], layers=2, turns=20, former_inner_m=1e-3 * inside, former_wall_m=1e-3 * _WALL_MM,
        former=catalogue.filaments["polyimide"], glue=glue_of("epoxy-warm"),
    )  # fmt: skip
    room = Room(gap=gap, clearance_m=0.95e-3 * _SIDE_MM, height_m=(_HIGH[0] * height, _HIGH[1] * height))
    found = windings_that_fit(
        base,
        room,
        wires,
        Target(ohm=rated_ohm or _OHM),
        in_gap_only(gap),
        packings=("stacked",),
        even_only=True,
        most=1,
    )
    if not found.choices:
        raise InputError("The gap must be wide enough for a coil", key="motor.gap", found=f"{1e3 * (gap.r_outer - gap.r_inner):.3g} mm",
                         remedy="Make the bore wider or the pole thinner; 1 mm is little, 1.5 mm usual")  # fmt: skip
    coil = found.choices[0].coil.design
    return {
        "wire": coil.wire.key, "layers": coil.layers, "turns": coil.turns, "former_inner_mm": inside,
        "former_wall_mm": _WALL_MM, "former_material": "polyimide", "glue": "epoxy-warm",
    }  # fmt: skip
