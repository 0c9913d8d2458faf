"""Steels known by a fitted formula, as tables: the fit up to where it holds, then the approach to saturation."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from halfroll.materials.steel import MU_0

SATURATION_T = 2.15
"""Saturation polarisation of low-carbon steel (T), pure iron 2.158 T; handbook value, from memory."""

LATEST_JOIN_T = 2.0
"""Above this the fits drive the permeability to that of vacuum too fast."""

HIGHEST_A_M = 1e6
"""Where the table ends: the polarisation then lacks less than 0.3 % of saturation."""


@dataclass(frozen=True, kw_only=True)
class RoschkeFit:
    """mu_r = 1 + (mu_i - 1 + c_a x)/(1 + c_b x + x^n) with x = |B|/b_my_max_t.

    The form is Roschke's (published; named after its author in the literature on rotating machines).
    """

    mu_i: float
    b_my_max_t: float
    c_a: float
    c_b: float
    n: float

    def mu_r(self, b_t: float) -> float:
        """Relative permeability at a flux density (T)."""
        x = abs(b_t) / self.b_my_max_t
        return 1.0 + (self.mu_i - 1.0 + self.c_a * x) / (1.0 + self.c_b * x + math.pow(x, self.n))

    def h_a_m(self, b_t: float) -> float:
        """Field strength (A/m) at a flux density (T)."""
        return b_t / (MU_0 * self.mu_r(b_t))


def tabulate(fit: RoschkeFit) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Field strengths (A/m) and flux densities (T) of a fitted steel.

    The fit serves up to the flux density where its differential permeability meets that of the law of approach to
    saturation, J = Js (1 - a/H), drawn through the same point with Js = 2.15 T: there value and slope are continuous. That
    is at 1.85 to 2 T; where they do not meet below 2 T the law begins there. The law runs to 1 MA/m, the slope of vacuum after.
    """
    join = min(_crossing(lambda b: _slope(fit, b) - _law_slope(fit, b), 1.5, LATEST_JOIN_T), LATEST_JOIN_T)
    low = [0.0, 0.01, 0.02, 0.05] + [0.1 * n for n in range(1, 13)]
    steps = [1.2 + 0.05 * n for n in range(1, 17)]
    b = [value for value in (*low, *steps) if value < join - 0.02] + [join]
    h = [fit.h_a_m(value) if value else 0.0 for value in b]
    a = h[-1] * (1.0 - (join - MU_0 * h[-1]) / SATURATION_T)
    count = 12
    ratio = (HIGHEST_A_M / h[-1]) ** (1.0 / count)
    beyond = [h[-1] * ratio**n for n in range(1, count + 1)]
    h += beyond
    b += [MU_0 * value + SATURATION_T * (1.0 - a / value) for value in beyond]
    return tuple(round(value, 4) for value in h), tuple(round(value, 7) for value in b)


def _slope(fit: RoschkeFit, b_t: float, step: float = 1e-4) -> float:
    """dJ/dH of the fit (T m/A)."""
    h = fit.h_a_m(b_t + step) - fit.h_a_m(b_t - step)
    return (2.0 * step - MU_0 * h) / h


def _law_slope(fit: RoschkeFit, b_t: float) -> float:
    """dJ/dH (T m/A) of the law of approach through the fit's point, Js a/H²."""
    h = fit.h_a_m(b_t)
    return (SATURATION_T - (b_t - MU_0 * h)) / h


def _crossing(difference: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising difference becomes positive, by halving; `high` where it does not."""
    if difference(high) <= 0.0:
        return high
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if difference(middle) < 0.0 else (low, middle)
    return high
