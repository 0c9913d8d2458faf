"""The drawing of a version that has no design yet: a moving-coil driver in dashed outline, to scale of its size.

A half-section as ISO 128-3 draws symmetrical parts: the view from outside left of the centre line, the cut right of
it. Lines follow ISO 128-2: dashed for what is not known, long-dashed dotted for the centre line, continuous narrow
for the dimension. The proportions are those of no driver in particular; only the effective diameter is to scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import cos, pi, sin

Point = tuple[float, float]

# Generic proportions, in effective radii: radial position outwards, height upwards from the flange.
CONE_OUT, SURROUND_OUT, FLANGE_OUT = 0.90, 1.10, 1.24
COIL, FORMER_TOP, COIL_TOP, COIL_END = 0.27, -0.44, -0.74, -0.99
POLE, GAP_OUT, PLATE_OUT, MAGNET_IN, MAGNET_OUT = 0.245, 0.305, 0.62, 0.38, 0.68
PLATE_TOP, PLATE_END, MAGNET_END, BACK_END = -0.80, -0.91, -1.17, -1.28
SPIDER_OUT, SPIDER = 0.66, -0.55
FLANGE_T = 0.045
TOP, BOTTOM, SIDE = 0.34, -1.36, 1.34
"""Edges of the sheet: the dimension stands above the flange."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """How a drawing of effective radius `radius` lies on a sheet laid out for `largest` (same unit)."""

    radius: float
    largest: float

    def path(self, points: list[Point], *, mirrored: bool = False, closed: bool = False) -> str:
        """SVG path data through points given in effective radii."""
        sign = -1.0 if mirrored else 1.0
        k = 100.0 * self.radius / self.largest
        steps = [f"{sign * r * k:.1f} {-z * k:.1f}" for r, z in points]
        return "M" + "L".join(steps) + ("Z" if closed else "")

    def at(self, r: float, z: float) -> Point:
        """Sheet coordinates of a point given in effective radii."""
        k = 100.0 * self.radius / self.largest
        return r * k, -z * k


def half_section(
    radius_m: float | None, *, largest_m: float | None = None, name: str, dimension: bool = True
) -> str:
    """SVG of a driver of effective piston radius `radius_m`, drawn to the scale of `largest_m`.

    Parameters
    ----------
    radius_m
        Effective radius (m); None when unknown: the sheet is filled and no dimension is given.
    largest_m
        Radius (m) of the largest driver drawn beside it; the drawing fills its sheet when None.
    name
        Whom it shows, for those who listen instead of look.
    """
    largest = largest_m or radius_m or 1.0
    radius = radius_m or largest
    sheet = Sheet(radius=radius, largest=max(largest, radius))
    lines = [
        *(f'<path class="outline" d="{d}"/>' for d in [*_view(sheet), *_cut(sheet)]),
        *(f'<path class="hatch" d="{d}"/>' for d in _hatching(sheet)),
        f'<path class="centre" d="{sheet.path([(0, 0.12), (0, BOTTOM)])}"/>',
    ]
    if radius_m is not None:
        lines.append(_dimension(sheet, 2000.0 * radius_m))
    size = "size unknown" if radius_m is None else f"effective diameter {2000 * radius_m:.0f} mm"
    label = escape(f"{name}: outline only, no design is recorded; {size}.")
    box = f"{-100 * SIDE:.0f} {-100 * TOP:.0f} {200 * SIDE:.0f} {100 * (TOP - BOTTOM):.0f}"
    return (
        f'<svg class="section" viewBox="{box}" role="img" aria-label="{label}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(lines)}</svg>'
    )


def _arc(centre: Point, radius: float, steps: int = 12) -> list[Point]:
    """Upper half circle from left to right: the half roll."""
    angles = [pi * (1 - k / steps) for k in range(steps + 1)]
    return [(centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in angles]


def _spider() -> list[Point]:
    """A corrugated ring of three and a half waves from the former to the basket."""
    width = SPIDER_OUT - COIL
    return [(COIL + width * k / 40, SPIDER + 0.035 * sin(2 * pi * 3.5 * k / 40)) for k in range(41)]


def _view(sheet: Sheet) -> list[str]:
    """The left half, from outside: flange, basket, magnet and plates as silhouettes."""
    silhouettes: list[tuple[list[Point], bool]] = [
        ([(0, FLANGE_T), (FLANGE_OUT, FLANGE_T), (FLANGE_OUT, 0), (0, 0)], False),
        ([(1.12, 0), (0.72, SPIDER), (0.66, PLATE_TOP), (0, PLATE_TOP)], False),
        ([(PLATE_OUT, PLATE_TOP), (PLATE_OUT, PLATE_END), (0, PLATE_END)], False),
        ([(PLATE_OUT, PLATE_END), (MAGNET_OUT, PLATE_END), (MAGNET_OUT, MAGNET_END), (0, MAGNET_END)], False),
        ([(PLATE_OUT, MAGNET_END), (PLATE_OUT, BACK_END), (0, BACK_END)], False),
    ]
    return [sheet.path(points, mirrored=True, closed=closed) for points, closed in silhouettes]


def _cut(sheet: Sheet) -> list[str]:
    """The right half, cut: every part as its own closed or open outline."""
    roll = _arc(((CONE_OUT + SURROUND_OUT) / 2, 0.0), (SURROUND_OUT - CONE_OUT) / 2)
    basket: list[Point] = [(SURROUND_OUT, 0), (0.70, SPIDER), (0.66, SPIDER), (0.62, PLATE_TOP)]
    outer: list[Point] = [(1.14, 0), (0.74, SPIDER - 0.02), (0.68, PLATE_TOP)]
    dome = [(COIL * k / 8, FORMER_TOP + 0.10 + 0.10 * (1 - (k / 8) ** 2)) for k in range(9)]
    shapes: list[tuple[list[Point], bool]] = [
        ([(0, PLATE_TOP + 0.04), (POLE, PLATE_TOP + 0.04), (POLE, MAGNET_END)], False),
        ([(0, BACK_END), (PLATE_OUT, BACK_END), (PLATE_OUT, MAGNET_END), (POLE, MAGNET_END)], False),
        (_box(MAGNET_IN, MAGNET_OUT, MAGNET_END, PLATE_END), True),
        (_box(GAP_OUT, PLATE_OUT, PLATE_END, PLATE_TOP), True),
        ([(COIL, FORMER_TOP + 0.10), (COIL, COIL_END)], False),
        (_box(COIL, COIL + 0.022, COIL_END, COIL_TOP), True),
        (_spider(), False),
        ([(COIL, FORMER_TOP), (CONE_OUT, 0.0)], False),
        (roll, False),
        (dome, False),
        (_box(SURROUND_OUT, FLANGE_OUT, 0.0, FLANGE_T), True),
        (basket, False),
        (outer, False),
    ]
    return [sheet.path(points, closed=closed) for points, closed in shapes]


def _box(inner: float, outer: float, low: float, high: float) -> list[Point]:
    return [(inner, low), (outer, low), (outer, high), (inner, high)]


def _hatching(sheet: Sheet) -> list[str]:
    """Hatching at 45° of what makes the field: the steel one way, the magnet the other and closer."""
    steel = (
        (0.0, POLE, MAGNET_END, PLATE_TOP + 0.04),
        (0.0, PLATE_OUT, BACK_END, MAGNET_END),
        (GAP_OUT, PLATE_OUT, PLATE_END, PLATE_TOP),
    )
    strokes = [line for box in steel for line in _strokes(*box, step=0.075, back=True)]
    strokes += _strokes(MAGNET_IN, MAGNET_OUT, MAGNET_END, PLATE_END, step=0.05, back=False)
    return [sheet.path(line) for line in strokes]


def _strokes(
    left: float, right: float, low: float, high: float, *, step: float, back: bool
) -> list[list[Point]]:
    """Strokes of slope +1 (or -1) clipped to a box."""
    strokes = []
    height = high - low
    start = left - height + step
    while start < right - 1e-9:
        a, b = max(start, left), min(start + height, right)
        if b - a > 0.01:
            za, zb = low + (a - start), low + (b - start)
            strokes.append([(a, high + low - za), (b, high + low - zb)] if back else [(a, za), (b, zb)])
        start += step
    return strokes


def _dimension(sheet: Sheet, diameter_mm: float) -> str:
    """The effective diameter over the drawing, ISO 129-1: narrow line, arrows, number above it."""
    left, y = sheet.at(-1.0, 0.0)
    right, _ = sheet.at(1.0, 0.0)
    level = -17.0
    ends = "".join(f"M{x:.1f} {y - 6:.1f}V{level - 3:.1f}" for x in (left, right))
    arrows = (
        f"M{left:.1f} {level}l7 -1.6v3.2zM{right:.1f} {level}l-7 -1.6v3.2z"
    )  # fmt: skip
    return (
        f'<path class="narrow" d="{ends}M{left:.1f} {level}H{right:.1f}"/><path class="arrow" d="{arrows}"/>'
        f'<text class="dimension" x="0" y="{level - 4}" text-anchor="middle">⌀ {diameter_mm:.0f}</text>'
    )
