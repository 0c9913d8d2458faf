"""Several calibrations of one plastic, and its starting value, put together.

Unknown are the logarithms of the modulus in one direction and of the across factor; each calibration is an observation of the first or
of both, the starting value and the starting factor are two more. Weighted least squares, weights 1/u² (JCGM 100; M. G. Cox, "The
evaluation of key comparison data", Metrologia 39, 589, 2002, for the chi-squared test). A starting value that the
calibrations contradict is left out; calibrations that contradict each other widen the result by the root of chi-squared over its degrees of freedom
(R. T. Birge, Phys. Rev. 40, 207, 1932).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import join_words
from halfroll.core.uncertainty import coverage_factor
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.calibrate.types import Creep, Estimate, interval
from halfroll.materials.types import Filament, LineDirection

DOUBT = 0.05
FAR = 4.0
"""Ratio to the starting value from which a slip is suspected (own choice)."""

FAST, SLOW = ("resonance", "ring", "update"), ("strip", "curve")


@dataclass(frozen=True, kw_only=True)
class Combined:
    """A filament with its calibrations in it, and how they agree.

    `weights` is the share of each estimate in the modulus, `start_weight` that of the starting value (0 when left out). `chance` that
    calibrations as far apart come about by chance; None with a single one. `widened` by what the uncertainty was multiplied.
    """

    filament: Filament
    weights: tuple[float, ...]
    start_weight: float
    chance: float | None
    widened: float
    verdicts: tuple[Verdict, ...]

    @property
    def interval_pa(self) -> tuple[float, float]:
        """95 % interval of the modulus (Pa)."""
        return interval(self.filament.modulus_pa, self.filament.modulus_u_pa / self.filament.modulus_pa)


def combine(start: Filament, estimates: Sequence[Estimate], creeps: Sequence[Creep] = ()) -> Combined:
    """The filament that starting value, calibrations of the modulus and readings of creep make together."""
    verdicts: list[Verdict] = []
    changed = _with_creep(_with_loss(start, estimates), creeps)
    if not estimates:
        return Combined(filament=changed, weights=(), start_weight=1.0, chance=None, widened=1.0, verdicts=())
    base = _base(estimates)
    alone = _solve(start, estimates, base, with_start=False)
    away = _from_start(start, base, alone)
    keep = abs(away) <= coverage_factor(math.inf)
    if not keep:
        verdicts.append(_left(start, alone, away))
    found = _solve(start, estimates, base, with_start=True) if keep else alone
    misfit, dof = found.misfit
    chance = _chance(misfit, dof) if dof > 0 else None
    widened = math.sqrt(misfit / dof) if chance is not None and chance < DOUBT and misfit > dof else 1.0
    if widened > 1.0:
        verdicts.append(_disagree(estimates, widened))
    (a, f), cov = found.x, found.covariance * widened**2
    modulus, factor = math.exp(a), math.exp(f)
    filament = replace(
        changed, modulus_pa=modulus, modulus_u_pa=modulus * math.sqrt(cov[0, 0]), modulus_lines=base,
        across_factor=factor, across_factor_u=factor * math.sqrt(cov[1, 1]),
        across_correlation=float(np.clip(cov[0, 1] / math.sqrt(cov[0, 0] * cov[1, 1]), -1.0, 1.0)) if cov[1, 1] > 0.0 else 0.0,
        calibrated=join_words(list(dict.fromkeys(one.method for one in estimates))),
    )  # fmt: skip
    return Combined(filament=filament, weights=found.shares[: len(estimates)], start_weight=found.shares[len(estimates)] if keep else 0.0,
                    chance=chance, widened=widened, verdicts=tuple(verdicts))  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Solved:
    x: FloatArray
    covariance: FloatArray
    shares: tuple[float, ...]
    misfit: tuple[float, int]


def _solve(
    start: Filament, estimates: Sequence[Estimate], base: LineDirection, *, with_start: bool
) -> _Solved:
    """Gauss-Newton for ln E in the direction `base` and ln f; the last row is the starting factor, before it the starting value."""
    f0, f0_u = start.across_factor, max(start.across_factor_u / start.across_factor, 1e-4)
    rows = [(one.lines, math.log(one.modulus_pa), _gaussian(one)) for one in estimates]
    if with_start:
        rows.append((start.modulus_lines, math.log(start.modulus_pa), start.modulus_u_pa / start.modulus_pa))
    y = np.array([*(row[1] for row in rows), math.log(f0)])
    x = np.array([rows[0][1], math.log(f0)])
    for _ in range(6):
        matrix, model, u = _linear(rows, base, x, f0_u)
        weight = matrix.T / u**2
        covariance = np.linalg.inv(weight @ matrix)
        gain = covariance @ weight
        x = x + gain @ (y - model)
    rest = (y - _linear(rows, base, x, f0_u)[1]) / u
    return _Solved(
        x, np.asarray(covariance, float), tuple(np.abs(gain[0]).tolist()), (float(rest @ rest), y.size - 2)
    )


def _linear(
    rows: Sequence[tuple[LineDirection, float, float]], base: LineDirection, x: FloatArray, f0_u: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sensitivities (n, 2), modelled values (n,) and standard uncertainties (n,) of all rows at x."""
    sensitivity, model, u = [], [], []
    g_base, d_base = _log_factor(base, x[1])
    for lines, _, own in rows:
        g, d = _log_factor(lines, x[1])
        sensitivity.append((1.0, d - d_base))
        model.append(x[0] + g - g_base)
        rule = (
            abs(1.0 - math.exp(x[1])) / (2.0 * math.sqrt(3.0))
            if "crossed" in (lines, base) and lines != base
            else 0.0
        )
        u.append(math.hypot(own, rule))
    return np.array([*sensitivity, (0.0, 1.0)]), np.array([*model, x[1]]), np.array([*u, f0_u])


