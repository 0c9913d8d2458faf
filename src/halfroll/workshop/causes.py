"""Which cause makes a version's distortion, at the workshop's level."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.core.frequency import log_grid
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Verdict
from halfroll.driver.causes import Causes, distortion_causes
from halfroll.driver.causes_said import causes_said
from halfroll.driver.lumped import small_signal
from halfroll.driver.steady.two_tone import VOLTAGES, TwoTone, two_tone
from halfroll.workshop.virtual_takes import rated_impedance

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop.store import Workshop

LOW_HZ, HIGH_HZ, PER_OCTAVE = 20.0, 1000.0, 12
"""Tones that are solved: above, a cone of usual size hardly moves, and what is left is the inductance's."""


@dataclass(frozen=True, kw_only=True, eq=False)
class VersionCauses:
    """Causes of distortion, at how many watt into how many ohm, over which band it is summed up (Hz), and what must be said.

    `two_tone` are a low tone at the free resonance and a high one of a quarter of its voltage, together of the same level: what one does to the other.
    """

    causes: Causes
    two_tone: TwoTone
    level_w: float
    rated_ohm: float
    band_hz: tuple[float, float]
    verdicts: tuple[Verdict, ...]


def version_causes(
    workshop: Workshop,
    version_id: str,
    predicted: PredictedDriver,
    progress: Progress = silent,
    *,
    load: AcousticLoad | None = None,
    level_w: float | None = None,
) -> VersionCauses:
    """Which cause makes the distortion of a version's driver.

    Parameters
    ----------
    predicted
        The driver, such as `workshop.prediction.driver_model` gives it.
    load
        The cabinet behind it; None for an infinite baffle.
    level_w
        Power into the rated impedance (W); the workshop's level when None.

    Raises
    ------
    InputError
        The driver has no nonlinearity, or the level is not above zero.
    CancelledError
        Through `progress`.
    """
    settings = workshop.settings
    level = settings.level_w if level_w is None else level_w
    rated, said = rated_impedance(workshop.version(version_id).record, predicted.model)
    grid = log_grid(LOW_HZ, HIGH_HZ, PER_OCTAVE)
    volts = math.sqrt(max(level, 0.0) * rated)
    found = distortion_causes(predicted.model, volts, grid, load=load, progress=part(progress, 0.0, 0.9))
    high_v = volts / math.hypot(1.0, VOLTAGES)
    low_hz = small_signal(predicted.model).fs
    mixed = two_tone(
        predicted.model, (VOLTAGES * high_v, low_hz), load=load, progress=part(progress, 0.9, 1.0)
    )
    band = settings.distortion_band_hz
    verdicts = causes_said(found, band) + (() if said is None else (said,))
    return VersionCauses(
        causes=found, two_tone=mixed, level_w=level, rated_ohm=rated, band_hz=band, verdicts=verdicts
    )
