"""Radiation of a flat piston in an infinite baffle (half space).

Rayleigh's piston; formulas as in Beranek, *Acoustics* (1954) and Kinsler and Frey, *Fundamentals of Acoustics*.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import ComplexArray, FloatArray


def piston_pressure(
    acceleration: ArrayLike, area_m2: float, distance_m: float, air: Air = STANDARD_AIR
) -> FloatArray | ComplexArray:
    """Far-field pressure (Pa) on axis, p = ρ S a/(2 π r), without propagation delay.

    Parameters
    ----------
    acceleration
        Acceleration of the piston (m/s²), real over time or complex over frequency, any shape.
    area_m2, distance_m
        Effective piston area S and distance r; valid for r well beyond the radius, see `nearfield`.
    """
    return np.asarray(acceleration) * (air.density * area_m2 / (2.0 * math.pi * distance_m))


def piston_impedance(ka: ArrayLike) -> ComplexArray:
    """Radiation impedance of one side over ρ c S: R1(2ka) + j X1(2ka), same shape as `ka`.

    R1(x) = 1 - 2 J1(x)/x, X1(x) = 2 H1(x)/x with Bessel's J1 and Struve's H1; `ka` must be above zero.
    Below ka = 0.5 it is (ka)²/2 + j 8 ka/(3π) within a few per cent.
    """
    from scipy.special import j1, struve

    x = 2.0 * np.asarray(ka, dtype=np.float64)
    return np.asarray(1.0 - 2.0 * j1(x) / x + 2j * struve(1, x) / x, dtype=np.complex128)


def air_mass(radius_m: float, air: Air = STANDARD_AIR) -> float:
    """Mass of air (kg) that moves with both sides of a piston in an infinite baffle, (16/3) ρ a³, for ka << 1."""
    return 16.0 / 3.0 * air.density * radius_m**3


def directivity(ka: ArrayLike, angle_rad: float) -> FloatArray:
    """Far-field pressure at an angle from the axis over that on axis, 2 J1(ka sin θ)/(ka sin θ), shape of `ka`."""
    from scipy.special import j1

    argument = np.asarray(ka, dtype=np.float64) * math.sin(angle_rad)
    safe = np.where(argument == 0.0, 1.0, argument)
    return np.asarray(np.where(argument == 0.0, 1.0, 2.0 * j1(safe) / safe), dtype=np.float64)
