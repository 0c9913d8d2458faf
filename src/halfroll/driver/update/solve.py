"""From a prediction and what was measured to what moved, how sure that is, and what the data cannot tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.update.causes import Linear, Sets, as_good, averaged, swaps, weigh
from halfroll.driver.update.estimate import Estimate, estimate
from halfroll.driver.update.misfit import UNLIKELY, misfit_of
from halfroll.driver.update.problem import Problem
from halfroll.driver.update.said import said
from halfroll.driver.update.shares import residuals
from halfroll.driver.update.telling import tell_apart
from halfroll.driver.update.types import Alike, Cause, Explanation, Observation, Update, value_at

ALIKE_CORRELATION = 0.9
"""Correlation beyond which two assumptions cannot be told apart (own choice)."""


def update(
    predicted: PredictedDriver,
    observations: Sequence[Observation],
    *,
    air: Air = STANDARD_AIR,
    coil_u: float = 0.0,
    progress: Progress = silent,
) -> Update:
    """What measurements say of the assumptions of a prediction.

    Parameters
    ----------
    predicted
        The driver worked out from its design; at least one assumption.
    observations
        What was measured, each with its uncertainty; those with `counted` False are only shown.
    coil_u
        Relative standard uncertainty (1) of the coil's inductances and eddy-current resistances beside that of the assumptions.

    Raises
    ------
    InputError
        Nothing is measured that the model can say, nothing is assumed, or a datum is not finite or has no uncertainty.
    CancelledError
        `progress` asked to stop.
    """
    if not predicted.assumptions:
        raise InputError("An update needs assumptions to move", found="a prediction that assumes nothing")
    progress(0.0, "comparing prediction and measurement")
    problem = Problem(predicted, observations, air, coil_u)
    progress(0.1, "looking for what explains the difference")
    found = estimate(problem)
    found = estimate(problem, start=found.z)  # with the slopes of the distortion where it leads
    misfit = misfit_of(problem, found)
    if misfit.probability < UNLIKELY:
        problem.widen(found.z, found.n)
        found = estimate(problem, start=found.z)
    linear = linear_at(problem, found)
    progress(0.6, "weighing small sets of causes")
    sets = weigh(linear)
    best, few = _refined(problem, sets)
    progress(0.8, "splitting the difference by cause")
    causes = _causes(problem, found, sets, best, few)
    explanation, *others = (
        _explanation(problem, sets, at, few.z if at == 0 else None) for at in (0, *as_good(sets))
    )
    scales = tuple(
        (name, float(found.n[at]), math.sqrt(found.covariance[problem.size + at, problem.size + at]))
        for at, name in enumerate(problem.scale_names)
    )
    answer = Update(
        predicted=predicted, causes=causes, covariance=found.covariance[: problem.count, : problem.count], scales=scales,
        explanation=explanation, others=tuple(others), alike=_alike(problem, found, linear, sets, best), misfit=replace(misfit, widened=tuple(problem.widened.items())),
        model=problem.model(few.z), residuals=residuals(problem, few.z, few.n, np.array(best, dtype=int)),
    )  # fmt: skip
    return said(answer, problem)


def linear_at(problem: Problem, found: Estimate) -> Linear:
    """The problem linear around the most probable point, with the assumptions as its unknowns and all else as scales."""
    slopes = found.jacobian[problem.rows]
    missing = problem.data - problem.expected(found.z) + slopes @ found.z
    beside = np.hstack([problem.scales, slopes[:, problem.count :]])
    return Linear.of(slopes[:, : problem.count], missing, problem.u, beside)


def _refined(problem: Problem, sets: Sets) -> tuple[tuple[int, ...], Estimate]:
    """The most probable set and its most probable point without the linearisation."""
    best = sets.members[0]
    free, start = np.zeros(problem.size, dtype=bool), np.zeros(problem.size)
    free[list(best)] = True
    free[problem.count :] = True
    start[list(best)] = sets.means[0]
    return best, estimate(problem, free, start)


def _causes(
    problem: Problem, found: Estimate, sets: Sets, best: tuple[int, ...], few: Estimate
) -> tuple[Cause, ...]:
    mean, spread, probability = averaged(sets, problem.count)
    mean[list(best)] += few.z[list(best)] - sets.means[0]
    own = np.sqrt(np.diag(found.covariance)[: problem.count])
    causes = []
    for at, one in enumerate(problem.predicted.assumptions):
        moved = at in best
        z, u = (mean[at], spread[at]) if moved else (found.z[at], own[at])
        value = value_at(one, z)
        slope = one.u / one.value * value if one.by_ratio and one.value > 0.0 else one.u
        causes.append(Cause(
            assumption=one, z=float(found.z[at]), u=float(own[at]), z_few=float(mean[at]), u_few=float(spread[at]),
            probability=float(probability[at]), moved=moved, value=value, value_u=float(abs(slope) * u),
        ))  # fmt: skip
    return tuple(
        sorted(
            causes, key=lambda one: (not one.moved, -abs(one.z_few) if one.moved else -one.probability, one.u)
        )
    )


def _explanation(problem: Problem, sets: Sets, at: int, z: FloatArray | None) -> Explanation:
    members = list(sets.members[at])
    mean = sets.means[at] if z is None else z[members]
    return Explanation(
        keys=tuple(problem.predicted.assumptions[i].key for i in members),
        z=tuple(float(value) for value in mean),
        u=tuple(float(u) for u in np.sqrt(np.diag(sets.covariances[at]))),
        odds=float(np.exp(min(sets.evidence[at] - sets.evidence[0], 50.0))),
        probability=float(sets.probability[at]),
    )


def _alike(
    problem: Problem, found: Estimate, linear: Linear, sets: Sets, best: tuple[int, ...]
) -> tuple[Alike, ...]:
    """Swaps the evidence allows, and members of the explanation that go hand in hand with another assumption."""
    spread = np.sqrt(np.diag(found.covariance)[: problem.count])
    correlation = found.covariance[: problem.count, : problem.count] / np.outer(spread, spread)
    pairs = {(first, second): odds for first, second, odds in swaps(sets, best, problem.count)}
    for first in best:
        for second in range(problem.count):
            if second != first and abs(correlation[first, second]) > ALIKE_CORRELATION:
                pairs.setdefault((first, second), 0.0)
    keys = [one.key for one in problem.predicted.assumptions]
    answer = []
    for (first, second), odds in pairs.items():
        if second in best and second < first:
            continue
        other = tuple(sorted({*best, second} - {first}))
        telling = tell_apart(problem, linear, found.z, best, other)
        answer.append(Alike(
            first=keys[first], second=keys[second], odds=odds, correlation=float(correlation[first, second]), telling=telling,
        ))  # fmt: skip
    return tuple(sorted(answer, key=lambda one: -one.odds))
