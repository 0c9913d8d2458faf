"""What a cone that is not rigid adds to the sound, as a few modes.

Each mode is the part of the cone that the voice coil shakes through a spring: relative to the coil it moves by
q with q'' + (ω_m/Q) q' + ω_m² q = -a, so its share φ of the volume acceleration becomes a + q''. The total is

    H(s) = 1 - Σ φ_m s²/(s² + s ω_m/Q_m + ω_m²)

that is the rigid cone well below the mode, a peak or a dip at it, and 1 - φ above, where that part has come to rest.
Negative shares (a part moving against the rest) are allowed. The reaction of the mode on the coil is left out: good
as long as the moving part is light beside Mms. Damped single mode under base excitation: any vibration textbook.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray


@dataclass(frozen=True, kw_only=True)
class ConeMode:
    """One mode of the cone or surround: frequency (Hz), quality Q, share φ of the volume acceleration."""

    frequency_hz: float
    q: float
    share: float


def cone_transfer(frequency_hz: FloatArray, modes: Sequence[ConeMode]) -> ComplexArray:
    """Volume acceleration of the cone over that of a rigid one, e^{+jωt}, shape of `frequency_hz`."""
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=np.float64)
    total = np.ones(s.shape, dtype=np.complex128)
    for mode in modes:
        omega = 2.0 * np.pi * mode.frequency_hz
        total -= mode.share * s**2 / (s**2 + s * omega / mode.q + omega**2)
    return total
