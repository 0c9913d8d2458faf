"""Noise of a room and of electronics, drawn from a generator so that a seed repeats it."""

from __future__ import annotations

import numpy as np

from halfroll.acoustics.weighting import a_weighting
from halfroll.core.levels import P_REF_PA, FloatArray

LOWEST_HZ = 10.0
"""Below this the noise of a room is not drawn; a measuring microphone does not pass it either."""

CORNER_HZ = 1000.0
"""Where the white part (microphone, preamplifier) overtakes the 1/f part (room). Common practice, no source."""


def room_noise(size: int, sample_rate_hz: float, level_dba: float, rng: np.random.Generator) -> FloatArray:
    """Gaussian noise as a microphone hears it in a quiet room.

    Power per hertz goes as 1/f + 1/`CORNER_HZ` above `LOWEST_HZ`.

    Parameters
    ----------
    size, sample_rate_hz
        Number of samples and their rate (Hz).
    level_dba
        Expected A-weighted level (dB re 20 µPa).
    rng
        Source of chance.

    Returns
    -------
    pressure
        Sound pressure (Pa), shape (size,).
    """
    from scipy.fft import irfft, next_fast_len

    length = next_fast_len(size, real=True)
    frequency = np.fft.rfftfreq(length, 1.0 / sample_rate_hz)
    shape = np.zeros(frequency.size)
    heard = frequency >= LOWEST_HZ
    shape[heard] = np.sqrt(1.0 / frequency[heard] + 1.0 / CORNER_HZ)
    weighted = np.sum(np.square(shape * a_weighting(frequency)))
    scale = P_REF_PA * 10.0 ** (level_dba / 20.0) / np.sqrt(weighted)
    draw = rng.standard_normal((2, frequency.size))
    spectrum = shape * (draw[0] + 1j * draw[1])
    return np.asarray(irfft(spectrum, length)[:size] * scale * length / 2.0, dtype=np.float64)


def white_noise(size: int, rms: float, rng: np.random.Generator) -> FloatArray:
    """White Gaussian noise of a given r.m.s. value, shape (size,)."""
    return rng.standard_normal(size) * rms
