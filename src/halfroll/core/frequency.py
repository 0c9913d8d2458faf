"""Frequency grids and octaves.

Exact mid-band frequencies follow IEC 61260-1:2014 (base ten, G = 10^(3/10), reference 1 kHz);
nominal marks are the preferred frequencies of ISO 266.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

OCTAVE_RATIO = 10.0**0.3
"""G of IEC 61260-1:2014, cl. 5.2."""

POINTS_PER_OCTAVE = 48
"""Density of the grid on which responses are kept: fine enough that a 1/9 octave trough has five points."""

THIRD_OCTAVE_NOMINAL_HZ = (
    10.0, 12.5, 16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0,
    500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10000.0,
    12500.0, 16000.0, 20000.0,
)  # fmt: skip
"""Preferred frequencies of ISO 266 in third-octave steps (Hz)."""

OCTAVE_NOMINAL_HZ = THIRD_OCTAVE_NOMINAL_HZ[2::3]
"""Preferred frequencies of ISO 266 in octave steps (Hz): 16, 31.5, 63, 125 ..."""


def band_centre(index: int, per_octave: int) -> float:
    """Exact mid-band frequency (Hz) of the `index`-th 1/`per_octave` band from 1 kHz.

    IEC 61260-1:2014 cl. 5.4: f_r G^(x/b) for odd b, f_r G^((2x+1)/(2b)) for even b.
    """
    if per_octave < 1:
        raise InputError("Bands per octave must be 1 or more", found=per_octave)
    exponent = index / per_octave if per_octave % 2 else (2 * index + 1) / (2 * per_octave)
    return 1000.0 * float(OCTAVE_RATIO**exponent)


def band_edges(centre_hz: float, per_octave: int) -> tuple[float, float]:
    """Lower and upper edge (Hz) of a 1/`per_octave` band, IEC 61260-1:2014 cl. 5.6."""
    half = float(OCTAVE_RATIO ** (1.0 / (2.0 * per_octave)))
    return centre_hz / half, centre_hz * half


def log_grid(low_hz: float, high_hz: float, per_octave: int = POINTS_PER_OCTAVE) -> FloatArray:
    """Frequencies (Hz, shape (n,)) of the house grid 1000·2^(k/per_octave) that lie within [low, high].

    All grids share the same points, so responses of different takes need no interpolation to be compared.
    """
    if not 0 < low_hz <= high_hz:
        raise InputError(
            "A frequency range must be positive and ascending", found=f"{low_hz:g} to {high_hz:g} Hz"
        )
    first = math.ceil(per_octave * math.log2(low_hz / 1000.0) - 1e-9)
    last = math.floor(per_octave * math.log2(high_hz / 1000.0) + 1e-9)
    return np.asarray(1000.0 * 2.0 ** (np.arange(first, last + 1) / per_octave), dtype=np.float64)


def octaves(from_hz: ArrayLike, to_hz: ArrayLike) -> FloatArray:
    """Octaves from one frequency down to another: log2(from/to); 136 Hz to 52 Hz is 1.39 octaves."""
    return np.asarray(np.log2(np.asarray(from_hz, dtype=np.float64) / np.asarray(to_hz, dtype=np.float64)))


def in_band(frequency_hz: FloatArray, band_hz: tuple[float, float]) -> np.ndarray:
    """Boolean mask (n,) of the points within a closed band, with a hair's tolerance at the edges."""
    low, high = band_hz
    return np.asarray((frequency_hz >= low * (1 - 1e-9)) & (frequency_hz <= high * (1 + 1e-9)))


def octave_weights(frequency_hz: FloatArray, band_hz: tuple[float, float]) -> FloatArray:
    """Weights (n,) of points within a band for a mean in which every octave weighs the same; they sum to 1.

    Each point stands for the stretch of lg f half-way to its neighbours, the outer ones for all up to the band's edge.
    """
    x = np.log(frequency_hz)
    edges = np.concatenate([[np.log(band_hz[0])], 0.5 * (x[1:] + x[:-1]), [np.log(band_hz[1])]])
    return np.asarray(np.diff(edges) / (edges[-1] - edges[0]), dtype=np.float64)


def interpolate_log(frequency_hz: FloatArray, values: FloatArray, at_hz: ArrayLike) -> FloatArray:
    """Linear interpolation over lg f; NaN outside the range given."""
    return np.asarray(
        np.interp(np.log(np.asarray(at_hz)), np.log(frequency_hz), values, left=np.nan, right=np.nan),
        dtype=np.float64,
    )
