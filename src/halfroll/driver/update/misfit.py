"""Whether anything is left that no assumption explains, and where.

With model, priors and uncertainties right, the least sum of squares of data and priors together is chi-squared distributed with as many
degrees of freedom as there are data (Tarantola 2005, ch. 3: observed data minus predicted have the covariance of both).
"""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.update.estimate import Estimate
from halfroll.driver.update.problem import Problem
from halfroll.driver.update.types import Misfit

UNLIKELY = 0.01
"""A misfit less probable than this is said (own choice)."""

UNLIKELY_STRETCH = 0.001
LARGE = 2.0
"""Residual in standard uncertainties from which a point belongs to such a stretch."""
OCTAVE = 2.0


def misfit_of(problem: Problem, found: Estimate) -> Misfit:
    """Chi-squared at the most probable point, and the stretches where the residual is too large to be chance."""
    from scipy.special import chdtrc

    points = len(problem.data)
    probability = float(chdtrc(points, found.least))
    return Misfit(
        chi_squared=found.least,
        points=points,
        probability=probability,
        stretches=_stretches(problem, found) if probability < UNLIKELY else (),
    )


def _stretches(problem: Problem, found: Estimate) -> tuple[tuple[str, float, float, float], ...]:
    """Octaves of every observation where the squares sum to more than chance gives, neighbours joined."""
    left = (problem.everything(found.z) + problem.all_scales @ found.n - problem.all_data) / problem.all_u
    stretches = []
    at = 0
    for one in problem.observations:
        rows = 2 * len(one.values) if one.kind == "impedance" else len(one.values)
        squares = np.where(problem.rows[at : at + rows], left[at : at + rows] ** 2, 0.0)
        counted = problem.rows[at : at + rows].astype(float)
        at += rows
        if not one.counted or not one.values.size:
            continue
        if one.kind == "impedance":
            squares, counted = (part.reshape(2, -1).sum(axis=0) for part in (squares, counted))
        if one.frequency_hz.size:
            stretches += [(one.label, *found_) for found_ in _along(one.frequency_hz, squares, counted)]
        elif _unlikely(float(squares.sum()), float(counted.sum())):
            stretches.append((one.label, np.nan, np.nan, float(np.sqrt(squares.sum() / counted.sum()))))
    return tuple(sorted(stretches, key=lambda one: -one[3]))


def _along(
    frequency_hz: FloatArray, squares: FloatArray, counted: FloatArray
) -> list[tuple[float, float, float]]:
    bad = np.zeros(len(frequency_hz), dtype=bool)
    for low in frequency_hz:
        inside = (frequency_hz >= low) & (frequency_hz <= low * OCTAVE)
        if _unlikely(float(squares[inside].sum()), float(counted[inside].sum())):
            bad |= inside & (squares > LARGE**2 * counted)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bad, [False]]).astype(int)))
    runs = [(int(start), int(stop)) for start, stop in zip(edges[::2], edges[1::2], strict=True)]
    joined: list[tuple[int, int]] = []
    for start, stop in runs:
        if joined and frequency_hz[start] <= frequency_hz[joined[-1][1] - 1] * OCTAVE:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((start, stop))
    return [
        (
            float(frequency_hz[start]),
            float(frequency_hz[stop - 1]),
            float(np.sqrt(squares[start:stop].sum() / max(counted[start:stop].sum(), 1.0))),
        )
        for start, stop in joined
    ]


def _unlikely(squares: float, points: float) -> bool:
    from scipy.special import chdtrc

    return points > 0.0 and float(chdtrc(points, squares)) < UNLIKELY_STRETCH
