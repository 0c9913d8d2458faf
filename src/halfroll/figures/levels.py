"""Figures of level: characteristic sensitivity, at 1 W and at 2.83 V, and the maximum level that heat allows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.core.levels import power_mean_db
from halfroll.figures.types import Reading
from halfroll.figures.view import Coverage, TakeView
from halfroll.measure.analysis.normalise import TRADE_VOLTAGE_V, one_watt_caution, voltage_for

NO_IMPEDANCE = "The rated impedance of the version is not stated."
NO_POWER = "The rated power of the version is not stated."
NOT_CALIBRATED = "The microphone is not calibrated, so the level in pascals is unknown."


def read_sensitivity(view: TakeView) -> Reading:
    """Characteristic sensitivity level at 1 W into the rated impedance and 1 m (dB)."""
    if view.rated_impedance_ohm is None:
        return Reading(missing=NO_IMPEDANCE)
    return _mean_level(view, voltage_for(1.0, view.rated_impedance_ohm))


def read_sensitivity_2v83(view: TakeView) -> Reading:
    """Mean level at 2.83 V and 1 m (dB), with a caution where that is not 1 W."""
    reading = _mean_level(view, TRADE_VOLTAGE_V)
    if reading.value is None or view.rated_impedance_ohm is None:
        return reading
    caution = one_watt_caution(view.rated_impedance_ohm)
    return replace(reading, cautions=(*reading.cautions, caution)) if caution else reading


def read_max_level(view: TakeView) -> Reading:
    """Sensitivity plus ten times the logarithm of the rated power (dB): 69 dB at 1 W and 3 W give 73.8 dB."""
    if view.rated_power_w is None:
        return Reading(missing=NO_POWER)
    reading = read_sensitivity(view)
    if reading.value is None:
        return reading
    return replace(reading, value=reading.value + 10.0 * float(np.log10(view.rated_power_w)))


def _mean_level(view: TakeView, drive_v: float) -> Reading:
    """Power mean over the sensitivity band of the level at a drive voltage and 1 m."""
    if not view.response.calibrated:
        return Reading(missing=NOT_CALIBRATED)
    per_volt = view.per_volt
    if isinstance(per_volt, RefusedError):
        return Reading(missing=str(per_volt))
    coverage = view.coverage(view.settings.sensitivity_band_hz, per_volt.valid_hz)
    if coverage.missing:
        return Reading(missing=coverage.missing)
    mask = coverage.mask
    noise, room = _mean_u(view, coverage)
    cautions = tuple(v.text for v in per_volt.cautions)
    return Reading(
        value=power_mean_db(per_volt.level_db[mask], coverage.weights) + 20.0 * float(np.log10(drive_v)),
        u=float(np.hypot(noise, room)),
        u_room=room,
        cautions=(*cautions, *coverage.cautions, *view.gate_cautions(float(per_volt.frequency_hz[mask][0]))),
    )


def _mean_u(view: TakeView, coverage: Coverage) -> tuple[float, float]:
    """Uncertainty (dB) of a band mean from noise, taken as independent from third-octave to third-octave, and from the
    room, which moves whole bands together.
    """
    frequency = view.response.frequency_hz[coverage.mask]
    third_octaves = max(1.0, 3.0 * float(np.log2(frequency[-1] / frequency[0])))
    noise = float(np.sqrt(coverage.mean(view.noise_u_db**2) / third_octaves))
    return noise, coverage.mean(view.response.room_u_db())
