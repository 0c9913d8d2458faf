"""Middle lines put together from straight lines and arcs of ellipses, with their exact derivatives."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.midline import MidLine

Curve = Callable[[FloatArray], MidLine]
"""A middle line by s from 0 to 1."""


@dataclass(frozen=True, kw_only=True)
class Arc:
    """Part of an ellipse about (r, z) with semi-axes along r and z (m): r + a cos(angle), z + b sin(angle), `start` to `stop` (rad)."""

    r: float
    z: float
    along_r: float
    along_z: float
    start: float
    stop: float

    @property
    def share(self) -> float:
        """What it counts in s beside other arcs: its angle."""
        return abs(self.stop - self.start)

    def at(self, t: FloatArray) -> MidLine:
        """By t from 0 to 1."""
        turn = self.stop - self.start
        angle = self.start + turn * t
        c, s = np.cos(angle), np.sin(angle)
        return MidLine(
            r=self.r + self.along_r * c, z=self.z + self.along_z * s,
            r1=-self.along_r * turn * s, z1=self.along_z * turn * c,
            r2=-self.along_r * turn**2 * c, z2=-self.along_z * turn**2 * s,
        )  # fmt: skip


def straight(start: tuple[float, float], stop: tuple[float, float]) -> Curve:
    """A straight line between two points (r, z)."""

    def curve(s: FloatArray) -> MidLine:
        none = np.zeros_like(s)
        dr, dz = stop[0] - start[0], stop[1] - start[1]
        return MidLine(r=start[0] + dr * s, z=start[1] + dz * s, r1=none + dr, z1=none + dz, r2=none, z2=none)

    return curve


def joined(arcs: Sequence[Arc]) -> tuple[Curve, tuple[float, ...]]:
    """One curve of arcs that follow one another, and the s at which they meet, 0 and 1 included.

    The caller has to let them meet with one tangent. s is shared out by angle, so that where arcs of one ellipse's size
    meet the speed is continuous, too.
    """
    shares = np.array([arc.share for arc in arcs])
    breaks = np.append(0.0, np.cumsum(shares) / shares.sum())
    breaks[-1] = 1.0

    def curve(s: FloatArray) -> MidLine:
        which = np.clip(np.searchsorted(breaks, s, side="right") - 1, 0, len(arcs) - 1)
        out = {name: np.zeros(np.shape(s)) for name in ("r", "z", "r1", "z1", "r2", "z2")}
        for n, arc in enumerate(arcs):
            here = which == n
            size = float(breaks[n + 1] - breaks[n])
            part = arc.at((s[here] - breaks[n]) / size)
            for name, power in (("r", 0), ("z", 0), ("r1", 1), ("z1", 1), ("r2", 2), ("z2", 2)):
                out[name][here] = getattr(part, name) / size**power
        return MidLine(**out)

    return curve, tuple(float(b) for b in breaks)


def bowed(start: tuple[float, float], stop: tuple[float, float], sagitta: float) -> Curve:
    """An arc of a circle between two points (r, z); its middle lies `sagitta` (m) to the left of the chord, seen from its start."""
    dr, dz = stop[0] - start[0], stop[1] - start[1]
    chord = math.hypot(dr, dz)
    if abs(sagitta) < 1e-9 * chord:
        return straight(start, stop)
    radius = (0.25 * chord**2 + sagitta**2) / (2 * abs(sagitta))
    side = math.copysign(1.0, sagitta)
    left = (-dz / chord, dr / chord)
    away = side * (radius - abs(sagitta))
    middle = (start[0] + 0.5 * dr - away * left[0], start[1] + 0.5 * dz - away * left[1])
    half = 2 * math.atan2(2 * abs(sagitta), chord)
    heading = math.atan2(side * left[1], side * left[0])
    arc = Arc(
        r=middle[0], z=middle[1], along_r=radius, along_z=radius, start=heading + side * half, stop=heading - side * half
    )  # fmt: skip
    return arc.at
