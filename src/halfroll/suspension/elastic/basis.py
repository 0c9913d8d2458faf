"""Lagrange polynomials on Gauss-Lobatto points, and Gauss quadrature, on the interval 0..1.

C. Canuto, M. Y. Hussaini, A. Quarteroni, T. A. Zang, "Spectral Methods: Fundamentals in Single Domains" (2006), chapter 2.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre

from halfroll.core.levels import FloatArray


@lru_cache(maxsize=32)
def nodes(order: int) -> FloatArray:
    """The `order` + 1 Gauss-Lobatto points on 0..1."""
    inner = legendre.Legendre.basis(order).deriv().roots() if order > 1 else np.empty(0)
    return _shared(np.concatenate([[0.0], 0.5 * (np.sort(inner.real) + 1), [1.0]]))


@lru_cache(maxsize=32)
def gauss(count: int) -> tuple[FloatArray, FloatArray]:
    """`count` Gauss points on 0..1 and their weights."""
    points, weights = legendre.leggauss(count)
    return _shared(0.5 * (points + 1)), _shared(0.5 * weights)


def _shared(array: FloatArray) -> FloatArray:
    """An array that every caller gets the same copy of: written to, it raises instead of spoiling all later results."""
    array.flags.writeable = False
    return array


def values(order: int, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shape functions (len(at), order + 1) at points of 0..1, and their derivatives."""
    x = nodes(order)
    powers = np.vander(x, order + 1, increasing=True)
    coefficients = np.linalg.inv(powers)
    degree = np.arange(order + 1)
    here = np.vander(at, order + 1, increasing=True)
    slope = np.zeros_like(here)
    slope[:, 1:] = degree[1:] * here[:, :-1]
    return here @ coefficients, slope @ coefficients
