"""Frequency weighting A of IEC 61672-1:2013, annex E."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from halfroll.core.levels import FloatArray

_POLES_HZ = (20.598997, 107.65265, 737.86223, 12194.217)
_AT_1_KHZ_DB = -1.999656


def a_weighting(frequency_hz: ArrayLike) -> FloatArray:
    """Gain (amplitude ratio, 1 at 1 kHz) of weighting A at frequencies (Hz, any shape); 0 at 0 Hz."""
    f2 = np.square(np.asarray(frequency_hz, dtype=np.float64))
    p1, p2, p3, p4 = (pole**2 for pole in _POLES_HZ)
    gain = p4 * f2**2 / ((f2 + p1) * np.sqrt((f2 + p2) * (f2 + p3)) * (f2 + p4))
    return np.asarray(gain * 10.0 ** (-_AT_1_KHZ_DB / 20.0), dtype=np.float64)
