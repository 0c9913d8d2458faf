"""Hatching of cut bodies, as ISO 128-3 draws sections: narrow lines at 45°, neighbours the other way or closer together.

Every kind of matter has a pattern of its own, so that a drawing reads without colour. Which pattern means which matter no
standard fixes, so the drawing prints a key.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.motor.placing.polygons import Polygon, distance, intervals
from halfroll.motor.types import Body, FieldCoil, Filler, Magnet, Ring, SoftSteel
from halfroll.publish.section_sheet import Sheet

TOUCHING_M = 0.3e-3
"""Bodies nearer than this are neighbours, the glue between them included."""

WORDS = {
    "steel": "steel",
    "magnet": "magnet",
    "metal": "conductor",
    "winding": "winding",
    "print": "printed or other",
}
"""Kinds of matter as the key says them."""

_LOOKS = ((1, 1.0), (-1, 1.0), (1, 0.7), (-1, 0.7), (1, 1.4), (-1, 1.4))
"""Direction and relative spacing, in the order in which neighbours take them."""


@dataclass(frozen=True)
class Hatch:
    """How a body is hatched: kind of matter, direction (+1 rises to the right), spacing over the standard one."""

    kind: str
    direction: int
    spacing: float


def kind_of(body: Body) -> str:
    """The kind of matter of a body, a key of `WORDS`."""
    matter = body.matter
    if isinstance(matter, SoftSteel):
        return "steel"
    if isinstance(matter, Magnet):
        return "magnet"
    if isinstance(matter, Ring):
        return "metal"
    assert isinstance(matter, FieldCoil | Filler)
    return "winding" if isinstance(matter, FieldCoil) else "print"


def hatches(bodies: Sequence[Body]) -> list[Hatch]:
    """The hatching of each body: no two neighbours of one kind alike, the other direction before a closer spacing."""
    chosen: list[Hatch] = []
    for n, body in enumerate(bodies):
        beside = [chosen[k] for k in range(n) if distance(body.outline, bodies[k].outline) < TOUCHING_M]
        kind = kind_of(body)
        taken = {(h.direction, h.spacing) for h in beside if h.kind == kind}
        directions = [h.direction for h in beside]
        free = [look for look in _LOOKS if look not in taken] or list(_LOOKS)
        closest = min(free, key=lambda look: (round(abs(look[1] - 1.0), 3), directions.count(look[0])))
        chosen.append(Hatch(kind, *closest))
    return chosen


def hatching(sheet: Sheet, outline: Polygon, hatch: Hatch, *, mirrored: bool = False) -> str:
    """SVG of the lines of a hatched half-section; on the other side of the axis they run the same way, and on through a solid part, for
    one part is hatched alike wherever it is cut (ISO 128-3).
    """
    if mirrored:
        outline = tuple((-r, z) for r, z in reversed(outline))
    gap = sheet.inks.gap * hatch.spacing / sheet.scale
    ways = (1, -1) if hatch.kind in ("magnet", "winding") else (hatch.direction,)
    if hatch.kind == "magnet":
        gap *= 1.3
    elif hatch.kind == "winding":
        gap *= 0.5
    strokes = [line for way in ways for line in _lines(outline, way, gap)]
    if hatch.kind == "metal":
        return _drawn(sheet, strokes[::2]) + _drawn(sheet, strokes[1::2], dash="4 2.5")
    return _drawn(sheet, strokes, dash="1.5 3" if hatch.kind == "print" else "")


def _drawn(sheet: Sheet, strokes: list[tuple[tuple[float, float], ...]], dash: str = "") -> str:
    if not strokes:
        return ""
    d = "".join(sheet.path(line) for line in strokes)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    ink = sheet.inks
    return f'<path class="hatch" d="{d}" fill="none" stroke="{ink.hatch}" stroke-width="{0.75 * ink.thin:g}" stroke-opacity=".75"{dashed}/>'


def _lines(outline: Polygon, way: int, gap_m: float) -> list[tuple[tuple[float, float], ...]]:
    """Pieces of lines at 45° inside an outline, their distance `gap_m`; they pass the same places in every body."""
    c = math.sqrt(0.5)
    # Across the lines runs u, along them v; a body's intervals over u are the pieces.
    turned = tuple((c * (z - way * r), c * (r + way * z)) for r, z in outline)
    low, high = min(u for u, _ in turned), max(u for u, _ in turned)
    first, last = math.ceil(low / gap_m), math.floor(high / gap_m)
    found = []
    for k in range(first, last + 1):
        u = (k + 0.37) * gap_m  # away from corners, which lie on round numbers
        for start, stop in intervals(turned, u):
            found.append(tuple((c * (v - way * u), c * (u + way * v)) for v in (start, stop)))
    return found
