"""Whether a bent strip runs into itself. The finite elements do not know: walls pass through each other."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray

_FACING = 0.5
"""Two places face each other when the way between them leaves both surfaces at more than 30 degrees."""


def crosses_itself(outline: FloatArray) -> bool:
    """Whether a closed outline (n, 2), last point equal to the first, crosses itself: two sides that are not neighbours meet."""
    start, end = outline[:-1], outline[1:]
    side = end - start
    from_start = _turn(side[:, None], start[None] - start[:, None])
    from_end = _turn(side[:, None], end[None] - start[:, None])
    apart = from_start * from_end < 0
    both = apart & apart.T
    count = len(start)
    steps = np.abs(np.arange(count)[:, None] - np.arange(count))
    return bool((both & (np.minimum(steps, count - steps) > 1)).any())


def narrowest_gap(outline: FloatArray) -> float:
    """Smallest distance (m) over free air between two places of a closed outline (n, 2) that face each other; inf when none do.

    The outline runs with the body on its right, as `shapes.outline_of` gives it.
    """
    at = 0.5 * (outline[1:] + outline[:-1])
    side = outline[1:] - outline[:-1]
    length = np.hypot(side[:, 0], side[:, 1])
    at, side, length = at[length > 0], side[length > 0], length[length > 0]
    out = np.stack([-side[:, 1], side[:, 0]], axis=1) / length[:, None]
    way = at[None] - at[:, None]
    distance = np.hypot(way[..., 0], way[..., 1])
    np.fill_diagonal(distance, np.inf)
    leaves = np.einsum("ijk,ik->ij", way, out) / distance
    facing = (leaves > _FACING) & (leaves.T > _FACING)
    return float(np.where(facing, distance, np.inf).min())


def _turn(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
