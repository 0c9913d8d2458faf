"""How far a thin strip bends when it bends far: the elastica of a fixed-free strip and of one on two supports.

A strip of bending stiffness EI, inextensible, without shear:

fixed-free, tip load P, own weight q per length:   EI theta'' = -(P + q (L + o - s)) cos theta,  theta(0) = 0, EI theta'(L) = q o²/2 cos theta
three-point, half of it from its middle:           EI theta'' = -(P/2) cos(theta - theta_e)/cos theta_e,  theta(0) = 0, theta'(end) = 0

with theta_e the slope at the support, whose reaction stands square to the strip (no friction) and on which the strip slides. Solved by
Chebyshev collocation (L. N. Trefethen, "Spectral Methods in MATLAB", 2000, program 6 for the matrix) and Newton's method. R. Frisch-Fay,
"Flexible Bars" (1962), has both problems; values of the first: K. Mattiasson, Int. J. Num. Meth. Eng. 17, 145-153, 1981.
"""

from __future__ import annotations

import functools
from collections.abc import Callable

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

_Residual = Callable[[FloatArray], tuple[FloatArray, FloatArray]]

POINTS = 24
MOST_LOAD = 60.0
"""Largest P L²/EI a fixed-free strip is solved for: it hangs almost straight down (w/L 0.92)."""

MOST_THREE_POINT = 0.75
"""Largest P a²/(2 EI), a half the span (w/L 0.16), a little below where the strip would slip through its supports (0.83)."""

_STEPS, _CLOSE = 40, 1e-11


def fixed_free(load: FloatArray, weight: FloatArray | float = 0.0, overhang: float = 0.0) -> FloatArray:
    """Deflection at the load over the length, w/L, of a fixed-free strip.

    Parameters
    ----------
    load
        P L²/EI, shape (n,), 0 to 60.
    weight
        q L³/EI of the strip's own weight q per length, shape (n,) or one number.
    overhang
        How far the strip goes on beyond the load, over L.

    Returns
    -------
    float64 array (n,)
        0 to 0.92.
    """
    _, _, weights = _chebyshev()
    return np.asarray(np.sin(_fixed_free_slopes(load, weight, overhang)) @ weights)


def bent_fixed_free(reach: float) -> FloatArray:
    """The line of a fixed-free strip bent by a tip load until it has sunk by `reach` of its length: (25, 2), along and down, over the length."""
    from scipy.optimize import brentq

    load = brentq(
        lambda log: float(fixed_free(np.exp([log]))[0]) - reach, -12.0, np.log(MOST_LOAD), xtol=1e-4
    )
    s, _, _ = _chebyshev()
    theta = _fixed_free_slopes(np.exp([load]))[0]
    steps = (
        0.5
        * np.diff(s)[:, None]
        * (
            np.stack([np.cos(theta), np.sin(theta)], axis=1)[1:]
            + np.stack([np.cos(theta), np.sin(theta)], axis=1)[:-1]
        )
    )
    return np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])


def _fixed_free_slopes(
    load: FloatArray, weight: FloatArray | float = 0.0, overhang: float = 0.0
) -> FloatArray:
    """Slopes (n, 25) at the points of `_chebyshev`."""
    s, first, _ = _chebyshev()
    alpha, beta = np.broadcast_arrays(np.asarray(load, float), np.asarray(weight, float))
    shear = alpha[:, None] + beta[:, None] * (1.0 + overhang - s)
    end = 0.5 * beta * overhang**2
    theta = np.arctan((0.5 * (alpha + beta))[:, None] * (2.0 * s - s**2))
    second = first @ first

    def residual(theta: FloatArray) -> tuple[FloatArray, FloatArray]:
        r = theta @ second.T + shear * np.cos(theta)
        jacobian = second - (shear * np.sin(theta))[:, :, None] * np.eye(s.size)
        r[:, 0], jacobian[:, 0] = theta[:, 0], np.eye(s.size)[0]
        r[:, -1] = theta @ first[-1] - end * np.cos(theta[:, -1])
        jacobian[:, -1] = first[-1]
        jacobian[:, -1, -1] += end * np.sin(theta[:, -1])
        return r, jacobian

    return _newton(residual, theta)


