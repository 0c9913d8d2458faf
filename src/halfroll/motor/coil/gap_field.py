"""Force factor of a winding that is only a rectangle yet: from a field along a line, or from a gap alone.

Bl = 2 π N times the mean of r B_r over the winding's cross-section (common textbook result, F = ∫ i dl × B).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.motor.types import Gap

BlOf = Callable[[float, float, float, float, float], float]
"""(r_inner, r_outer, z_low, z_high in m, turns) -> Bl in T m."""


@dataclass(frozen=True, kw_only=True, eq=False)
class FieldLine:
    """Radial flux density (T) along the axis at one radius: `z_m` rising, `b_t`, both (n,); zero beyond the ends.

    Across the gap r B_r is taken as constant, as where all flux crosses it; a wide winding in a fringe field is some per cent off.
    """

    z_m: FloatArray
    b_t: FloatArray
    r_m: float

    def __post_init__(self) -> None:
        z, b = np.asarray(self.z_m), np.asarray(self.b_t)
        if (
            z.ndim != 1
            or z.size < 2
            or z.shape != b.shape
            or not bool(np.all(np.diff(z) > 0.0))
            or not bool(np.isfinite(b).all())
        ):
            raise InputError("A field along the axis needs rising heights with a flux density each", key="z_m", found=f"{z.size} heights, {b.size} values")  # fmt: skip

    def bl(self, r_inner: float, r_outer: float, z_low: float, z_high: float, turns: float) -> float:
        """Bl (T m) of a winding."""
        return 2.0 * math.pi * turns * self.r_m * self.mean_t(z_low, z_high)

    def mean_t(self, z_low: float, z_high: float) -> float:
        """Mean of the flux density between two heights (T), straight lines between the points."""
        z, b = np.asarray(self.z_m, dtype=np.float64), np.asarray(self.b_t, dtype=np.float64)
        low, high = max(z_low, float(z[0])), min(z_high, float(z[-1]))
        if high <= low:
            return 0.0
        inside = z[(z > low) & (z < high)]
        at = np.concatenate([[low], inside, [high]])
        return float(np.trapezoid(np.interp(at, z, b), at) / (z_high - z_low))


def in_gap_only(gap: Gap, b_t: float = 1.0) -> BlOf:
    """Bl from turns between the gap's ends alone, in a uniform field `b_t` at its mean radius and none outside: before a field
    was solved. Without a value it is Bl per tesla, good for a rank.
    """
    middle = 0.5 * (gap.r_inner + gap.r_outer)

    def bl(r_inner: float, r_outer: float, z_low: float, z_high: float, turns: float) -> float:
        inside = max(min(z_high, gap.z_high) - max(z_low, gap.z_low), 0.0)
        return 2.0 * math.pi * middle * b_t * turns * inside / (z_high - z_low)

    return bl
