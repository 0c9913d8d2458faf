"""Half-sections as polygons: is one sound, do two overlap, how far is one from another. Exact for straight edges.

Written for the few dozen corners of a motor, so nothing is optimised. A polygon is a tuple of corners without the first
one repeated, lengths in metres.
"""

from __future__ import annotations

import itertools
import math

from halfroll.motor.types import Point

Polygon = tuple[Point, ...]
Edge = tuple[Point, Point]

TOUCH_M = 1e-6
"""Nearer than this two faces touch; deeper than this they overlap."""


def edges(polygon: Polygon) -> tuple[Edge, ...]:
    """Its edges in order."""
    return tuple(zip(polygon, (*polygon[1:], polygon[0]), strict=True))


def signed_area(polygon: Polygon) -> float:
    """Area (m²), above zero when the corners run anticlockwise."""
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in edges(polygon))


def anticlockwise(polygon: Polygon) -> Polygon:
    """The same polygon with its corners anticlockwise."""
    return polygon if signed_area(polygon) > 0 else polygon[::-1]


def moved(polygon: Polygon, dz: float) -> Polygon:
    """The same polygon farther up."""
    return tuple((r, z + dz) for r, z in polygon)


def rectangle(r_low: float, r_high: float, z_low: float, z_high: float) -> Polygon:
    """A rectangle, anticlockwise."""
    return ((r_low, z_low), (r_high, z_low), (r_high, z_high), (r_low, z_high))


def crossing_edges(polygon: Polygon) -> bool:
    """Whether the outline crosses or touches itself."""
    around = edges(polygon)
    n = len(around)
    for i in range(n):
        for j in range(i + 1, n):
            neighbours = j == i + 1 or (i == 0 and j == n - 1)
            if neighbours:
                if _folds_back(around[i], around[j]) or _folds_back(around[j], around[i]):
                    return True
            elif _edge_distance(around[i], around[j]) <= 0.0:
                return True
    return False


def _folds_back(first: Edge, second: Edge) -> bool:
    """Whether `second`, which begins where `first` ends, runs back over it."""
    if first[1] != second[0]:
        return False
    u = (first[1][0] - first[0][0], first[1][1] - first[0][1])
    v = (second[1][0] - second[0][0], second[1][1] - second[0][1])
    cross, along = u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]
    return along < 0 and abs(cross) <= 1e-12 * math.hypot(*u) * math.hypot(*v)


def intervals(polygon: Polygon, r: float) -> list[tuple[float, float]]:
    """Heights (low, high) inside the polygon at a radius that is not a corner's."""
    heights = sorted(
        a[1] + (b[1] - a[1]) * (r - a[0]) / (b[0] - a[0])
        for a, b in edges(polygon)
        if min(a[0], b[0]) < r < max(a[0], b[0])
    )
    return list(zip(heights[::2], heights[1::2], strict=False))


def overlap(one: Polygon, other: Polygon) -> tuple[float, float] | None:
    """Extent (in r, in z) of what two polygons share (m), the largest piece; None when it is no deeper than a touch.

    Between the radii of all corners and crossings both are bounded by straight lines, so the slabs tell exactly.
    """
    stops = _radii(one, other)
    width = height = 0.0
    best: tuple[float, float] | None = None
    for low, high in itertools.pairwise(stops):
        middle = 0.5 * (low + high)
        shared = [
            min(a[1], b[1]) - max(a[0], b[0])
            for a in intervals(one, middle)
            for b in intervals(other, middle)
        ]
        deep = max(shared, default=0.0)
        if deep <= TOUCH_M:
            width = height = 0.0
            continue
        width, height = width + high - low, max(height, deep)
        if width > TOUCH_M and (best is None or width * height > best[0] * best[1]):
            best = (width, height)
    return best


def _radii(one: Polygon, other: Polygon) -> list[float]:
    """Radii of all corners and of all crossings, where both polygons reach, ascending."""
    low = max(min(r for r, _ in one), min(r for r, _ in other))
    high = min(max(r for r, _ in one), max(r for r, _ in other))
    stops = {r for r, _ in (*one, *other)} | {low, high}
    for first in edges(one):
        for second in edges(other):
            where = _crossing(first, second)
            if where is not None:
                stops.add(where)
    return sorted(r for r in stops if low <= r <= high)


def _crossing(first: Edge, second: Edge) -> float | None:
    """Radius where two edges cross; None when they are parallel or do not meet."""
    (p, q), (s, t) = first, second
    u, v = (q[0] - p[0], q[1] - p[1]), (t[0] - s[0], t[1] - s[1])
    cross = u[0] * v[1] - u[1] * v[0]
    if cross == 0.0:
        return None
    w = (s[0] - p[0], s[1] - p[1])
    along, beside = (w[0] * v[1] - w[1] * v[0]) / cross, (w[0] * u[1] - w[1] * u[0]) / cross
    return p[0] + along * u[0] if 0.0 <= along <= 1.0 and 0.0 <= beside <= 1.0 else None


def drop(falling: Polygon, ground: Polygon) -> float | None:
    """How far up (m) a polygon must be moved to rest on another that it comes down onto from above; None when it falls past.

    Faces that only touch at the side do not hold it.
    """
    low = max(min(r for r, _ in falling), min(r for r, _ in ground)) + TOUCH_M
    high = min(max(r for r, _ in falling), max(r for r, _ in ground)) - TOUCH_M
    if low >= high:
        return None
    corners = sorted({r for r, _ in (*falling, *ground) if low < r < high} | {low, high})
    tiny = 1e-9
    lifts = [
        max(top for _, top in over) - min(bottom for bottom, _ in under)
        for corner in corners
        for r in (corner - tiny, corner + tiny)
        if (over := intervals(ground, r)) and (under := intervals(falling, r))
    ]
    return _rounded(max(lifts)) if lifts else None


def _rounded(length: float) -> float:
    """A length without the last digits of floating point, to 0.01 nm."""
    return round(length, 11)


def upside_down(polygon: Polygon) -> Polygon:
    """The polygon mirrored at z = 0, anticlockwise if it was."""
    return tuple((r, -z) for r, z in polygon)[::-1]


def distance(one: Polygon, other: Polygon) -> float:
    """Shortest distance (m) between two outlines; 0 when they meet."""
    return min(_edge_distance(a, b) for a in edges(one) for b in edges(other))


def _edge_distance(first: Edge, second: Edge) -> float:
    if _crossing(first, second) is not None:
        return 0.0
    ends = [(point, second) for point in first] + [(point, first) for point in second]
    return min(_point_distance(point, edge) for point, edge in ends)


def _point_distance(point: Point, edge: Edge) -> float:
    (ar, az), (br, bz) = edge
    ur, uz = br - ar, bz - az
    length2 = ur * ur + uz * uz
    along = 0.0 if length2 == 0.0 else ((point[0] - ar) * ur + (point[1] - az) * uz) / length2
    along = min(1.0, max(0.0, along))
    return math.hypot(point[0] - ar - along * ur, point[1] - az - along * uz)
