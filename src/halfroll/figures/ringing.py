"""What a sweep smears where a cabinet rings: a computed take in it against its steady tones."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.text import THIN, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.distortion import harmonic_distortion
from halfroll.measure.analysis.response import Response

LEAST_DB = 0.15
"""Difference from which it is told: what a sweep's harmonics are otherwise held to."""

NEAR = 1.6
"""Factor about a resonance within which its ringing is looked for: farther below, a sweep's own beginning and the deep roll-off matter more."""

LEAST_THD = 1e-3


def ringing(played: Response, steady: Response, tunings_hz: Sequence[float]) -> Verdict | None:
    """A note where the sweep's level or distortion lies beside that of steady tones about a resonance of the cabinet; None where it does not.

    Parameters
    ----------
    played, steady
        The same driver in the same cabinet at the same drive, by sweep and by `driver.quick`, on one grid.
    tunings_hz
        Resonances of the cabinet by itself (Hz).
    """
    f = played.frequency_hz
    low, high = max(played.valid_hz[0], steady.valid_hz[0]), min(played.valid_hz[1], steady.valid_hz[1])
    near = np.any([(f > one / NEAR) & (f < one * NEAR) for one in tunings_hz], axis=0)
    inside = near & (f >= 1.05 * low) & (f <= high)
    level = _db(played.pressure_full_pa / played.voltage_v) - _db(steady.pressure_pa / steady.voltage_v)
    thd, other = (harmonic_distortion(one, "total").thd for one in (played, steady))
    with np.errstate(divide="ignore", invalid="ignore"):
        strength = np.where(np.minimum(thd, other) > LEAST_THD, 20.0 * np.log10(thd / other), 0.0)
    off = np.where(inside, np.fmax(np.abs(level), np.abs(strength)), 0.0)
    worst = int(np.argmax(np.nan_to_num(off)))
    if not off[worst] > LEAST_DB:
        return None
    most = [float(np.nanmax(np.where(inside, np.abs(one), 0.0))) for one in (level, strength)]
    return Verdict(
        code="sweep-faster-than-cabinet", severity=Severity.NOTE,
        text=f"Near {format_value(float(f[worst]), None, 'Hz')} the cabinet rings longer than the sweep stays there: against steady tones the "
        f"level is up to {most[0]:.2f}{THIN}dB off, total harmonic distortion up to {most[1]:.1f}{THIN}dB. A measured sweep smears in the same way.",
        remedy="Trust stepped tones about the tuning, computed or measured.",
        data={"frequency_hz": float(f[worst]), "level_db": most[0], "thd_db": most[1]},
    )  # fmt: skip


def _db(value: np.ndarray) -> np.ndarray:
    return np.asarray(20.0 * np.log10(np.maximum(np.abs(value), 1e-30)))
