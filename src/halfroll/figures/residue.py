"""The figure of what lies above the harmonics: rub, buzz, leaks."""

from __future__ import annotations

import numpy as np

from halfroll.core.frequency import in_band
from halfroll.core.text import format_band
from halfroll.figures.types import Reading
from halfroll.figures.view import TakeView

DB_OF_POWER = 10.0 / np.log(10.0)
"""Decibels of a small relative change of a power."""

LEAST_COVERED = 0.9
"""Share of the band's octaves that must have been looked at."""


def read_residue_worst(view: TakeView) -> Reading:
    """Highest level of orders from 12 up in the distortion band (dB re fundamental) and its frequency.

    Where noise hides what is highest, only an upper bound.
    """
    residue, band = view.response.residue, view.settings.distortion_band_hz
    inside = None if residue is None else in_band(residue.frequency_hz, band)
    if residue is None or inside is None or inside.sum() < LEAST_COVERED * 12.0 * np.log2(band[1] / band[0]):
        return Reading(missing=f"Orders from 12 up were not recorded throughout {format_band(band)}.")
    worst = int(np.flatnonzero(inside)[np.argmax(residue.level_db[inside])])
    value, at_hz = float(residue.level_db[worst]), float(residue.frequency_hz[worst])
    floor = float(residue.floor_db[worst])
    if not np.isfinite(floor):
        return Reading(
            value=value, bound="upper", at_hz=at_hz, cautions=("Without silence the noise is in it.",)
        )
    if value <= floor + 1e-6:
        return Reading(
            value=value,
            bound="upper",
            at_hz=at_hz,
            cautions=("Where the noise hides it, only a bound is known.",),
        )
    noise = 10.0 ** ((float(residue.noise_db[worst]) - value) / 10.0)
    u = DB_OF_POWER * float(residue.deviation[worst]) * (1.0 + noise)
    return Reading(value=value, u=u, at_hz=at_hz)
