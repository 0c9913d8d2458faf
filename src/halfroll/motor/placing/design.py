"""A motor as its maker thinks of it: parts, what they are made of, what each stands on. No coordinates; `stack` finds those.

Lengths in metres. Up is outwards, towards the cone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from halfroll.materials.types import Conductor, Filament, MagnetGrade, Steel
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.types import Point

Shape = Literal["disc", "ring", "turned"]
Magnetised = Literal["up", "down", "outwards", "inwards"]
Align = Literal["top", "middle", "bottom"]
How = Literal["on", "under", "beside"]
Material = MagnetGrade | Steel | Conductor | Filament

DIRECTIONS: dict[Magnetised, Point] = {
    "up": (0.0, 1.0),
    "down": (0.0, -1.0),
    "outwards": (1.0, 0.0),
    "inwards": (-1.0, 0.0),
}
"""Polarisation in (r, z): from the south to the north pole. Up points to the cone, outwards away from the axis."""


@dataclass(frozen=True, kw_only=True)
class Placement:
    """What a part touches.

    ``on`` and ``under``: the part comes down from above (up from below) onto the part `of` until it touches, with `glue_m`
    of glue between. ``beside``: it stands around or inside `of`, tops, middles or bottoms level (`align`) and then
    `offset_m` farther out; `glue_m` is then the glue in the joint around.
    """

    how: How
    of: str
    glue_m: float = 0.0
    align: Align = "middle"
    offset_m: float = 0.0


@dataclass(frozen=True, kw_only=True)
class PartDesign:
    """One part before it has its place.

    Parameters
    ----------
    name
        Its name in this motor.
    shape, outer_m, inner_m, height_m
        A disc (no `inner_m`) or ring by its diameters and height (m).
    profile_m
        Of a turned part: its half-section as corners (r, z) in m, z from its own base, in order around it.
    material
        What it is made of; a conductor is a shorting ring, or with `turns` a field coil; a filament only takes up room.
    magnetised
        Of a magnet: where its polarisation points.
    placement
        What it touches; None for the first part.
    turns, current_a
        Of a field coil: its turns and direct current (A).
    part
        Id of the record in ``parts/`` or the key of the catalogue it is made from.
    """

    name: str
    shape: Shape
    material: Material
    outer_m: float | None = None
    inner_m: float | None = None
    height_m: float | None = None
    profile_m: tuple[Point, ...] = ()
    magnetised: Magnetised | None = None
    placement: Placement | None = None
    turns: float | None = None
    current_a: float | None = None
    part: str | None = None


@dataclass(frozen=True, kw_only=True)
class MotorDesign:
    """Parts in the order in which they are listed, the pair of parts the gap lies between (inner, outer), the temperature of
    the magnets (°C), and the travel it must allow each way (m) when one is asked for.
    """

    parts: tuple[PartDesign, ...]
    gap: tuple[str, str]
    temperature_c: float = 20.0
    travel_m: float | None = None

    def with_part(self, name: str, /, **changes: object) -> MotorDesign:
        """The same motor with some fields of one part changed."""
        parts = tuple(
            replace(part, **changes) if part.name == name else part  # type: ignore[arg-type]
            for part in self.parts
        )
        return replace(self, parts=parts)


@dataclass(frozen=True, kw_only=True)
class Design:
    """A motor with its coil, when one is designed."""

    motor: MotorDesign
    coil: CoilDesign | None = None
