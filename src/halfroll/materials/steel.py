"""The law of a soft magnetic steel: field strength from flux density, its integral and its slope.

Between the points of the table the curve is a monotone cubic (Fritsch and Carlson, SIAM J. Numer. Anal. 17, 238, 1980,
as SciPy's PCHIP); above the last point it rises with the slope of vacuum, as full saturation does.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.types import Steel

MU_0 = 4e-7 * math.pi
"""Magnetic constant (H/m), as before the revision of the SI of 2019; today's value differs by less than 1e-9."""

_HIGHEST_T = 20.0
_POINTS_A_SPAN = 6


@dataclass(frozen=True, eq=False)
class Curve:
    """H(B) of a steel as a fine table of straight pieces: `b_t` (n,) and `h_a_m` (n,), from 0 to far above saturation.

    Six pieces to each of the table's follow the monotone cubic closely; the force factor of the reference motors changes by
    less than 2e-5 when even the table itself is joined by straight lines.
    """

    b_t: FloatArray
    h_a_m: FloatArray
    table_end_t: float
    """Above this flux density the curve is an extrapolation (T)."""

    def h(self, b_t: FloatArray | float) -> FloatArray:
        """Field strength (A/m) at flux densities (T), odd in B."""
        b = np.asarray(b_t, dtype=float)
        return np.asarray(np.sign(b) * np.interp(np.abs(b), self.b_t, self.h_a_m))

    def b(self, h_a_m: FloatArray | float) -> FloatArray:
        """Flux density (T) at field strengths (A/m), odd in H."""
        h = np.asarray(h_a_m, dtype=float)
        return np.asarray(np.sign(h) * np.interp(np.abs(h), self.h_a_m, self.b_t))

    def slope(self, b_t: FloatArray | float) -> FloatArray:
        """dH/dB (m/H) at flux densities (T), even in B: that of the straight piece."""
        b = np.abs(np.asarray(b_t, dtype=float))
        slopes = np.diff(self.h_a_m) / np.diff(self.b_t)
        return np.asarray(slopes[np.clip(np.searchsorted(self.b_t, b, side="right") - 1, 0, len(slopes) - 1)])

    def energy(self, b_t: FloatArray | float) -> FloatArray:
        """Integral of H dB from 0 (J/m³), even in B."""
        b = np.abs(np.asarray(b_t, dtype=float))
        before = np.concatenate(
            [[0.0], np.cumsum(np.diff(self.b_t) * 0.5 * (self.h_a_m[1:] + self.h_a_m[:-1]))]
        )
        i = np.clip(np.searchsorted(self.b_t, b, side="right") - 1, 0, len(self.b_t) - 2)
        return np.asarray(before[i] + 0.5 * (b - self.b_t[i]) * (self.h_a_m[i] + self.h(b)))

    def mu_r(self, b_t: float) -> float:
        """Relative permeability B/(mu0 H); at B = 0 that of the first piece."""
        b = max(abs(b_t), float(self.b_t[1]) / 2)
        return b / (MU_0 * float(self.h(b)))


@functools.lru_cache(maxsize=64)
def curve(steel: Steel) -> Curve:
    """The curve of a steel's table."""
    from scipy.interpolate import PchipInterpolator

    b, h = np.asarray(steel.b_t, dtype=float), np.asarray(steel.h_a_m, dtype=float)
    parts = [np.linspace(low, high, _POINTS_A_SPAN, endpoint=False) for low, high in pairwise(b)]
    fine = np.concatenate([*parts, b[-1:]])
    rising = np.asarray(PchipInterpolator(b, h)(fine))
    end_h = rising[-1] + (_HIGHEST_T - b[-1]) / MU_0
    return Curve(np.append(fine, _HIGHEST_T), np.append(rising, end_h), float(b[-1]))
