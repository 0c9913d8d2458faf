"""How near a bent strip comes to itself. The finite elements do not know: walls pass through each other."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray

_FACING = 0.8
"""Two places face each other when the way between them leaves both surfaces at more than 53 degrees: the sides of a right corner do not."""


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