def _log_factor(lines: LineDirection, log_f: float) -> tuple[float, float]:
    """Logarithm of a direction's modulus over that along the lines, and its derivative by ln f."""
    if lines == "along":
        return 0.0, 0.0
    if lines == "across":
        return log_f, 1.0
    f = math.exp(log_f)
    return math.log(0.5 * (1.0 + f)), f / (1.0 + f)


def _gaussian(one: Estimate) -> float:
    """The uncertainty a normal distribution must have to cover as much as Student's t."""
    return one.log_u * coverage_factor(one.dof) / coverage_factor(math.inf)


def _base(estimates: Sequence[Estimate]) -> LineDirection:
    """The direction most is known of."""
    known: dict[LineDirection, float] = {}
    for one in estimates:
        known[one.lines] = known.get(one.lines, 0.0) + 1.0 / _gaussian(one) ** 2
    return max(known, key=lambda lines: known[lines])


def _from_start(start: Filament, base: LineDirection, alone: _Solved) -> float:
    """By how many standard uncertainties the calibrations lie away from the starting value."""
    g, d = _log_factor(start.modulus_lines, alone.x[1])
    g_base, d_base = _log_factor(base, alone.x[1])
    rule = abs(1.0 - math.exp(alone.x[1])) / (2.0 * math.sqrt(3.0)) if start.modulus_lines != base else 0.0
    turn = np.array([1.0, d - d_base])
    variance = float(turn @ alone.covariance @ turn) + (start.modulus_u_pa / start.modulus_pa) ** 2 + rule**2
    return float(alone.x[0] + g - g_base - math.log(start.modulus_pa)) / math.sqrt(variance)


def _chance(misfit: float, dof: int) -> float:
    from scipy.special import chdtrc

    return float(chdtrc(dof, misfit))


def _left(start: Filament, alone: _Solved, away: float) -> Verdict:
    """A plastic that differs from its starting value; far from it, a slip of a unit is likelier."""
    ratio = math.exp(alone.x[0]) / start.modulus_pa
    far = not 1.0 / FAR < ratio < FAR
    return Verdict(
        code="starting-value-left", severity=Severity.CAUTION if far else Severity.NOTE,
        data={"ratio": ratio, "standard_uncertainties": away},
        text=f"Measured, this plastic has {ratio:.2g} times its starting modulus ({start.title}): the starting value is left out and the "
        "measurement stands alone.",
        remedy="So far off, look for a slip first: grams, millimetres, the filament it is like." if far else "",
    )  # fmt: skip


def _disagree(estimates: Sequence[Estimate], widened: float) -> Verdict:
    """Calibrations that contradict each other; fast ones above slow ones are said to be what plastics do."""
    fast = [one.modulus_pa for one in estimates if one.method in FAST]
    slow = [one.modulus_pa for one in estimates if one.method in SLOW]
    if fast and slow and np.mean(fast) > np.mean(slow):
        ratio = float(np.mean(fast) / np.mean(slow))
        text = (f"In fast motion the plastic is {ratio:.2g} times as stiff as in slow bending, as soft plastics are. One number stands for both, "
                f"so its interval is {widened:.1f} times wider.")  # fmt: skip
        remedy = "Leave the slow ones out for resonances, the fast ones for sag."
    else:
        text = f"The calibrations contradict each other by more than they are uncertain; the interval is {widened:.1f} times wider."
        remedy = "Look for the one that stands apart: thickness counts three times."
    return Verdict(
        code="calibrations-disagree",
        severity=Severity.CAUTION,
        text=text,
        remedy=remedy,
        data={"widened": widened},
    )


def _with_loss(start: Filament, estimates: Sequence[Estimate]) -> Filament:
    """With the loss factor measured, where any was."""
    known = [
        (one.loss_factor, one.loss_factor_u)
        for one in estimates
        if one.loss_factor is not None and one.loss_factor_u
    ]
    if not known:
        return start
    value, u = _weighted(known)
    return replace(start, loss_factor=value, loss_factor_u=u)


def _with_creep(start: Filament, creeps: Sequence[Creep]) -> Filament:
    if not creeps:
        return start
    value, u = _weighted(
        [(one.per_decade, max(one.per_decade_u, 0.05 * abs(one.per_decade), 1e-4)) for one in creeps]
    )
    return replace(start, creep_per_decade=max(value, 0.0), creep_per_decade_u=u)


def _weighted(known: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Weighted mean and its uncertainty, widened where the values contradict each other."""
    values, u = (np.array(column, float) for column in zip(*known, strict=True))
    weight = 1.0 / u**2
    mean = float(np.sum(weight * values) / weight.sum())
    dof = values.size - 1
    widened = math.sqrt(max(1.0, float(np.sum(weight * (values - mean) ** 2)) / dof)) if dof else 1.0
    return mean, widened / math.sqrt(float(weight.sum()))
