"""Mean levels in wide bands re the middle of the range: all that is trusted of a telephone, each with what may be wrong with it."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import DB_OF_RELATIVE, FloatArray

BANDS_HZ: tuple[tuple[float, float], ...] = (
    (50.0, 80.0), (80.0, 125.0), (125.0, 200.0), (200.0, 315.0), (1250.0, 2500.0), (2500.0, 5000.0), (5000.0, 10_000.0),
)  # fmt: skip
MIDDLE_HZ = (315.0, 1250.0)
"""Levels are re the mean in here, every octave weighing the same."""

CORNERS_HZ = (20.0, 250.0)
CUT_COUNT = 10
"""Telephones filter the bass away below a corner somewhere in here, by first or second order: so many corners, evenly by ratio, of each order,
all as probable (own choice; many cut below about 200 Hz, B. M. Faber, Acoustics Today 13(2), 2017)."""

RESPONSE_U_DB: Mapping[tuple[float, float], float] = {
    (50.0, 80.0): 2.5, (80.0, 125.0): 2.0, (125.0, 200.0): 1.5, (200.0, 315.0): 1.2, (1250.0, 2500.0): 1.5,
    (2500.0, 5000.0): 2.5, (5000.0, 10_000.0): 4.0,
}  # fmt: skip
"""Standard uncertainty (dB) of an unknown telephone's own response re the middle, beside its bass filter. Own choice: overall levels of
telephones lie within about 2 dB of a sound level meter at best (C. A. Kardous, P. B. Shaw, J. Acoust. Soc. Am. 135, EL186, 2014)."""

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


@dataclass(frozen=True, kw_only=True, eq=False)
class BassCuts:
    """What each possible bass filter (c,) does: to the level of every band re the middle (dB), (c, 7); to the logarithm of the bass distortion,
    whose harmonics pass where the fundamental does not; to what is left above the harmonics, re the fundamental (dB).
    """

    band_db: FloatArray
    thd_log: FloatArray
    residue_db: FloatArray


@functools.cache
def bass_cuts() -> BassCuts:
    """The filters of `CORNERS_HZ`: Butterworth's, -10 lg (1 + (fc/f)^(2n)) dB."""
    corners = np.geomspace(*CORNERS_HZ, CUT_COUNT)
    filters = [(corner, order) for corner in corners for order in (1, 2)]
    bands = np.array(
        [[_cut_db(*one, band) - _cut_db(*one, MIDDLE_HZ) for band in BANDS_HZ] for one in filters]
    )
    bass = (BANDS_HZ[0][0], BANDS_HZ[1][1])
    second = (2.0 * bass[0], 2.0 * bass[1])
    tilt = np.array([_cut_db(*one, second) - _cut_db(*one, bass) for one in filters])
    under = np.array([_cut_db(*one, MIDDLE_HZ) - _cut_db(*one, bass) for one in filters])
    return BassCuts(band_db=bands, thd_log=tilt / DB_OF_RELATIVE, residue_db=under)


def _cut_db(corner_hz: float, order: int, band_hz: tuple[float, float]) -> float:
    f = np.geomspace(*band_hz, 32)
    return float(np.mean(-10.0 * np.log10(1.0 + (corner_hz / f) ** (2 * order))))


def cut_u_db(band_hz: tuple[float, float]) -> float:
    """What a bass filter that nobody knows may do to a band (dB, root mean square): part of its standard uncertainty."""
    return float(np.sqrt(np.mean(bass_cuts().band_db[:, BANDS_HZ.index(band_hz)] ** 2)))


def phone_u_db(band_hz: tuple[float, float]) -> float:
    """Standard uncertainty (dB) of an unknown telephone in a band, its bass filter with it."""
    return float(np.hypot(RESPONSE_U_DB[band_hz], cut_u_db(band_hz)))
