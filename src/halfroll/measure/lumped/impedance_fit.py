"""Least squares of an impedance model to a curve: what each point weighs, and how much the points say together.

A residual is complex and relative to the modulus. Its size is found from the residuals themselves: one part in proportion to
the modulus and one that grows with what is said about the noise (or with the modulus once more, which is what a noisy current
channel does), times what is usual within half an octave. So a coil that no model describes well at high frequency does not
spoil the resonance. Points further out than three and a half times their size lose weight and beyond six have none; the fit is repeated
until the weights stand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.lumped.impedance_model import Model

_FULL, _NONE = (
    3.5,
    6.0,
)  # residual over its size, below which a point counts fully and above which it does not count
_MOST_LOST = 0.15  # of the points may be given up
_ROUNDS = 12
_STRAY = 4.0  # logarithms of parameters a point in doubt may stray
_STANDS = 0.02  # change of weights below which they are said to stand
_SINGULAR, _NOTHING = 1e-12, 1e-12  # of the largest eigenvalue; of a parameter that changes nothing
_LEAST_NOISE = 1e-7  # relative; below it a computed curve is as good as exact
_SHARES = np.concatenate(
    [[0.0], 1.0 / (1.0 + np.geomspace(100.0, 0.01, 17)), [1.0]]
)  # of the second part of the noise
_NEAR = math.sqrt(2.0)  # ratio of frequencies within which the size of residuals is taken together
_NEAR_POINTS = 10  # at least as many on either side
_PRIOR_POINTS = 40.0  # how many points the size over the whole range counts against those nearby
_MOST_LOCAL = 200.0  # mean square over the usual one, above which a residual counts no more in the local size
_MISFIT = (
    0.5  # correlation of neighbouring residuals from which they show the model's misfit rather than noise
)
_WORTH_IT = 4.0  # gain in -2 ln(likelihood) that another share must bring


@dataclass(frozen=True)
class Points:
    """The points that are fitted; arrays of shape (n,), `u_ohm` None where the noise is not known."""

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    u_ohm: FloatArray | None
    phase_known: bool

    @cached_property
    def near(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """First and one behind the last of the points near each, (n,) each."""
        f, at = self.frequency_hz, np.arange(len(self.frequency_hz))
        first = np.minimum(np.searchsorted(f, f / _NEAR), at - _NEAR_POINTS)
        last = np.maximum(np.searchsorted(f, f * _NEAR, side="right"), at + _NEAR_POINTS + 1)
        return np.maximum(first, 0), np.minimum(last, len(f))

    @property
    def count(self) -> int:
        """Number of real values measured: two a point with phase, one without."""
        return len(self.frequency_hz) * self.dims

    @property
    def dims(self) -> int:
        """Real values a point has: two with phase, one without."""
        return 2 if self.phase_known else 1

    def residual(self, fitted: ComplexArray) -> ComplexArray:
        """(measured - fitted)/|fitted|, of the moduli where the phase is not known, shape (n,)."""
        size = np.abs(fitted)
        if self.phase_known:
            return np.asarray((self.impedance_ohm - fitted) / size)
        return np.asarray((np.abs(self.impedance_ohm) - size) / size + 0j)

    def stack(self, values: ComplexArray) -> FloatArray:
        """Complex (..., n) as real (..., n or 2n): real parts, then imaginary ones where they were measured."""
        return np.concatenate([values.real, values.imag], axis=-1) if self.phase_known else values.real


@dataclass(frozen=True)
class Solution:
    """A model fitted with given weights.

    Parameters
    ----------
    theta
        Shape (k,).
    fitted
        Impedance (ohm), shape (n,).
    sigma
        Size of the relative residual of each point, per real value, shape (n,).
    overall
        The same without what is usual nearby, shape (n,).
    weights
        0 to 1, shape (n,).
    normal
        JᵀWJ with residuals over `sigma`, shape (k, k).
    """

    model: Model
    theta: FloatArray
    fitted: ComplexArray
    sigma: FloatArray
    overall: FloatArray
    weights: FloatArray
    normal: FloatArray
    misfit: float
    """Sum of weighted squares of the residual over `sigma`."""

    def covariance(self) -> FloatArray:
        """Covariance (k, k) of theta for residuals of the size `sigma`; very large where the points do not tell."""
        scale = np.sqrt(np.maximum(np.diag(self.normal), _NOTHING))
        values, vectors = np.linalg.eigh(self.normal / np.outer(scale, scale))
        inverse = (vectors / np.maximum(values, _SINGULAR * values[-1])) @ vectors.T
        return np.asarray(inverse / np.outer(scale, scale))


class _Misfit:
    """Weighted residuals of a model at a theta, and their derivatives; what was worked out last is kept for the other."""

    def __init__(self, points: Points, model: Model, theta: FloatArray, factor: FloatArray) -> None:
        self._points, self._model, self._begin, self._factor = points, model, theta, factor
        self._size = np.abs(points.impedance_ohm)
        self._at = b""
        self._kept: tuple[ComplexArray, ComplexArray]

    def evaluate(self, at: FloatArray) -> tuple[ComplexArray, ComplexArray]:
        """Impedance and its derivatives."""
        if self._at != at.tobytes():
            self._at, self._kept = at.tobytes(), self._model.evaluate(self._points.frequency_hz, at)
        return self._kept

    def values(self, at: FloatArray) -> FloatArray:
        """Residuals, and behind them the tether, shape (m + k,)."""
        fitted, points = self.evaluate(at)[0], self._points
        off = fitted - points.impedance_ohm if points.phase_known else np.abs(fitted) - self._size + 0j
        return np.concatenate([points.stack(off * self._factor), (at - self._begin) / _STRAY])

    def slopes(self, at: FloatArray) -> FloatArray:
        """Derivatives, shape (m + k, k)."""
        fitted, columns = self.evaluate(at)
        if not self._points.phase_known:
            columns = np.asarray((columns * np.conj(fitted)).real / np.abs(fitted), dtype=np.complex128)
        return np.concatenate([self._points.stack(columns * self._factor).T, np.eye(len(at)) / _STRAY])


def solve(
    points: Points,
    model: Model,
    theta: FloatArray,
    sigma: FloatArray,
    weights: FloatArray,
    overall: FloatArray | None = None,
) -> Solution:
    """Least squares from `theta` on with sizes and weights held (Levenberg-Marquardt, derivatives in closed form).

    A weak tether keeps parameters that the points do not tell near where they were; what the points tell it moves by less than
    a hundredth of its uncertainty.
    """
    from scipy.optimize import leastsq  # a third faster here than least_squares, which calls the same MINPACK

    misfit = _Misfit(points, model, theta, np.sqrt(weights) / (sigma * np.abs(points.impedance_ohm)))
    found, *_ = leastsq(
        misfit.values,
        theta,
        Dfun=misfit.slopes,
        full_output=True,
        ftol=1e-9,
        xtol=1e-9,
        gtol=1e-12,
        maxfev=60,
    )
    jacobian, rest = misfit.slopes(found)[: -len(theta)], misfit.values(found)[: -len(theta)]
    return Solution(
        model,
        theta=found,
        fitted=misfit.evaluate(found)[0],
        sigma=sigma,
        overall=sigma if overall is None else overall,
        weights=weights,
        normal=jacobian.T @ jacobian,
        misfit=float(rest @ rest),
    )


def solve_robustly(
    points: Points, model: Model, theta: FloatArray, before: Solution | None = None
) -> Solution:
    """Fit with sizes and weights found on the way, from `theta`, or from a solution whose weights are nearly right."""
    if before is None:
        fitted = model.impedance(points.frequency_hz, theta)
        rest = np.abs(points.residual(fitted))
        # while the start is poor nothing is thrown out, only held back
        weights = np.minimum(1.0, np.median(rest) / np.maximum(rest, 1e-300))
        sigma = np.full(len(rest), max(float(np.median(rest)), _LEAST_NOISE))
        solution = solve(points, model, theta, sigma, weights)
    else:
        solution = solve(points, model, theta, before.sigma, before.weights)
    for _ in range(_ROUNDS):
        overall, local, weights = weigh(points, solution.fitted)
        sigma = overall * local
        change = float(np.max(np.abs(weights - solution.weights)))
        steady = change < _STANDS and np.allclose(sigma, solution.sigma, rtol=_STANDS)
        solution = solve(points, model, solution.theta, sigma, weights, overall)
        if steady:
            break
    return solution


def weigh(points: Points, fitted: ComplexArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Size of the relative residual at each point per real value, what is usual nearby over it, the weight; (n,) each."""
    rest = np.abs(points.residual(fitted))
    per_value = rest / (
        math.sqrt(2.0 * math.log(2.0)) if points.phase_known else 0.6745
    )  # its median is the size
    shape = _noise_shape(points, fitted)
    if _correlation(points.residual(fitted) / max(float(np.median(per_value)), _LEAST_NOISE)) > _MISFIT:
        shape = np.ones_like(shape)  # what is left is the model's fault, and tells nothing of the noise
    sigma = np.full(len(rest), max(float(np.median(per_value)), _LEAST_NOISE))
    for _ in range(3):
        kept = rest / sigma < _FULL * 1.2
        share = _share(points, rest[kept], shape[kept]) if kept.sum() > 20 else 0.0
        profile = np.sqrt(1.0 - share + share * shape)
        sigma = np.maximum(float(np.median(per_value / profile)), _LEAST_NOISE) * profile
    local = _local_size(points, rest / sigma)
    off = rest / (sigma * local)
    # where more points than these are far off, the model is wrong and not the points
    sigma = sigma * max(1.0, float(np.quantile(off, 1.0 - _MOST_LOST)) / (0.5 * (_FULL + _NONE)))
    weights = np.clip((_NONE - rest / (sigma * local)) / (_NONE - _FULL), 0.0, 1.0)
    return sigma, local, weights


