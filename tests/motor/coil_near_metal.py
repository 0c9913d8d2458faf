"""Closed forms of a coil near metal, after C. V. Dodd and W. E. Deeds, "Analytical Solutions to Eddy-Current Probe-Coil
Problems", J. Appl. Phys. 39, 2829 (1968): integrals over the spatial frequency, worked out with SciPy.

A coil of rectangular section (r1, r2), length l, n turns per area. In free space its current's potential is a superposition of
J1(αr) exp(-α|z|); a half space of metal answers each part with the reflection (μr α - α1)/(μr α + α1), α1² = α² + jωσμ. The same
in I1(kr) cos kz and K1(kr) cos kz holds for an endless rod inside the coil.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ive, jv, kve

MU_0 = 4e-7 * math.pi
Float = NDArray[np.float64]
Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Coil:
    """Rectangular section (m) and turns; `low` and `high` are heights over the half space."""

    r1: float
    r2: float
    low: float
    high: float
    turns: float

    @property
    def density(self) -> float:
        """Turns per area (1/m²)."""
        return self.turns / ((self.r2 - self.r1) * (self.high - self.low))


def in_air(coil: Coil) -> float:
    """Inductance (H) of the coil alone."""
    a, weight = _spatial(coil.r1, coil.high - coil.low)
    across = _radial(coil, a, "J")
    long = a * (coil.high - coil.low)
    along = 2.0 / a**2 * (long + np.expm1(-long))
    return math.pi * MU_0 * coil.density**2 * float(weight @ (across**2 * along))


def over_half_space(coil: Coil, omega: float, sigma: float, mu_r: float = 1.0) -> complex:
    """What a half space of metal below z = 0 adds to the flux linkage per ampere (H)."""
    a, weight = _spatial(coil.r1, coil.low)
    inside = np.sqrt(a**2 + 1j * omega * sigma * MU_0 * mu_r)
    reflection = (mu_r * a - inside) / (mu_r * a + inside)
    along = (np.exp(-a * coil.low) - np.exp(-a * coil.high)) / a
    parts = _radial(coil, a, "J") ** 2 * along**2 * reflection
    return complex(math.pi * MU_0 * coil.density**2 * (weight @ parts))


def around_rod(coil: Coil, radius: float, omega: float, sigma: float, mu_r: float = 1.0) -> complex:
    """What an endless rod of metal inside the coil adds to the flux linkage per ampere (H)."""
    k, weight = _spatial(coil.r1, coil.high - coil.low)
    inside = np.sqrt(k**2 + 1j * omega * sigma * MU_0 * mu_r)
    x, y = k * radius, inside * radius
    i0, i1 = ive(0, y), ive(1, y)  # scaled alike: only their ratio counts
    above = mu_r * k * ive(0, x) * i1 - inside * ive(1, x) * i0
    below = mu_r * k * kve(0, x) * i1 + inside * kve(1, x) * i0
    reflection = above / below  # its exp(2 k radius) is taken by the two factors of `_radial`
    along = (2.0 * np.sin(0.5 * k * (coil.high - coil.low)) / k) ** 2
    parts = _radial(coil, k, "K", radius) ** 2 * along * reflection
    return complex(2.0 * MU_0 * coil.density**2 * (weight @ parts))


def _radial(coil: Coil, a: Float, which: str, radius: float = 0.0) -> Float:
    """Integral of r J1(ar), or of r K1(ar) exp(a radius), over the winding's width, for every a."""
    node, weight = np.polynomial.legendre.leggauss(40)
    half = 0.5 * (coil.r2 - coil.r1)
    r = coil.r1 + half * (node + 1.0)
    product = a[:, None] * r
    wave = jv(1, product) if which == "J" else kve(1, product) * np.exp(a[:, None] * radius - product)
    return np.asarray(half * (wave * r) @ weight)


def _spatial(radius: float, length: float) -> tuple[Float, Float]:
    """Nodes and weights over the spatial frequency (1/m), dense enough for the fastest oscillation."""
    stops = np.concatenate([[0.0], np.geomspace(1e-4, 1.0, 30), np.arange(2.0, 402.0)]) * min(
        1.0 / radius, 1.0 / length
    )
    node, weight = np.polynomial.legendre.leggauss(16)
    half = 0.5 * np.diff(stops)
    return (stops[:-1, None] + half[:, None] * (node + 1.0)).ravel(), (half[:, None] * weight).ravel()
