"""A prediction for one driver of which some things were read: its assumptions given the readings.

The assumptions z are N(0, 1) each; readings y = H z + e, e N(0, R), in natural logarithms. Given y they are normal with mean
K y, K = Hᵀ(H Hᵀ + R)⁻¹, and covariance P = 1 - K H (A. Tarantola, "Inverse Problem Theory", SIAM 2005, 3.2.3; Gelman et al., "Bayesian Data
Analysis", 3rd ed. 2013, app. A).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.predicted.worked import values_of, worked
from halfroll.driver.update.types import value_at


@dataclass(frozen=True, kw_only=True, eq=False)
class LinearReading:
    """Something read of one driver: the natural logarithm of reading over prediction, its standard uncertainty, and the change of what is
    read per standard uncertainty of each assumption, (a,).
    """

    key: str
    log_ratio: float
    u: float
    slopes: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Conditioned:
    """What is left of a prediction once something was read.

    Parameters
    ----------
    driver
        The prediction with its assumptions moved. They are no longer independent of each other: its slopes are those of independent
        combinations of them (the symmetric square root of their covariance), so that everything made of all of them together has its right
        uncertainty; the uncertainty beside each assumption is its own.
    z, covariance
        Assumptions in their former standard uncertainties, (a,), (a, a).
    gain
        Of each reading on each assumption, (a, n).
    expected_u
        Standard uncertainty of each reading as it was expected, its own among it, (n,).
    chi_squared
        Of the readings against the prediction, with n degrees of freedom.
    """

    driver: PredictedDriver
    z: FloatArray
    covariance: FloatArray
    gain: FloatArray
    expected_u: FloatArray
    chi_squared: float


def conditioned(predicted: PredictedDriver, readings: Sequence[LinearReading]) -> Conditioned:
    """The prediction given readings; at least one reading and one assumption."""
    slopes = np.array([one.slopes for one in readings], dtype=np.float64)
    y = np.array([one.log_ratio for one in readings])
    total = slopes @ slopes.T + np.diag([one.u**2 for one in readings])
    gain: FloatArray = np.asarray(np.linalg.solve(total, slopes).T, dtype=np.float64)
    z = gain @ y
    covariance = np.eye(slopes.shape[1]) - gain @ slopes
    return Conditioned(
        driver=_moved(predicted, z, 0.5 * (covariance + covariance.T)), z=z, covariance=covariance, gain=gain,
        expected_u=np.sqrt(np.diag(total)), chi_squared=float(y @ np.linalg.solve(total, y)),
    )  # fmt: skip


def _moved(predicted: PredictedDriver, z: FloatArray, covariance: FloatArray) -> PredictedDriver:
    model = unpack(pack(predicted.model) + z @ predicted.slopes, predicted.model)
    values, vectors = np.linalg.eigh(covariance)
    root = (vectors * np.sqrt(np.clip(values, 0.0, None))) @ vectors.T
    slopes = root @ predicted.slopes
    assumptions = []
    for at, one in enumerate(predicted.assumptions):
        value = value_at(one, float(z[at]))
        size = one.u / one.value * value if one.by_ratio and one.value > 0.0 else one.u
        assumptions.append(
            replace(one, value=value, u=float(abs(size) * math.sqrt(max(covariance[at, at], 0.0))))
        )
    where = {one.key: one.where for one in predicted.values}
    return replace(
        predicted,
        model=model,
        assumptions=tuple(assumptions),
        slopes=slopes,
        values=worked(model, assumptions, slopes, where),
    )


def moves(predicted: PredictedDriver, found: Conditioned, n: int, log_ratio: float) -> dict[str, float]:
    """By how much reading number n, so far from what was expected, moved each value, to first order (unit of the value)."""
    step = 0.1
    by = log_ratio * found.gain[:, n] @ predicted.slopes
    base = pack(predicted.model)
    low, high = (values_of(unpack(base + sign * step * by, predicted.model)) for sign in (-1.0, 1.0))
    return {key: (high[key] - low[key]) / (2.0 * step) for key in low}