def _correlation(rest: ComplexArray) -> float:
    """Correlation of residuals with their neighbours, -1 to 1; large ones are held back."""
    size = np.maximum(np.abs(rest) / _NONE, 1.0)
    held = rest / size
    return float(np.sum((held[1:] * np.conj(held[:-1])).real) / max(np.sum(np.abs(held) ** 2), 1e-300))


def _local_size(points: Points, rest: FloatArray) -> FloatArray:
    """Size of the residuals near each point over that of the whole, from residuals over the latter; shape (n,)."""
    first, last = points.near
    square = np.minimum(rest**2 / points.dims, _MOST_LOCAL)
    size = np.ones(len(rest))
    for _ in range(2):
        kept = (rest < _NONE * size).astype(np.float64) if (size != 1.0).any() else np.ones(len(rest))
        sums = np.concatenate([[0.0], np.cumsum(square * kept)])
        counts = np.concatenate([[0.0], np.cumsum(kept)])
        near = counts[last] - counts[first]
        size = np.sqrt((_PRIOR_POINTS + sums[last] - sums[first]) / (_PRIOR_POINTS + near))
    return size


def _noise_shape(points: Points, fitted: ComplexArray) -> FloatArray:
    """Variance of the second part of the noise over its median, shape (n,)."""
    size = np.abs(fitted)
    variance = (size if points.u_ohm is None else points.u_ohm / size) ** 2
    middle = float(np.median(variance))
    return variance / middle if middle > 0.0 else np.ones_like(variance)


