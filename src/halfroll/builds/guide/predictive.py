"""Where the reading of one more good unit lies, from a prediction and from the units that were measured.

The version's mean μ has the prior N(m₀, τ²): the prediction, and what of its doubt all units share. A unit's true value is N(μ, ω²). The
spread ω² is drawn from a scaled inverse χ² with ν₀ degrees of freedom about the predicted spread ω₀², and a unit's reading yᵢ is
N(its true value, sᵢ²). For every ω the mean is normal in closed form; ω itself is summed over a grid. Gelman et al., "Bayesian Data Analysis", 3rd ed. 2013,
2.5, 2.6 and 5.4 (from memory). The interval is a prediction interval for one new unit (G. J. Hahn and W. Q. Meeker, "Statistical Intervals",
1991): with no prior and exact readings it is the mean ± t(n-1) s √(1 + 1/n).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

SPREAD_DOF = 4.0
"""Degrees of freedom the predicted spread is worth: as much as five measured units would tell of it (own choice)."""

COVERAGE = 0.95

OFF = 3.0
"""Standard uncertainties beyond which units and prediction contradict each other, and the units go alone (own choice): a prior that is
wrong would otherwise be paid for with a spread that is none.
"""

_STEPS = 160
_CLOSER, _NOTHING = (
    4,
    25.0,
)  # how often the grid is drawn closer, to where the probability is above e^-25 of its highest
_HALF_68 = 0.5 * math.erfc(1.0 / math.sqrt(2.0))  # below minus one standard deviation
_TINY = 1e-12


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is known before any unit is measured: the middle, None where only units tell it, the standard uncertainty of it that all units
    share, the standard deviation of units, and by how many degrees of freedom that is known (0: not at all).
    """

    middle: float | None = None
    u_shared: float = math.inf
    u_unit: float = 0.0
    dof: float = SPREAD_DOF


@dataclass(frozen=True, kw_only=True)
class Predictive:
    """The middle, what is not known of it (half its central 68 %), the spread of units (median), and the 95 % interval for one more unit.

    `off` is how far the mean of the units lies from the prediction in standard uncertainties of the difference; None without both. Beyond
    `OFF` the prediction's middle was left out.
    """

    middle: float
    u_shared: float
    u_unit: float
    low: float
    high: float
    off: float | None = None


def predictive(prior: Prior, values: Sequence[float] = (), u: Sequence[float] = ()) -> Predictive:
    """The prediction interval for the true value of one new unit.

    Parameters
    ----------
    prior
        Before any unit.
    values, u
        Readings of the measured units and their standard uncertainties, (n,) each.

    Raises
    ------
    InputError
        Neither a prior nor units tell the middle, or nothing tells the spread; says what is needed.
    """
    y, s = np.asarray(values, dtype=np.float64), np.asarray(u, dtype=np.float64)
    _check(prior, y)
    alone = replace(prior, middle=None)
    off = None
    if prior.middle is not None and len(y):
        units = _summed(alone, y, s)
        off = (units.middle - prior.middle) / math.hypot(units.u_shared, prior.u_shared)
        if abs(off) > OFF:
            return replace(units, off=off)
    return replace(_summed(prior, y, s), off=off)


def _summed(prior: Prior, y: FloatArray, s: FloatArray) -> Predictive:
    """The mixture over all spreads, as numbers."""
    spread = _grid(prior, y)
    for _ in range(_CLOSER):
        _, _, evidence = _means(prior, y, s, spread)
        counts = np.flatnonzero(evidence > evidence.max() - _NOTHING)
        first, last = max(counts[0] - 1, 0), min(counts[-1] + 1, len(spread) - 1)
        spread = np.geomspace(spread[first], spread[last], _STEPS)
    mean, variance, evidence = _means(prior, y, s, spread)
    weight = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    new = np.sqrt(variance + spread**2)
    low, high = (_quantile(p, mean, new, weight) for p in (0.5 * (1.0 - COVERAGE), 0.5 * (1.0 + COVERAGE)))
    own = np.sqrt(np.maximum(variance, (_TINY * spread) ** 2))
    ends = [_quantile(p, mean, own, weight) for p in (_HALF_68, 1.0 - _HALF_68)]
    return Predictive(
        middle=float(weight @ mean),
        u_shared=0.5 * (ends[1] - ends[0]),
        u_unit=_median(spread, weight),
        low=low,
        high=high,
    )


def _check(prior: Prior, y: FloatArray) -> None:
    if not np.isfinite(y).all():
        raise InputError("Readings of units must be finite", found=str(y))
    if prior.middle is None and not len(y):
        raise InputError("A band needs a prediction or a measured unit", found="neither")
    known = prior.dof > 0.0 and prior.u_unit > 0.0
    if not known and (len(y) < 2 or np.ptp(y) == 0.0):
        raise InputError(
            "The spread of units needs two different units or a prediction of it", found=f"{len(y)} units"
        )


def _grid(prior: Prior, y: FloatArray) -> FloatArray:
    """Spreads to sum over, evenly in their logarithm, as wide as prior and units leave them."""
    sizes = [prior.u_unit] if prior.u_unit > 0.0 and prior.dof > 0.0 else []
    if len(y) > 1 and np.ptp(y) > 0.0:
        sizes.append(float(np.std(y, ddof=1)))
    dof = (prior.dof if prior.u_unit > 0.0 else 0.0) + max(len(y) - 1, 0)
    reach = math.exp(min(12.0, 4.0 + 8.0 / dof))
    return np.geomspace(min(sizes) / math.exp(4.0), max(sizes) * reach, _STEPS)


def _means(
    prior: Prior, y: FloatArray, s: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """For every spread the mean of μ, its variance, and the logarithm of the spread's probability (per logarithm of it)."""
    each = spread[:, None] ** 2 + s[None, :] ** 2 if len(y) else np.ones((len(spread), 0))
    precision = (1.0 / each).sum(axis=1)
    weighted = (y / each).sum(axis=1) if len(y) else np.zeros(len(spread))
    shared = prior.u_shared if prior.middle is not None else math.inf
    known = 0.0 if math.isinf(shared) else 1.0 / max(shared**2, _TINY * prior.u_unit**2 + 1e-300)
    middle = prior.middle or 0.0
    total = precision + known
    mean = (weighted + known * middle) / total
    evidence = -0.5 * np.log(each).sum(axis=1) - 0.5 * np.log(total)
    evidence -= 0.5 * (((y - mean[:, None]) ** 2 / each).sum(axis=1) + known * (mean - middle) ** 2)
    if prior.dof > 0.0 and prior.u_unit > 0.0:
        evidence -= prior.dof * (np.log(spread) + 0.5 * (prior.u_unit / spread) ** 2)
    return mean, 1.0 / total, evidence


def _quantile(p: float, mean: FloatArray, sd: FloatArray, weight: FloatArray) -> float:
    """The p-quantile of a mixture of normals."""
    from scipy.optimize import brentq
    from scipy.special import ndtr

    middle, wide = float(weight @ mean), float(np.max(sd))
    reach = 10.0 * wide + float(np.ptp(mean))
    return float(
        brentq(
            lambda x: float(weight @ ndtr((x - mean) / sd)) - p,
            middle - reach,
            middle + reach,
            xtol=1e-10 * max(wide, _TINY),
        )
    )


def _median(spread: FloatArray, weight: FloatArray) -> float:
    return float(np.exp(np.interp(0.5, np.cumsum(weight) - 0.5 * weight, np.log(spread))))
