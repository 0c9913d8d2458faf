"""The half-section cut for eddy currents, before it is meshed: faces with their names and element sizes.

Built in millimetres, for which the geometry kernel's tolerances are made: in metres it loses parts beside joints of glue.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from halfroll.materials.steel import MU_0
from halfroll.motor.eddy.skin import differential, skin_depth
from halfroll.motor.field.cutting import UNIT_M
from halfroll.motor.field.mesh import FAR, polygon
from halfroll.motor.placing.polygons import Polygon, rectangle
from halfroll.motor.types import Assembly, Body, Magnet, Matter, Point, Ring, SoftSteel, Winding

_AT_GAP, _AT_CORNERS = 0.1, 0.25
"""Size of elements at corners over the width of the gap: beside it, and elsewhere."""

_LEAST_TURN = math.radians(16.0)
"""Change of direction from which a point of an outline is a corner; arcs are written as shorter chords."""

Ends = tuple[tuple[float, float], ...]
"""Lower and upper end of the winding (m) at every displacement."""


@dataclass(frozen=True, kw_only=True)
class SkinSettings:
    """How finely: `refinement` scales all sizes, `highest_hz` says how thin the skin gets."""

    highest_hz: float
    refinement: float = 1.0


def shape_of(assembly: Assembly, winding: Winding, ends: Ends, settings: SkinSettings) -> tuple[Any, float]:
    """The glued faces, lengths in `UNIT_M`, and the far radius (m).

    Regions are named as those of `motor.field.mesh`: ``body0``..., ``winding`` for its room at all displacements, ``gap``, ``air``;
    edges ``axis`` and ``far``.
    """
    from netgen.occ import Circle, Glue, MoveTo

    corners = [point for body in assembly.bodies for point in body.outline]
    corners += [(winding.r_outer, z) for pair in ends for z in pair]
    far = FAR * max(math.hypot(r, z) for r, z in corners)
    near = settings.refinement * gap_width(assembly)
    inside = [
        _face(body.outline, f"body{i}", settings.refinement * _size(body, settings))
        for i, body in enumerate(assembly.bodies)
    ]
    inside += [_face(cell, "winding", near) for cell in _cells(winding, ends)]
    solid = inside[0]
    for face in inside[1:]:
        solid = solid + face
    strip = _face(_strip(assembly, ends), "gap", near) - solid
    radius = far / UNIT_M
    half = Circle((0, 0), radius).Face() * MoveTo(0, -2 * radius).Rectangle(2 * radius, 4 * radius).Face()
    air = half - solid - strip
    strip.faces.name, strip.faces.maxh, air.faces.name = "gap", near / UNIT_M, "air"
    glued = Glue([air, strip, *inside])
    _mark(glued, assembly, settings.refinement, radius)
    return glued, far


def _face(outline: Polygon, name: str, size_m: float) -> Any:
    face = polygon(tuple((r / UNIT_M, z / UNIT_M) for r, z in outline))
    face.faces.name = name
    if math.isfinite(size_m):
        face.faces.maxh = size_m / UNIT_M
    return face


def _cells(winding: Winding, ends: Ends) -> list[Polygon]:
    """The winding's room, cut at every end of it."""
    stops = sorted({z for pair in ends for z in pair})
    return [
        rectangle(winding.r_inner, winding.r_outer, low, high)
        for low, high in pairwise(stops)
        if any(a <= low and high <= b for a, b in ends)
    ]


def _strip(assembly: Assembly, ends: Ends) -> Polygon:
    """Between the walls of the gap, as far as the coil's ends go."""
    gap, more = assembly.gap, gap_width(assembly)
    low, high = min(a for a, _ in ends), max(b for _, b in ends)
    return rectangle(gap.r_inner, gap.r_outer, min(low, gap.z_low) - more, max(high, gap.z_high) + more)


def gap_width(assembly: Assembly) -> float:
    """Width of the gap (m)."""
    return assembly.gap.r_outer - assembly.gap.r_inner


def _size(body: Body, settings: SkinSettings) -> float:
    """Element size (m): half of what steel or a magnet measures across, as large as may be where nothing bends the field."""
    across = _across(body)
    if isinstance(body.matter, Magnet) and conductivity(body.matter) > 0.0:
        return min(0.5 * across, 1.5 * skin_in(body.matter, settings))
    if isinstance(body.matter, Magnet | SoftSteel):
        return 0.5 * across
    return 2.0 * across if isinstance(body.matter, Ring) else math.inf


def _across(body: Body) -> float:
    r0, r1, z0, z1 = body.bounds
    return min(r1 - r0, z1 - z0)


def has_skin(body: Body, settings: SkinSettings) -> bool:
    """Whether a body's skin is thinner than itself; a thin ring or cap has none, and magnets get small elements instead."""
    if not isinstance(body.matter, SoftSteel | Ring) or conductivity(body.matter) <= 0.0:
        return False
    return isinstance(body.matter, SoftSteel) or _across(body) > 2.0 * skin_in(body.matter, settings)


def skin_in(matter: Matter, settings: SkinSettings) -> float:
    """The thinnest skin (m) in conducting matter."""
    permeability = MU_0
    if isinstance(matter, SoftSteel):
        permeability = differential(matter.steel).largest_permeability
    elif isinstance(matter, Magnet):
        permeability *= matter.grade.mu_rec
    return skin_depth(settings.highest_hz, conductivity(matter), permeability)


def conductivity(matter: Matter) -> float:
    """Electrical conductivity (S/m) around the axis; 0 for what carries no ring currents."""
    if isinstance(matter, SoftSteel):
        return matter.steel.conductivity_s_m
    if isinstance(matter, Magnet):
        return matter.grade.conductivity_s_m
    return 1.0 / matter.conductor.resistivity_ohm_m if isinstance(matter, Ring) else 0.0


def _mark(shape: Any, assembly: Assembly, refinement: float, radius: float) -> None:
    """Name the axis and the far boundary; small elements at corners, smallest beside the gap."""
    for edge in shape.edges:
        centre = edge.center
        if abs(centre.x) < 1e-9 * radius:
            edge.name = "axis"
        elif math.hypot(centre.x, centre.y) > 0.5 * radius:
            edge.name = "far"
    width, gap = refinement * gap_width(assembly) / UNIT_M, assembly.gap
    corners = {
        _rounded((r / UNIT_M, z / UNIT_M))
        for body in assembly.bodies
        if isinstance(body.matter, Magnet | SoftSteel)
        for r, z in _corners(body.outline)
        if r > 0.0
    }
    for vertex in shape.vertices:
        at = _rounded((vertex.p.x, vertex.p.y))
        if at in corners:
            away = max(0.0, gap.r_inner / UNIT_M - at[0], at[0] - gap.r_outer / UNIT_M)
            vertex.maxh = width * (_AT_GAP if away < 1e-3 * width else _AT_CORNERS)


def _corners(outline: Polygon) -> list[Point]:
    """Where an outline turns by more than the chords of an arc do."""
    found = []
    for before, at, after in zip((outline[-1], *outline), outline, (*outline[1:], outline[0]), strict=False):
        one, two = (
            math.atan2(at[1] - before[1], at[0] - before[0]),
            math.atan2(after[1] - at[1], after[0] - at[0]),
        )
        if abs(math.remainder(two - one, math.tau)) > _LEAST_TURN:
            found.append(at)
    return found


def _rounded(point: Point) -> Point:
    return round(point[0], 6), round(point[1], 6)
