"""How steel answers a small alternating field on top of a large constant one, and how deep that field goes.

A small change of the field strength changes the flux density by more across the constant field than along it: the
differential reluctivity is a tensor with one value along B and one across. Two laws are offered:

``tangent``
    along dH/dB, the slope of the magnetisation curve; across H/B. It is what a slow, growing field follows.
``reversible``
    A small alternating field runs on small loops that are flatter than the curve. Its permeability depends, as R. Gans found
    (Phys. Z. 12, 1053, 1911), on the magnetisation M alone; W. F. Brown (Phys. Rev. 54, 279, 1938) derived

        chi_along / chi_0 = 3 (1/y² - 1/sinh² y),   chi_across / chi_0 = 3 L(y)/y,   M/Ms = L(y) = coth y - 1/y

    with chi_0 the initial susceptibility, the first slope of the magnetisation curve. (Formulas from memory.)
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.steel import MU_0, curve
from halfroll.materials.types import Steel

Permeability = Literal["tangent", "reversible"]

_LARGEST_Y = 1e4
_SERIES_BELOW = 0.05
"""Below this y the closed forms lose digits; their series are good to 1e-8 there."""


@dataclass(frozen=True, eq=False)
class Differential:
    """Differential reluctivity (m/H) `along` and `across` the constant field over its flux density `b_t` (T), all (n,)."""

    b_t: FloatArray
    along: FloatArray
    across: FloatArray

    @property
    def largest_permeability(self) -> float:
        """The largest permeability a small field can meet (H/m)."""
        return 1.0 / float(min(self.along.min(), self.across.min()))


@functools.lru_cache(maxsize=64)
def differential(steel: Steel, permeability: Permeability = "tangent") -> Differential:
    """The differential reluctivity of a steel by one of the two laws."""
    return _tangent(steel) if permeability == "tangent" else _reversible(steel)


def skin_depth(frequency_hz: float, conductivity_s_m: float, permeability: float) -> float:
    """Depth (m) at which a field in a conductor has fallen to 1/e: sqrt(1/(pi f sigma mu)).

    Copper at 20 kHz:

    >>> round(1e3 * skin_depth(20e3, 58e6, MU_0), 3)
    0.467
    """
    return 1.0 / math.sqrt(math.pi * frequency_hz * conductivity_s_m * permeability)


def _tangent(steel: Steel) -> Differential:
    from scipy.interpolate import PchipInterpolator

    law = curve(steel)
    slope = np.asarray(PchipInterpolator(law.b_t, law.h_a_m).derivative()(law.b_t))
    secant = np.concatenate([slope[:1], law.h_a_m[1:] / law.b_t[1:]])
    return Differential(law.b_t, slope, secant)


def _reversible(steel: Steel) -> Differential:
    law = curve(steel)
    magnetisation = law.b_t / MU_0 - law.h_a_m
    initial = float(law.b_t[1] / (MU_0 * law.h_a_m[1])) - 1.0
    along, across = reversible_shares(magnetisation / magnetisation.max())
    return Differential(
        law.b_t, 1.0 / (MU_0 * (1.0 + initial * along)), 1.0 / (MU_0 * (1.0 + initial * across))
    )


def reversible_shares(magnetisation: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Reversible over initial susceptibility along and across, for magnetisations M/Ms from 0 to 1, (n,) each."""
    y = _inverse_langevin(np.clip(np.asarray(magnetisation, dtype=float), 0.0, 1.0))
    safe = np.clip(y, _SERIES_BELOW, 300.0)
    along = np.where(
        y < 300.0, 3.0 * (1.0 / safe**2 - 1.0 / np.sinh(safe) ** 2), 3.0 / np.maximum(y, 1.0) ** 2
    )
    across = 3.0 * _langevin(np.maximum(y, _SERIES_BELOW)) / np.maximum(y, _SERIES_BELOW)
    small = y < _SERIES_BELOW
    return np.where(small, 1.0 - y**2 / 5.0, along), np.where(small, 1.0 - y**2 / 15.0, across)


def _langevin(y: FloatArray) -> FloatArray:
    return np.asarray(1.0 / np.tanh(y) - 1.0 / y)


def _inverse_langevin(share: FloatArray) -> FloatArray:
    """The y of L(y) = share, by bisection in the logarithm of y; 3 share where it is small."""
    low, high = np.full_like(share, math.log(_SERIES_BELOW)), np.full_like(share, math.log(_LARGEST_Y))
    for _ in range(60):
        middle = 0.5 * (low + high)
        above = _langevin(np.exp(middle)) > share
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.where(share < _SERIES_BELOW / 3.0, 3.0 * share, np.exp(0.5 * (low + high)))