def _share(points: Points, rest: FloatArray, shape: FloatArray) -> float:
    """Share of the second part in the variance at the median point: the likeliest of a grid.

    Unless another is clearly likelier it is all where the noise was given, and none where it was not.
    """
    profile = np.maximum(1.0 + _SHARES[:, None] * (shape - 1.0), 1e-9)
    level = np.mean(rest**2 / profile, axis=1) / points.dims
    deviance = points.dims * (
        len(rest) * np.log(np.maximum(level, _LEAST_NOISE**2)) + np.log(profile).sum(axis=1)
    )
    best = int(np.argmin(deviance))
    usual = 0 if points.u_ohm is None else len(_SHARES) - 1
    return float(_SHARES[best if deviance[usual] - deviance[best] > _WORTH_IT else usual])


def inflation(points: Points, solution: Solution) -> float:
    """By how much neighbouring residuals say the same: 1 + 2Σρ over the lags where ρ stands above chance, at least 1.

    Rather than n independent points there are n over this. It is the variance inflation of a mean of correlated values
    (JCGM 100, 4.2.7 note; Bartlett 1946), which holds about as well for parameters that vary slowly over frequency.
    """
    rest = points.residual(solution.fitted) / solution.sigma * np.sqrt(solution.weights)
    n = len(rest)
    power = float(np.sum(np.abs(rest) ** 2))
    if power <= 0.0 or n < 8:
        return 1.0
    chance = 2.0 / math.sqrt(points.count)
    total = 1.0
    for lag in range(1, n // 3):
        rho = float(np.sum((rest[lag:] * np.conj(rest[:-lag])).real)) / power
        if rho < chance:
            break
        total += 2.0 * rho
    return total
