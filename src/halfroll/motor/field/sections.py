"""Where inside a part's half-section the field is looked at: cross-sections, and places away from its faces.

At the corners of steel and magnets the field has no limit: it grows as the mesh gets finer (J. Meixner, IEEE Trans. Antennas
Propag. 20, 442, 1972, for the edge condition). So no value is taken nearer to a face than `inset`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.motor.placing.polygons import Polygon, edges, intervals

BoolArray = NDArray[np.bool_]

INSET_M = 0.5e-3
"""Values inside a part are taken this far off its faces at least, or a quarter of its thickness where it is thin."""

_STATIONS = 121
_GRID = 41
_ZOOMS = 3
_ZOOM_GRID = 7


@dataclass(frozen=True)
class Section:
    """One cross-section: at a height (a disc or ring from radius `low` to `high`) or at a radius (a cylinder between
    heights), all in m.
    """

    at: float
    low: float
    high: float


def inset(outline: Polygon) -> float:
    """How far off the faces of a part values are taken (m)."""
    r, z = np.transpose(outline)
    return min(INSET_M, 0.25 * float(min(np.ptp(r), np.ptp(z))))


def across_axis(outline: Polygon) -> list[Section]:
    """Sections at heights, from the lowest to the highest; narrower ones than `inset` are left out."""
    return _sections(tuple((z, r) for r, z in outline), inset(outline))


def around_axis(outline: Polygon) -> list[Section]:
    """Sections at radii (cylinders), from the innermost to the outermost; lower ones than `inset` are left out."""
    return _sections(outline, inset(outline))


def _sections(outline: Polygon, least: float) -> list[Section]:
    """Sections at first coordinates, on both sides of every corner and evenly between."""
    first = [a for a, _ in outline]
    low, high = min(first), max(first)
    nudge = 1e-7 * (high - low)
    stations = np.concatenate(
        [
            np.linspace(low + nudge, high - nudge, _STATIONS),
            np.ravel([[a - nudge, a + nudge] for a in set(first)]),
        ]
    )
    return [
        Section(float(at), *reach)
        for at in np.unique(stations)
        if low < at < high
        for reach in intervals(outline, float(at))
        if reach[1] - reach[0] >= least
    ]


def extreme(
    value: Callable[[FloatArray, FloatArray], FloatArray], outline: Polygon
) -> tuple[float, float, float]:
    """Largest of a function of (r, z) inside an outline, `inset` off its faces: value, r, z (m).

    Looked for on a grid, then three times on a finer one around the best place.
    """
    least = inset(outline)
    points = inner_points(outline, least)
    found = value(points[:, 0], points[:, 1])
    best, at = float(found.max()), points[int(found.argmax())]
    size = np.ptp(np.asarray(outline), axis=0) / (_GRID - 1)
    for _ in range(_ZOOMS):
        around = np.linspace(-1.0, 1.0, _ZOOM_GRID)
        r, z = np.meshgrid(at[0] + size[0] * around, at[1] + size[1] * around)
        points = np.column_stack([r.ravel(), z.ravel()])
        points = points[_deep(points, outline, least)]
        found = value(points[:, 0], points[:, 1])
        if len(found) and float(found.max()) > best:
            best, at = float(found.max()), points[int(found.argmax())]
        size = size * 2.0 / (_ZOOM_GRID - 1)
    return best, float(at[0]), float(at[1])


def inner_points(outline: Polygon, least: float) -> FloatArray:
    """Grid points (n, 2) inside an outline at least `least` off its faces; its middle when none is so deep."""
    corners = np.asarray(outline)
    low, high = corners.min(0), corners.max(0)
    low_r = 0.0 if low[0] <= 0.0 else low[0] + least
    r, z = np.meshgrid(
        np.linspace(low_r, high[0] - least, _GRID), np.linspace(low[1] + least, high[1] - least, _GRID)
    )
    points = np.column_stack([r.ravel(), z.ravel()])
    deep = _deep(points, outline, least)
    if deep.any():
        return points[deep]
    depth = np.where(_inside(points, outline), _depth(points, outline), -1.0)
    return points[[int(depth.argmax())]]


def _deep(points: FloatArray, outline: Polygon, least: float) -> BoolArray:
    return _inside(points, outline) & (_depth(points, outline) >= least * (1.0 - 1e-9))


def _inside(points: FloatArray, outline: Polygon) -> BoolArray:
    """Whether points lie inside, by counting the edges a ray crosses."""
    crossed = np.zeros(len(points), dtype=bool)
    r, z = np.maximum(points[:, 0], 1e-12), points[:, 1]  # the axis belongs to a body that reaches it
    for (ar, az), (br, bz) in edges(outline):
        if az == bz:
            continue
        crossed ^= ((az > z) != (bz > z)) & (r < ar + (br - ar) * (z - az) / (bz - az))
    return crossed


def _depth(points: FloatArray, outline: Polygon) -> FloatArray:
    """Distance (m) to the nearest face; the axis is none."""
    nearest = np.full(len(points), np.inf)
    for a, b in edges(outline):
        if a[0] <= 0.0 and b[0] <= 0.0:
            continue
        start, along = np.asarray(a), np.subtract(b, a)
        share = np.clip((points - start) @ along / (along @ along), 0.0, 1.0)
        nearest = np.minimum(nearest, np.linalg.norm(points - start - share[:, None] * along, axis=1))
    return nearest