def three_point(load: FloatArray) -> FloatArray:
    """Deflection of the middle over half the span, w/a, of a strip on two supports without friction.

    Parameters
    ----------
    load
        P a²/(2 EI), a half the span, shape (n,), 0 to 0.75.

    Returns
    -------
    float64 array (n,)
        Small loads give load/3, as P L³/(48 EI) does.
    """
    s, first, weights = _chebyshev()
    force, n, eye = np.asarray(load, float), s.size, np.eye(s.size)
    second = first @ first
    start = np.concatenate(
        [np.arctan((0.5 * force)[:, None] * (2.0 * s - s**2)), np.ones((force.size, 1))], axis=1
    )

    def residual(both: FloatArray) -> tuple[FloatArray, FloatArray]:
        theta, stretch, end = both[:, :n], both[:, n:], both[:, n - 1 : n]
        scale = force[:, None] * stretch**2
        pull = np.cos(theta - end) / np.cos(end)
        r, jacobian = np.empty_like(both), np.zeros((force.size, n + 1, n + 1))
        r[:, :n] = theta @ second.T + scale * pull
        jacobian[:, :n, :n] = second - (scale * np.sin(theta - end) / np.cos(end))[:, :, None] * eye
        jacobian[:, :n, n - 1] += scale * np.sin(theta) / np.cos(end) ** 2
        jacobian[:, :n, n] = 2.0 * force[:, None] * stretch * pull
        r[:, 0], r[:, n - 1] = theta[:, 0], theta @ first[-1]
        jacobian[:, 0], jacobian[:, n - 1] = np.eye(n + 1)[0], np.append(first[-1], 0.0)
        r[:, n] = stretch[:, 0] * (np.cos(theta) @ weights) - 1.0
        jacobian[:, n, :n] = -stretch * np.sin(theta) * weights
        jacobian[:, n, n] = np.cos(theta) @ weights
        return r, jacobian

    found = _newton(residual, start)
    return np.asarray(found[:, n] * (np.sin(found[:, :n]) @ weights))


def _newton(residual: _Residual, x: FloatArray) -> FloatArray:
    for _ in range(_STEPS):
        r, jacobian = residual(x)
        step = np.linalg.solve(jacobian, r[:, :, None])[:, :, 0]
        largest = np.abs(step).max(axis=1, initial=0.0)
        if not np.isfinite(largest).all():
            break
        x = x - step * np.minimum(1.0, 0.8 / np.maximum(largest, 1e-30))[:, None]
        if largest.max(initial=0.0) < _CLOSE:
            return x
    raise InputError("A strip cannot bend so far under this load", found="no shape in balance")


@functools.cache
def _chebyshev() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Points on 0 to 1, first derivative matrix and Clenshaw-Curtis weights."""
    n = POINTS
    j = np.arange(n + 1)
    x = -np.cos(np.pi * j / n)
    c = np.where((j == 0) | (j == n), 2.0, 1.0) * (-1.0) ** j
    dx = x[:, None] - x[None, :] + np.eye(n + 1)
    first = np.outer(c, 1.0 / c) / dx
    first -= np.diag(first.sum(axis=1))
    k = np.arange(0, n + 1, 2)
    moments = 2.0 / (1.0 - k**2)
    cosines = np.cos(np.pi * np.outer(k, j) / n) * np.where((k == 0) | (k == n), 0.5, 1.0)[:, None]
    weights = 2.0 / n * (moments @ cosines)
    weights[[0, -1]] *= 0.5
    return 0.5 * (x + 1.0), 2.0 * first, 0.5 * weights
