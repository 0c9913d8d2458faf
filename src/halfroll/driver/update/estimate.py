"""Bayesian least squares: the most probable assumptions when every one may move, and how sure that is.

Minimised is |(d - f(z) - S n)/u|² + |z|² + |n|² over the assumptions z and the scales n of the measurement, all with a normal prior of mean
0 and standard deviation 1; the covariance is (JᵀJ)⁻¹ at the minimum. A. Tarantola, "Inverse Problem Theory and Methods for Model
Parameter Estimation", SIAM 2005, ch. 3.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.driver.update.problem import FAR_OFF, Problem

MOST_STEPS = 30


@dataclass(frozen=True, kw_only=True, eq=False)
class Estimate:
    """Unknowns z (s,) and scales n (k,) at the most probable point, their covariance (s + k, s + k), the slopes of all rows there
    (all rows, s), and the least sum of squares.
    """

    z: FloatArray
    n: FloatArray
    covariance: FloatArray
    jacobian: FloatArray
    least: float


def estimate(
    problem: Problem, free: NDArray[np.bool_] | None = None, start: FloatArray | None = None
) -> Estimate:
    """The most probable point with the unknowns `free` (s,) allowed to move (None: all), from `start` (s,).

    Without a start it begins where a linear update on the single values that were measured (resonance, Q, masses) leads, because a narrow
    impedance peak far from where it was expected pulls at nothing.
    """
    from scipy.optimize import least_squares

    chosen = np.arange(problem.size) if free is None else np.flatnonzero(free)
    count = len(chosen)
    first: FloatArray = _start(problem, chosen) if start is None else start[chosen]
    data, u, scales = problem.data, problem.u, problem.scales

    def whole(part: FloatArray) -> FloatArray:
        z = np.zeros(problem.size)
        z[chosen] = part
        return z

    def misfit(x: FloatArray) -> FloatArray:
        try:
            expected = problem.expected(whole(x[:count]))
        except InputError:  # no driver is like that: a step too far
            return np.concatenate([np.full(len(data), FAR_OFF), x])
        return np.concatenate([(expected + scales @ x[count:] - data) / u, x])

    def slopes(x: FloatArray) -> FloatArray:
        by_z = problem.jacobian(whole(x[:count]))[problem.rows][:, chosen]
        return np.concatenate([np.hstack([by_z, scales]) / u[:, None], np.eye(len(x))])

    at = np.concatenate([first, np.zeros(scales.shape[1])])
    found = least_squares(misfit, at, jac=slopes, method="trf", xtol=1e-6, ftol=1e-8, max_nfev=MOST_STEPS)
    z = whole(found.x[:count])
    jacobian = problem.jacobian(z, fresh=True)
    stacked = np.concatenate(
        [
            np.hstack([jacobian[problem.rows][:, chosen], scales]) / u[:, None],
            np.eye(len(found.x)),
        ]
    )
    inner = np.linalg.inv(stacked.T @ stacked)
    places = np.concatenate([chosen, problem.size + np.arange(scales.shape[1])]).astype(int)
    covariance = np.zeros((problem.size + scales.shape[1],) * 2)
    covariance[np.ix_(places, places)] = inner
    return Estimate(
        z=z, n=found.x[count:], covariance=covariance, jacobian=jacobian, least=float(2.0 * found.cost)
    )


def _start(problem: Problem, chosen: NDArray[np.intp]) -> FloatArray:
    """Linear-Gaussian update on the single values alone, counted or not; zeros when there are none or they lead nowhere."""
    single = np.concatenate(
        [
            np.full(2 * len(one.values) if one.kind == "impedance" else len(one.values), one.kind == "value")
            for one in problem.observations
        ]
    )
    zero = np.zeros(problem.size)
    if not single.any():
        return np.zeros(len(chosen))
    u = np.maximum(problem.all_u[single], 0.01)
    slopes = problem.jacobian(zero)[single][:, chosen] / u[:, None]
    missing = (problem.all_data - problem.all_expected)[single] / u
    z = np.linalg.solve(np.eye(len(chosen)) + slopes.T @ slopes, slopes.T @ missing)
    try:
        tried = zero.copy()
        tried[chosen] = z
        problem.model(tried)
    except InputError:
        return np.zeros(len(chosen))
    return np.asarray(z)
