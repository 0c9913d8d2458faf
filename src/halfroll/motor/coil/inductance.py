"""Inductance of a coil in air, without iron near it.

H. Nagaoka, "The Inductance Coefficients of Solenoids", J. Coll. Sci. Tokyo 27(6), 1909: L = μ0 π (D/2)² N²/l · k_L(D/l).
Layers are taken as current sheets, coupled as coaxial solenoids of one length: Maxwell's mutual inductance of two circles
(Treatise, art. 701), averaged over both lengths. Turns as single round wires change it by less than 1 % from ten turns up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from halfroll.core.errors import InputError
from halfroll.materials.steel import MU_0

_POINTS = 24
"""Gauss points on each of the intervals the mean over the distance of two circles is taken in."""


def nagaoka(ratio: float) -> float:
    """Nagaoka's coefficient k_L of a solenoid of one layer, `ratio` = diameter over length; 1 for an endless one.

    >>> round(nagaoka(1.0), 6)
    0.688423
    """
    from scipy.special import ellipe, ellipkm1

    if not 0.0 < ratio < math.inf:
        raise InputError("Diameter over length must be above 0", found=f"{ratio:g}")
    m1 = 1.0 / (1.0 + ratio * ratio)  # 1 - k², k² = D²/(D² + l²)
    m, k = 1.0 - m1, math.sqrt(1.0 - m1)
    complete, second = float(ellipkm1(m1)), float(ellipe(m))
    return 4.0 / (3.0 * math.pi * math.sqrt(m1)) * (m1 / m * (complete - second) + second - k)


def solenoid(diameter_m: float, length_m: float, turns: float) -> float:
    """Inductance (H) of one layer."""
    section = 0.25 * math.pi * diameter_m**2
    return MU_0 * section * turns**2 / length_m * nagaoka(diameter_m / length_m)


def layered(radii_m: Sequence[float], turns: Sequence[float], length_m: float) -> float:
    """Inductance (H) of a winding of layers of one length.

    Parameters
    ----------
    radii_m, turns
        Radius (m) and turns of every layer, (n,).
    length_m
        Winding height (m).
    """
    total = 0.0
    for i, (radius, n) in enumerate(zip(radii_m, turns, strict=True)):
        total += solenoid(2.0 * radius, length_m, n)
        for other, m in zip(radii_m[:i], turns[:i], strict=True):
            total += 2.0 * n * m * _mutual(radius, other, length_m)
    return total


def circles(a: float, b: float, distance: np.ndarray) -> np.ndarray:
    """Mutual inductance (H) of two coaxial circles of radii a and b (m) at distances (m), any shape."""
    from scipy.special import ellipe, ellipkm1

    far = (a + b) ** 2 + distance**2
    m1 = ((a - b) ** 2 + distance**2) / far
    m = 1.0 - m1
    k = np.sqrt(m)
    return np.asarray(MU_0 * math.sqrt(a * b) * ((2.0 / k - k) * ellipkm1(m1) - 2.0 / k * ellipe(m)))


def _mutual(a: float, b: float, length: float) -> float:
    """Per turn of either, of two coaxial sheets of one length end to end: the mean of `circles` over both lengths."""
    near = max(abs(a - b), 1e-3 * length)  # the logarithm's peak is as wide as the layers are apart
    stops = [0.0]
    while near < length:
        stops.append(near)
        near *= 3.0
    stops.append(length)
    x, w = np.polynomial.legendre.leggauss(_POINTS)
    total = 0.0
    for low, high in pairwise(stops):
        s = low + 0.5 * (high - low) * (x + 1.0)
        total += 0.5 * (high - low) * float(w @ (2.0 * (length - s) / length**2 * circles(a, b, s)))
    return total
