"""What a motor is made of once every part has its place: bodies of revolution, the gap, the coil.

Lengths in metres. r from the axis, z along it, positive outwards (towards the cone); z = 0 is the middle of the gap.
Displacement x of the coil is positive outwards. A positive force factor moves the coil outwards for a positive current.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.materials.types import Conductor, MagnetGrade, Steel

Point = tuple[float, float]
"""(r, z) in metres."""


@dataclass(frozen=True, kw_only=True)
class Magnet:
    """A permanent magnet's matter: its grade, the direction of its polarisation in (r, z), and its temperature (°C)."""

    grade: MagnetGrade
    direction: Point
    temperature_c: float = 20.0


@dataclass(frozen=True, kw_only=True)
class SoftSteel:
    """Soft magnetic steel."""

    steel: Steel


@dataclass(frozen=True, kw_only=True)
class Ring:
    """A closed conducting ring without magnetism, for shorting rings and caps."""

    conductor: Conductor


@dataclass(frozen=True, kw_only=True)
class FieldCoil:
    """A winding fixed in the motor that carries a direct current: `turns` times `current_a` through the body."""

    turns: float
    current_a: float


@dataclass(frozen=True, kw_only=True)
class Filler:
    """Matter without magnetism and conduction that only takes up room: a printed spacer, a glue line."""

    title: str
    density_kg_m3: float


Matter = Magnet | SoftSteel | Ring | FieldCoil | Filler


@dataclass(frozen=True, kw_only=True)
class Body:
    """A part in its place: its half-section as a closed polygon (r, z), anticlockwise, without repeating the first point."""

    name: str
    outline: tuple[Point, ...]
    matter: Matter
    part: str | None = None
    """Id of the record in ``parts/`` or the catalogue it is made from."""

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(r_min, r_max, z_min, z_max)."""
        r, z = zip(*self.outline, strict=True)
        return min(r), max(r), min(z), max(z)


@dataclass(frozen=True, kw_only=True)
class Gap:
    """The ring-shaped gap the coil moves in, between two bodies: radii of its walls and its ends (m)."""

    inner: str
    outer: str
    r_inner: float
    r_outer: float
    z_low: float
    z_high: float


@dataclass(frozen=True, kw_only=True)
class Winding:
    """The winding's cross-section at rest, a rectangle (m), and its turns."""

    r_inner: float
    r_outer: float
    z_low: float
    z_high: float
    turns: float

    @property
    def centre_m(self) -> float:
        """Height of its middle over the middle of the gap (m)."""
        return 0.5 * (self.z_low + self.z_high)

    @property
    def height_m(self) -> float:
        """Winding height (m)."""
        return self.z_high - self.z_low


@dataclass(frozen=True, kw_only=True)
class Assembly:
    """All bodies of a motor in their places, its gap, and the winding when one is designed.

    `inward_room_m` is how far the coil may move inwards from rest until it or its former meets the body `inward_stop`; both
    None without a coil, or when nothing is below it.
    """

    bodies: tuple[Body, ...]
    gap: Gap
    winding: Winding | None = None
    inward_room_m: float | None = None
    inward_stop: str | None = None

    def body(self, name: str) -> Body:
        """The body of that name; raises `KeyError`."""
        for body in self.bodies:
            if body.name == name:
                return body
        raise KeyError(name)


Refinement = float
"""Size of elements relative to the standard mesh: 1.0 for a result, 2.0 for a sketch, 0.5 to judge the error."""
