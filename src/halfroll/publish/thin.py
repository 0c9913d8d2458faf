"""Thinning: no more points than the width can show, and no extreme lost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray


def thinned(position: FloatArray, *values: FloatArray, columns: int) -> NDArray[np.intp]:
    """Indices (m,) of the points worth drawing, ascending.

    The span of `position` is cut into `columns` strips of equal width, one per pixel.  Of each strip the first and
    the last point stay and, for every one of `values`, the lowest and the highest; so a drawn line covers the same
    pixels as the full one.  Not-a-number marks a gap: its first and last point stay, so the gap stays.

    Parameters
    ----------
    position
        Place along the width, ascending, shape (n,); for a logarithmic axis the logarithm.
    values
        Curves over it, each of shape (n,).
    columns
        Number of strips, 1 or more.
    """
    n = position.size
    if n <= 2 * columns or n < 3:
        return np.arange(n)
    span = position[-1] - position[0]
    strip = np.minimum(((position - position[0]) / span * columns).astype(np.intp), columns - 1)
    opens = np.diff(strip, prepend=-1) > 0
    starts, run = np.flatnonzero(opens), np.cumsum(opens) - 1
    keep = np.zeros(n, dtype=bool)
    keep[starts] = True
    keep[np.append(starts[1:], n) - 1] = True
    for value in values:
        missing = np.isnan(value)
        low = np.where(missing, np.inf, value)
        high = np.where(missing, -np.inf, value)
        for extreme, reduced in (
            (low, np.minimum.reduceat(low, starts)),
            (high, np.maximum.reduceat(high, starts)),
        ):
            hits = np.flatnonzero(extreme == reduced[run])
            _, first = np.unique(run[hits], return_index=True)
            keep[hits[first]] = True
        edges = np.flatnonzero(np.diff(missing))
        keep[edges] = keep[edges + 1] = True
    return np.flatnonzero(keep)
