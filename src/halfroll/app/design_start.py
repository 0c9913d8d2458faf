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
_SHARE = 1.5
"""A first coil is so many times as high as its gap."""

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


def start(key: str, catalogue: Catalogue) -> dict[str, Any]:
    """The tables of a first design."""
    from halfroll.motor.stack import assemble
    from halfroll.workshop.motor_design import design_of
    from halfroll.workshop.motor_record import MotorTable

    motor = copy.deepcopy(STARTS[key][2])
    gap = assemble(design_of(MotorTable.model_validate(motor), None, catalogue)).gap
    return {"motor": motor, "coil": coil_for(gap, catalogue)}


def coil_for(gap: Gap, catalogue: Catalogue) -> dict[str, Any]:
    """A coil of two layers that fits a gap, of the thickest copper wire that leaves room on both sides.

    Raises `InputError` when the gap is too narrow for any.
    """
    width, height = 1e3 * (gap.r_outer - gap.r_inner), 1e3 * (gap.z_high - gap.z_low)
    room = 0.5 * (width - 2.0 * _SIDE_MM - _WALL_MM)
    wires = [w for w in catalogue.wires.values() if w.key.startswith("cu-0.") and w.key.endswith("-g1") and 1e3 * w.overall_m <= room]
    if not wires:
        raise InputError("The gap must be wide enough for a coil", key="motor.gap", found=f"{width:.3g} mm",
                         remedy="Make the bore wider or the pole thinner; 1 mm is little, 1.5 mm usual")  # fmt: skip
    wire = max(wires, key=lambda one: one.overall_m)
    each = max(round(_SHARE * height / (1e3 * wire.overall_m)), 5)
    return {
        "wire": wire.key, "layers": 2, "turns": 2 * each, "former_inner_mm": round(2e3 * gap.r_inner + 2.0 * _SIDE_MM, 2),
        "former_wall_mm": _WALL_MM, "former_material": "polyimide", "glue": "epoxy-warm",
    }  # fmt: skip
