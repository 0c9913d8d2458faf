"""Single numbers of a telephone's recording: bass distortion, what is left above the harmonics, the resonance by the bass's hump."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.distortion import harmonic_distortion
from halfroll.measure.analysis.response import Response
from halfroll.measure.phone.bands import BANDS_HZ, bass_cuts, phone_u_db

THD_BAND_HZ = (50.0, 125.0)
RESIDUE_BAND_HZ = (40.0, 150.0)
"""The band in which figures are told what is left above the harmonics by default."""

PHONE_THD = 0.005
"""Distortion of a telephone's own (own choice)."""

HUMP_HZ = (40.0, 400.0)
HUMP_DB = 2.0
HUMP_U = 0.05
"""Where a hump is looked for, by how much it must stand over the middle, and how well its place is read (relative; own choice)."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """A number with its standard uncertainty; `bound` where it is only known not to be higher."""

    value: float
    u: float
    bound: bool = False


def bass_thd(response: Response) -> Told | None:
    """Mean THD of the bass (ratio); what the telephone may add is counted, and where noise hides it a bound stands."""
    found = harmonic_distortion(response)
    inside = (found.frequency_hz >= THD_BAND_HZ[0]) & (found.frequency_hz <= THD_BAND_HZ[1])
    inside &= np.isfinite(found.thd)
    octaves = math.log2(THD_BAND_HZ[1] / THD_BAND_HZ[0])
    per_octave = (len(found.frequency_hz) - 1) / math.log2(found.frequency_hz[-1] / found.frequency_hz[0])
    if inside.sum() < 0.8 * octaves * per_octave:
        return None
    value = float(np.mean(found.thd[inside]))
    bound = bool(np.mean(found.is_bound[inside]) > 0.5)
    noise = float(np.mean(found.u[inside]))
    return Told(value=value, u=math.hypot(noise, PHONE_THD, _tilt() * value), bound=bound)


def _tilt() -> float:
    """By how much a bass filter may raise harmonics over their fundamental (relative, root mean square)."""
    return float(np.sqrt(np.mean(bass_cuts().thd_log ** 2)))


def bass_residue(response: Response) -> Told | None:
    """The highest of what is left above the harmonics in `RESIDUE_BAND_HZ`, as the figure of takes has it."""
    residue = response.residue
    if residue is None:
        return None
    inside = (residue.frequency_hz >= RESIDUE_BAND_HZ[0]) & (residue.frequency_hz <= RESIDUE_BAND_HZ[1])
    if not inside.any():
        return None
    at = int(np.flatnonzero(inside)[np.argmax(residue.level_db[inside])])
    value, floor = float(residue.level_db[at]), float(residue.floor_db[at])
    # The fundamental it is referred to has the telephone's response in it: as unsure as the bass bands.
    return Told(value=value, u=phone_u_db((80.0, 125.0)), bound=not value > floor + 1e-6)


def resonance_by_hump(frequency: FloatArray, level: FloatArray) -> Told | None:
    """The resonance (Hz) by the hump of the bass, smoothed over a sixth of an octave; None unless it stands `HUMP_DB` over the middle.

    A high-pass of second order has its top at fs/√(1 - 1/(2Q²)), Q/√(1 - 1/(4Q²)) high (Small, J. Audio Eng. Soc. 20, 1972, from memory):
    the height tells Q and so fs. What the telephone may do to the height is what makes it unsure.
    """
    from scipy.ndimage import uniform_filter1d

    smooth = uniform_filter1d(level, 9, mode="nearest")
    inside = np.flatnonzero((frequency >= HUMP_HZ[0]) & (frequency <= HUMP_HZ[1]))
    if len(inside) < 24:
        return None
    top = int(inside[np.argmax(smooth[inside])])
    edge = top - inside[0] < 5 or inside[-1] - top < 5
    if edge or smooth[top] < HUMP_DB or smooth[top] - smooth[inside[0] : top].min() < HUMP_DB:
        return None
    at, height = float(frequency[top]), float(smooth[top])
    value = at * _below_top(height)
    unsure = next((phone_u_db(band) for band in BANDS_HZ if band[0] <= at < band[1]), 1.5)
    doubt = 0.5 * abs(_below_top(height + unsure) - _below_top(max(height - unsure, 0.3))) * at
    return Told(value=value, u=math.hypot(HUMP_U * value, doubt))


def _below_top(height_db: float) -> float:
    """Fs over the frequency of the top, of a high-pass whose top is so high (dB): with h = 10^(dB/20), Q² = h²/2 (1 + √(1 - 1/h²))."""
    h2 = 10.0 ** (height_db / 10.0)
    q2 = 0.5 * h2 * (1.0 + math.sqrt(max(1.0 - 1.0 / h2, 0.0)))
    return math.sqrt(max(1.0 - 1.0 / (2.0 * q2), 0.05))
