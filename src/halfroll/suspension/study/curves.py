"""Stiffness curves, and what is read off them: Kms(x), asymmetry, where stiffness stays near its value at rest.

The restoring force is F = Kms(x) x, so Kms(x) = F / x and its limit at rest is dF/dx (IEC 62458, from memory). The limit of compliance
at 75 % of its value at rest is that standard's and AES2's (from memory) for about 10 % of distortion.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.equilibrium import State
from halfroll.suspension.results import StiffnessCurve, TravelRange

LEAST_COMPLIANCE = 0.75
"""Cms(x) / Cms(0) down to which a displacement counts as usable."""

POINTS = 81
"""Of a stiffness curve, as many on each side of rest."""


def curve_of(states: Sequence[State], u_relative: float = 0.0, points: int = POINTS) -> StiffnessCurve:
    """The cubic that has the states' forces and exact slopes, at `points` (odd) displacements, rest in the middle.

    `states` rise in x and contain rest.
    """
    from scipy.interpolate import CubicHermiteSpline

    x, force, slope = columns(states)
    cubic = CubicHermiteSpline(x, force, slope)
    half = points // 2
    at = np.concatenate([np.linspace(x[0], 0.0, half + 1), np.linspace(0.0, x[-1], half + 1)[1:]])
    at_force, at_slope = np.asarray(cubic(at)), np.asarray(cubic(at, 1))
    return StiffnessCurve(
        x_m=at, force_n=at_force, tangent_n_per_m=at_slope, u_relative=u_relative,
        kms_n_per_m=np.divide(at_force, at, out=at_slope.copy(), where=at != 0),
    )  # fmt: skip


def columns(states: Sequence[State]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Displacement, force and slope of states."""
    table = np.array([[one.x_m, one.force_n, one.stiffness_n_per_m] for one in states])
    return table[:, 0], table[:, 1], table[:, 2]


def interpolation_errors(states: Sequence[State], energy_j: FloatArray) -> FloatArray:
    """By how much the cubic between neighbouring states may miss the force (N), (states - 1,).

    The elastic energy grows by exactly the integral of the force, so what the cubic's integral misses is its mean error. The error of a
    cubic through values and slopes is h⁴ F⁗ / 384 at most and h⁴ F⁗ / 720 in the mean.
    """
    x, force, slope = columns(states)
    h = np.diff(x)
    integral = h * (force[1:] + force[:-1]) / 2 - h**2 * np.diff(slope) / 12
    return np.asarray(720 / 384 * np.abs(np.diff(energy_j) - integral) / h)


def asymmetry_of(curve: StiffnessCurve) -> float:
    """(K(X) - K(-X)) / (K(X) + K(-X)) of Kms at the largest X reached on both sides; 0 for a curve with one side only."""
    reach = min(-float(curve.x_m[0]), float(curve.x_m[-1]))
    if reach <= 0:
        return 0.0
    low, high = np.interp([-reach, reach], curve.x_m, curve.kms_n_per_m)
    return float((high - low) / (high + low))


def limit_range(curve: StiffnessCurve) -> TravelRange:
    """Displacements around rest between which Kms(0) / Kms(x) is at least 75 %."""
    middle = len(curve.x_m) // 2
    high, full_high = _first_leaving(curve.x_m[middle:], curve.kms_n_per_m[middle:])
    low, full_low = _first_leaving(curve.x_m[middle::-1], curve.kms_n_per_m[middle::-1])
    return TravelRange(low_m=low, high_m=high, full_low=full_low, full_high=full_high)


def _first_leaving(x: FloatArray, kms: FloatArray) -> tuple[float, bool]:
    bound = kms[0] / LEAST_COMPLIANCE
    outside = np.flatnonzero(kms > bound)
    if len(outside) == 0:
        return float(x[-1]), True
    at = int(outside[0])
    share = (bound - kms[at - 1]) / (kms[at] - kms[at - 1])
    return float(x[at - 1] + share * (x[at] - x[at - 1])), False
