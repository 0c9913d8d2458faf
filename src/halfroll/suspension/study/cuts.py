"""Where a strip is cut into elements: evenly where it is smooth, closer where it is tightly rolled, and closer still at clamps.

At the corners of a clamp stress has no finite value; elements that shrink towards it by a constant ratio keep its error out of
the rest (I. Babuska and B. Guo, "The h-p version of the finite element method", Computational Mechanics 1, 1986; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.midline import Profile

_FINE = 400
"""Points along each smooth piece on which its length and turning are summed."""


@dataclass(frozen=True, kw_only=True)
class MeshSettings:
    """How fine a strip is cut.

    Parameters
    ----------
    order
        Of the elements' polynomials, along and across.
    turn_rad
        An element of a thin strip turns by no more than this.
    stretch
        Nor is it longer than this many times sqrt(thickness times half the strip's width), the length over which a bent shell
        recovers from what happens at its edge.
    near_clamp
        Distances from each clamp, in thicknesses, at which a boundary is put besides.
    """

    order: int = 4
    turn_rad: float = 0.6
    stretch: float = 1.2
    near_clamp: tuple[float, ...] = (0.12, 0.5, 1.5)


DEFAULT = MeshSettings()


def cuts_of(profile: Profile, settings: MeshSettings = DEFAULT) -> FloatArray:
    """Element boundaries (rising, from 0 to 1) along s; the profile's breaks are among them."""
    pieces = [_piece(profile, low, high, settings) for low, high in pairwise(profile.breaks)]
    cuts = np.concatenate([*(piece[:-1] for piece in pieces), np.ones(1)])
    return _with_clamps(profile, cuts, settings)


def lengths(profile: Profile, s: FloatArray) -> FloatArray:
    """Length (m) of the middle line from s[0] to each of s (rising, close together)."""
    line = profile.curve(s)
    speed = np.hypot(line.r1, line.z1)
    return np.concatenate([np.zeros(1), np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(s))])


def _piece(profile: Profile, low: float, high: float, settings: MeshSettings) -> FloatArray:
    s = np.linspace(low, high, _FINE + 1)
    middle = 0.5 * (s[1:] + s[:-1])
    line = profile.curve(middle)
    speed = np.hypot(line.r1, line.z1)
    turning = np.abs(line.r1 * line.z2 - line.z1 * line.r2) / speed**2
    ends = profile.curve(np.array([0.0, 1.0]))
    half = 0.5 * float(np.hypot(np.diff(ends.r), np.diff(ends.z))[0])
    thickness, _ = profile.thickness(middle)
    longest = settings.stretch * np.sqrt(thickness * half)
    density = np.hypot(speed / longest, turning / settings.turn_rad)
    total = np.concatenate([np.zeros(1), np.cumsum(density * np.diff(s))])
    count = max(1, int(np.ceil(total[-1])))
    return np.interp(np.linspace(0, total[-1], count + 1), total, s)


def _with_clamps(profile: Profile, cuts: FloatArray, settings: MeshSettings) -> FloatArray:
    s = np.linspace(0, 1, 4 * _FINE + 1)
    length = lengths(profile, s)
    whole, at = length[-1], np.interp(cuts, s, length)
    held = np.isin(cuts, profile.breaks)
    keep, near = held.copy(), []
    free = np.ones(len(cuts), dtype=bool)
    for h, origin, sign in zip(
        profile.thickness(np.array([0.0, 1.0]))[0], (0.0, whole), (1, -1), strict=True
    ):
        steps = [k * h for k in settings.near_clamp if k * h < 0.25 * whole]
        near += [origin + sign * step for step in steps]
        # A boundary just behind the last of these would leave a sliver, and so would one of these beside a break.
        free &= np.abs(at - origin) > 1.5 * max(steps, default=0.0)
    keep |= free
    thin = 0.05 * float(profile.thickness(np.array([0.0, 1.0]))[0].min())
    near = [place for place in near if np.abs(at[held] - place).min() > thin]
    return np.unique(np.concatenate([cuts[keep], np.interp(near, length, s)]))
