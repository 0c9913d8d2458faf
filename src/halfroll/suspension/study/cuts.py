"""Where a strip is cut into elements: evenly where it is smooth, closer where it is tightly rolled, and closer still at clamps.

At the corners of a clamp stress has no finite value; elements that shrink towards it by a constant ratio keep its error out of
the rest (I. Babuska and B. Guo, "The h-p version of the finite element method", Computational Mechanics 1, 1986).
"""

from __future__ import annotations

from dataclasses import dataclass

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
    stretch: float = 1.0
    near_clamp: tuple[float, ...] = (0.12, 0.5, 1.5)


DEFAULT = MeshSettings()


def cuts_of(profile: Profile, settings: MeshSettings = DEFAULT) -> FloatArray:
    """Element boundaries (rising, from 0 to 1) along s."""
    pieces = [
        _piece(profile, low, high, settings)
        for low, high in zip(profile.breaks[:-1], profile.breaks[1:], strict=True)
    ]
    inner = np.concatenate([piece[:-1] for piece in pieces] + [np.ones(1)])
    return _with_clamps(profile, inner, settings)


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
    scale = settings.stretch * np.sqrt(thickness * half)
    density = np.hypot(speed / scale, turning / settings.turn_rad)
    total = np.concatenate([np.zeros(1), np.cumsum(density * np.diff(s))])
    count = max(2, int(np.ceil(total[-1])))
    return np.interp(np.linspace(0, total[-1], count + 1), total, s)


def _with_clamps(profile: Profile, cuts: FloatArray, settings: MeshSettings) -> FloatArray:
    s = np.linspace(0, 1, 4 * _FINE + 1)
    length = lengths(profile, s)
    thickness, _ = profile.thickness(np.array([0.0, 1.0]))
    out = cuts
    for from_clamp, h in ((length, thickness[0]), (length[-1] - length, thickness[1])):
        away = from_clamp if from_clamp[0] == 0 else from_clamp[::-1]
        along = s if from_clamp[0] == 0 else s[::-1]
        near = [float(np.interp(k * h, away, along)) for k in settings.near_clamp if k * h < 0.25 * length[-1]]
        # A boundary that falls just behind the last of these would leave a sliver.
        reach = settings.near_clamp[-1] * h
        kept = np.interp(out, s, from_clamp if from_clamp[0] == 0 else length[-1] - length)
        out = np.concatenate([out[(kept > 1.5 * reach) | (out == 0) | (out == 1)], near])
    return np.unique(out)
