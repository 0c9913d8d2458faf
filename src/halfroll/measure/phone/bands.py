"""Mean levels in wide bands re the middle of the range: all that is trusted of a telephone, each with what may be wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray

BANDS_HZ: tuple[tuple[float, float], ...] = (
    (50.0, 80.0), (80.0, 125.0), (125.0, 200.0), (200.0, 315.0), (1250.0, 2500.0), (2500.0, 5000.0), (5000.0, 10_000.0),
)  # fmt: skip
MIDDLE_HZ = (315.0, 1250.0)
"""Levels are re the mean in here, every octave weighing the same."""

PHONE_U_DB: Mapping[tuple[float, float], float] = {
    (50.0, 80.0): 6.0, (80.0, 125.0): 4.0, (125.0, 200.0): 2.5, (200.0, 315.0): 1.5, (1250.0, 2500.0): 1.5,
    (2500.0, 5000.0): 2.5, (5000.0, 10_000.0): 4.0,
}  # fmt: skip
"""Standard uncertainty (dB) of an unknown telephone's own response re the middle. Own choice: overall levels of telephones lie within
about 2 dB of a sound level meter at best (C. A. Kardous, P. B. Shaw, J. Acoust. Soc. Am. 135, EL186, 2014), and many filter the bass away
below about 200 Hz (B. M. Faber, Acoustics Today 13(2), 2017)."""

LEAST_COVERED = 0.85
"""Share of a band's octaves that must have been read."""


@dataclass(frozen=True, kw_only=True)
class PhoneBand:
    """Mean level of a band re the middle (dB), its standard uncertainty, and what that is made of (dB, by cause)."""

    low_hz: float
    high_hz: float
    value_db: float
    u_db: float
    parts: Mapping[str, float]

    @property
    def key(self) -> str:
        """``band_50_80_db``."""
        return band_key(self.low_hz, self.high_hz)


def band_key(low_hz: float, high_hz: float) -> str:
    """The key under which the level of a band is told."""
    return f"band_{low_hz:g}_{high_hz:g}_db"


def band_mean(frequency_hz: FloatArray, values: FloatArray, band_hz: tuple[float, float]) -> float | None:
    """Mean over a band on a log-frequency grid; None where less than `LEAST_COVERED` of its octaves is known."""
    inside = (frequency_hz >= band_hz[0]) & (frequency_hz <= band_hz[1]) & np.isfinite(values)
    if not inside.any():
        return None
    per_octave = (len(frequency_hz) - 1) / np.log2(frequency_hz[-1] / frequency_hz[0])
    if inside.sum() / per_octave < LEAST_COVERED * np.log2(band_hz[1] / band_hz[0]):
        return None
    return float(np.mean(values[inside]))
