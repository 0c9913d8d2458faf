"""Pressure of a piston at any distance on its axis, and what a near-field microphone may be converted to.

D. B. Keele, "Low-Frequency Loudspeaker Assessment by Nearfield Sound-Pressure Measurement", JAES 22(3), 1974.
"""

from __future__ import annotations

import math

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray


def near_to_far_db(radius_m: float, distance_m: float = 1.0, microphone_m: float = 0.0) -> float:
    """What to add to a near-field level to get the half-space level at a distance (dB).

    At the centre of the cone Keele's 20 lg(a/2r); a microphone `microphone_m` before it hears less by
    20 lg[(√(h² + a²) - h)/a], the exact axial result at low frequency (see `axial_transfer`).
    Valid below `near_field_limit_hz`. A radius of 50 mm and 1 m give -32.04 dB at the cone, -31.18 dB from 5 mm.
    """
    shortfall = (math.hypot(microphone_m, radius_m) - microphone_m) / radius_m
    return 20.0 * math.log10(radius_m / (2.0 * distance_m) / shortfall)


def near_field_limit_hz(radius_m: float, error_db: float = 1.0, air: Air = STANDARD_AIR) -> float:
    """Frequency (Hz) up to which the pressure at the centre falls short of Keele's low-frequency value by `error_db`.

    The exact ratio is sin(ka/2)/(ka/2): 1 dB at ka = 1.643.

    Raises
    ------
    `InputError` unless `error_db` is above zero.
    """
    from scipy.optimize import brentq

    if error_db <= 0.0:
        raise InputError(
            "The error allowed to a near-field level must be above 0 dB", found=f"{error_db:g} dB"
        )
    ratio = 10.0 ** (-error_db / 20.0)
    half_ka = float(brentq(lambda y: math.sin(y) / y - ratio, 1e-6, math.pi))
    return 2.0 * half_ka * air.speed_of_sound / (2.0 * math.pi * radius_m)


def axial_transfer(
    frequency_hz: FloatArray, radius_m: float, distance_m: float, air: Air = STANDARD_AIR
) -> ComplexArray:
    """Pressure on axis per acceleration of a baffled piston at any distance (Pa per m/s²), shape of `frequency_hz`.

    p/a = ρ Δ e^{-jk(r + Δ/2)} sin(kΔ/2)/(kΔ/2) with Δ = √(r² + a²) - r: Rayleigh's exact result, propagation delay
    included (e^{+jωt}). At r = 0 and low frequency it is ρ a; far away it is ρ a²/(2r), that is ρ S/(2πr).
    """
    wave_number = 2.0 * np.pi * np.asarray(frequency_hz, dtype=np.float64) / air.speed_of_sound
    path = math.hypot(distance_m, radius_m) - distance_m
    size = air.density * path * np.sinc(wave_number * path / (2.0 * np.pi))
    return np.asarray(size * np.exp(-1j * wave_number * (distance_m + path / 2.0)), dtype=np.complex128)
