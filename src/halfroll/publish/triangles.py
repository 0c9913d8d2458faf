"""Values at the corners of triangles made visible: lines of equal value, and a grid of pixels.

Between corners values run straight, so a line of equal value is a straight piece in each triangle ("marching triangles").
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray

Line = FloatArray
"""A polyline, (k, 2)."""

_SAME = 1e-9
"""Ends of pieces nearer than this share of the drawing's size are one point."""

_EDGE = -1e-6
"""Pixels so little outside a triangle still belong to it, so that no crack is left between two."""


def contour(points: FloatArray, triangles: NDArray[np.intp], values: FloatArray, level: float) -> list[Line]:
    """Polylines on which a value holds.

    Parameters
    ----------
    points
        (n, 2) corners.
    triangles
        (m, 3) indices of corners. Corners at one place may occur several times.
    values
        (n,) at the corners.
    level
        The value to look for.

    Returns
    -------
    Polylines (k, 2); a closed one ends where it begins.
    """
    starts, ends = _pieces(points, triangles, values, level)
    if not len(starts):
        return []
    grain = _SAME * float(np.ptp(points, axis=0).max() or 1.0)
    return _joined(starts, ends, grain)


def _pieces(
    points: FloatArray, triangles: NDArray[np.intp], values: FloatArray, level: float
) -> tuple[FloatArray, FloatArray]:
    """The piece of line in each triangle that has one, from (p, 2) to (p, 2)."""
    above = values[triangles] >= level
    crossed = np.flatnonzero((count := above.sum(axis=1)) % 3)
    corners, above = triangles[crossed], above[crossed]
    lone = np.where(count[crossed] == 1, np.argmax(above, axis=1), np.argmin(above, axis=1))
    row = np.arange(len(crossed))
    tip, left, right = (corners[row, (lone + k) % 3] for k in range(3))

    def cut(other: NDArray[np.intp]) -> FloatArray:
        # From the lower index to the higher, so that both triangles at an edge find the very same point.
        a, b = np.minimum(tip, other), np.maximum(tip, other)
        share = (level - values[a]) / (values[b] - values[a])
        return np.asarray(points[a] + share[:, None] * (points[b] - points[a]))

    return cut(left), cut(right)


def _joined(starts: FloatArray, ends: FloatArray, grain: float) -> list[Line]:
    """Pieces strung together where their ends meet."""
    keys = np.round(np.stack([starts, ends], axis=1) / grain).astype(np.int64)
    places = [(tuple(a), tuple(b)) for a, b in keys.tolist()]
    at: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for piece, (a, b) in enumerate(places):
        if a != b:
            at[a].append(piece)
            at[b].append(piece)
    where = {key: place for pair, two in zip(places, zip(starts, ends, strict=True), strict=True)
             for key, place in zip(pair, two, strict=True)}  # fmt: skip
    used = [a == b for a, b in places]

    def run(key: tuple[int, ...]) -> list[tuple[int, ...]]:
        path = [key]
        while (piece := next((p for p in at[path[-1]] if not used[p]), None)) is not None:
            used[piece] = True
            a, b = places[piece]
            path.append(b if a == path[-1] else a)
        return path

    open_ends = [key for key, pieces in at.items() if len(pieces) == 1]
    lines = [run(key) for key in (*open_ends, *(places[p][0] for p in range(len(places)))) if key in at]
    return [np.array([where[key] for key in line]) for line in lines if len(line) > 1]


def pixels(
    points: FloatArray, triangles: NDArray[np.intp], values: FloatArray, box: tuple[float, float, float, float],
    shape: tuple[int, int],
) -> FloatArray:  # fmt: skip
    """Values on a grid of pixels, straight between the corners of each triangle.

    Parameters
    ----------
    points, triangles
        As for `contour`.
    values
        (n, c): c values at each corner.
    box
        (x_low, x_high, y_low, y_high) of what the grid covers.
    shape
        (rows, columns); the first row lies at y_high.

    Returns
    -------
    (rows, columns, c), nan where there is no triangle.
    """
    rows, columns = shape
    x_low, x_high, y_low, y_high = box
    at = np.column_stack([
        (points[:, 0] - x_low) * columns / (x_high - x_low) - 0.5, (y_high - points[:, 1]) * rows / (y_high - y_low) - 0.5,
    ])  # fmt: skip
    corner = at[triangles]
    first = np.maximum(np.ceil(corner.min(axis=1) - 1e-6), 0).astype(int)
    last = np.minimum(np.floor(corner.max(axis=1) + 1e-6), [columns - 1, rows - 1]).astype(int)
    size = np.maximum(last - first + 1, 0)
    many = size[:, 0] * size[:, 1]
    owner = np.repeat(np.arange(len(triangles)), many)
    number = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
    wide = size[owner, 0]
    x, y = first[owner, 0] + number % np.maximum(wide, 1), first[owner, 1] + number // np.maximum(wide, 1)
    a, b, c = corner[owner, 0], corner[owner, 1], corner[owner, 2]
    twice = _cross(b - a, c - a)
    here = np.column_stack([x, y])
    with np.errstate(divide="ignore", invalid="ignore"):
        u, v = _cross(here - a, c - a) / twice, _cross(b - a, here - a) / twice
    inside = (u >= _EDGE) & (v >= _EDGE) & (u + v <= 1.0 - _EDGE)
    u, v, owner, x, y = u[inside, None], v[inside, None], owner[inside], x[inside], y[inside]
    grid = np.full((rows, columns, values.shape[1]), np.nan)
    one, two, three = (values[triangles[owner, k]] for k in range(3))
    grid[y, x] = (1.0 - u - v) * one + u * two + v * three
    return grid


def _cross(first: FloatArray, second: FloatArray) -> FloatArray:
    return np.asarray(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
