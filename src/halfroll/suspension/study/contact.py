"""How near a bent strip comes to itself. The finite elements do not know: walls pass through each other."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.folds import first_crossing
from halfroll.suspension.study.shapes import outline_of
from halfroll.suspension.study.strain import away_from_clamps, surface
from halfroll.suspension.study.travel import Bent, sides

CLEARANCE = 0.1
"""Walls that come closer than this share of their thickness are said to touch: a print's surface is not smoother than that."""

_HALVINGS = 5
_FACING = 0.8
"""Two places face each other when the way between them leaves both surfaces at more than 53 degrees: the sides of a right corner do not."""


def touches(profile: Profile, bent: Bent) -> list[tuple[float, float]]:
    """Where walls begin to touch, for each way of bending in which they do: displacement and gap (m).

    The crease in a clamp's corner is no property of the strip and is left out.
    """
    sample = surface(profile, bent.ring)
    away = away_from_clamps(profile, sample.at_r, sample.at_z)
    # Every other row is enough: a piece then turns by a fifth of a radian at most.
    away &= np.arange(away.shape[1]) // 3 % 2 == 0

    def gap(x_m: float) -> float:
        outline = outline_of(bent.ring, sample, bent.at(np.array([x_m]))[0], away)
        return narrowest_gap(outline) if first_crossing(outline[:-1], closed=True) is None else 0.0

    thinnest = float(profile.thickness(np.linspace(0, 1, 101))[0].min())
    least = min(CLEARANCE * thinnest, 0.5 * gap(0.0))
    found = []
    for side in sides(bent.states):
        free = 0.0
        for state in side:
            if gap(state.x_m) < least:
                touching = state.x_m
                for _ in range(_HALVINGS):
                    middle = 0.5 * (free + touching)
                    free, touching = (free, middle) if gap(middle) < least else (middle, touching)
                found.append((touching, gap(touching)))
                break
            free = state.x_m
    return found


def narrowest_gap(outline: FloatArray) -> float:
    """Smallest distance (m) over free air between two places of a closed outline (n, 2) that face each other; inf when none do.

    The outline runs with the body on its right, as `shapes.outline_of` gives it.
    """
    at = 0.5 * (outline[1:] + outline[:-1])
    side = outline[1:] - outline[:-1]
    length = np.hypot(side[:, 0], side[:, 1])
    at, side, length = at[length > 0], side[length > 0], length[length > 0]
    if len(at) < 2:
        return float("inf")
    out = np.stack([-side[:, 1], side[:, 0]], axis=1) / length[:, None]
    way = at[None] - at[:, None]
    distance = np.hypot(way[..., 0], way[..., 1])
    np.fill_diagonal(distance, np.inf)
    leaves = np.einsum("ijk,ik->ij", way, out) / distance
    facing = (leaves > _FACING) & (leaves.T > _FACING)
    return float(np.where(facing, distance, np.inf).min())
