"""Noise of a moving part that touches: a coil that scrapes in its gap, heard beside the driver's own sound.

Not a model of friction. A scrape is noise that lasts while the coil is beyond a displacement, louder the faster it
moves; its spectrum is that of a small hard part on a cone. Invented, to show and to test what finds it.
"""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.large_signal import Motion

SCRAPE_BAND_HZ = (1200.0, 9000.0)


def scrape(motion: Motion, beyond_m: float, rng: np.random.Generator) -> FloatArray:
    """Sound of a coil that scrapes where it stands further out than `beyond_m` (m), shape (n,), of no set level."""
    from scipy.signal import butter, sosfilt

    grain = sosfilt(
        butter(2, SCRAPE_BAND_HZ, "bandpass", fs=motion.sample_rate_hz, output="sos"),
        rng.standard_normal(motion.displacement_m.size),
    )
    beyond = np.clip((motion.displacement_m - beyond_m) / (0.1 * abs(beyond_m)), 0.0, 1.0)
    pace = np.abs(motion.velocity_m_s) / np.max(np.abs(motion.velocity_m_s))
    return np.asarray(grain * beyond * np.sqrt(pace), dtype=np.float64)


def at_level(noise: FloatArray, pressure: FloatArray, level_db: float, held: slice) -> FloatArray:
    """A noise (n,) scaled so that its r.m.s. over the samples `held` lies `level_db` re that of the pressure (n,)."""
    ratio = np.sqrt(np.mean(pressure[held] ** 2) / np.mean(noise[held] ** 2))
    return np.asarray(noise * ratio * 10.0 ** (level_db / 20.0), dtype=np.float64)
