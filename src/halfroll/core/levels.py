"""Levels in decibels. Sound pressure is re 20 µPa (ISO 1683)."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

P_REF_PA = 20e-6
"""Reference sound pressure in air, ISO 1683."""

DB_OF_RELATIVE = 20.0 / math.log(10.0)
"""Decibels of a small relative change of an amplitude, to first order: 8.686."""

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]


def db(amplitude_ratio: ArrayLike) -> FloatArray:
    """20 lg |ratio| of amplitudes (dB, any shape); zero gives -inf without a warning."""
    with np.errstate(divide="ignore"):
        return np.asarray(20.0 * np.log10(np.abs(np.asarray(amplitude_ratio))), dtype=np.float64)


def amplitude(level_db: ArrayLike) -> FloatArray:
    """The amplitude ratio of a level in decibels, the inverse of `db`."""
    return np.asarray(10.0 ** (np.asarray(level_db, dtype=np.float64) / 20.0), dtype=np.float64)


def spl(pressure_pa_rms: ArrayLike) -> FloatArray:
    """Sound pressure level (dB re 20 µPa) of an r.m.s. pressure (Pa)."""
    return db(np.asarray(pressure_pa_rms) / P_REF_PA)


def power_mean_db(levels_db: ArrayLike, weights: ArrayLike | None = None) -> float:
    """Energetic mean of levels: 10 lg of the weighted mean of 10^(L/10) (dB).

    90 dB and 80 dB give 87.404 dB (IEC 60268-5 cl. 20.1.2.4: r.m.s. of the band pressures).
    """
    power = 10.0 ** (np.asarray(levels_db, dtype=np.float64) / 10.0)
    mean = np.average(power, weights=None if weights is None else np.asarray(weights))
    return float(db(np.sqrt(mean)))


def db_sum(levels_db: ArrayLike) -> float:
    """Energetic sum of incoherent levels: 10 lg sum 10^(L/10) (dB)."""
    return float(10.0 * np.log10(np.sum(10.0 ** (np.asarray(levels_db, dtype=np.float64) / 10.0))))
