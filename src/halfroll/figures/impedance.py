"""Figures of impedance: resonance and minimum, with the check against the rated impedance."""

from __future__ import annotations

import numpy as np

from halfroll.core.frequency import in_band
from halfroll.core.levels import FloatArray
from halfroll.core.text import format_stated, format_value
from halfroll.figures.types import Reading
from halfroll.figures.view import TakeView

RATED_SHARE = 0.80
"""The lowest modulus must be at least this share of the rated impedance, IEC 60268-5 cl. 16.1."""

LEAST_PEAK = 0.05
"""Prominence over the minimum from which a maximum of the modulus counts as a resonance."""

NOT_RECORDED = "The current was not recorded."


def read_resonance(view: TakeView) -> Reading:
    """Lowest frequency at which the modulus of the impedance has its principal maximum (Hz)."""
    curve = _modulus(view)
    if curve is None:
        return Reading(missing=NOT_RECORDED)
    frequency, modulus = curve
    peak = _principal_peak(modulus)
    if peak is None:
        return Reading(missing="The impedance has no peak inside the measured range.")
    step = float(np.log(frequency[1] / frequency[0]))
    at = np.log(frequency[peak]) + step * _vertex(modulus[peak - 1 : peak + 2])
    value = float(np.exp(at))
    return Reading(value=value, at_hz=value)


def read_impedance_minimum(view: TakeView) -> Reading:
    """Lowest modulus of the impedance in the measured range (ohm), checked against 80 % of the rated impedance."""
    curve = _modulus(view)
    if curve is None:
        return Reading(missing=NOT_RECORDED)
    frequency, modulus = curve
    lowest = int(np.argmin(modulus))
    value, at_hz, rated = float(modulus[lowest]), float(frequency[lowest]), view.rated_impedance_ohm
    cautions: tuple[str, ...] = ()
    if rated is not None and value < RATED_SHARE * rated:
        cautions = (
            f"{format_value(value, None, 'ohm')} is less than 80 % of the rated {format_stated(rated, 'ohm')} "
            f"(lowest allowed: {format_value(RATED_SHARE * rated, None, 'ohm')}, IEC 60268-5).",
        )
    return Reading(value=value, at_hz=at_hz, cautions=cautions)


def _modulus(view: TakeView) -> tuple[FloatArray, FloatArray] | None:
    """Frequency and modulus of the impedance where it is known; None without a current channel."""
    response = view.response
    if response.impedance_ohm is None:
        return None
    modulus = np.abs(response.impedance_ohm)
    mask = in_band(response.frequency_hz, response.valid_hz) & np.isfinite(modulus)
    return (response.frequency_hz[mask], modulus[mask]) if mask.sum() >= 3 else None


def _principal_peak(modulus: FloatArray) -> int | None:
    """Index of the most prominent inner maximum; None when none stands out.

    Prominence is what `scipy.signal.find_peaks` calls so; written out, for loading that library takes longer than a whole prediction's figures.
    """
    rise = np.diff(modulus)
    peaks = np.flatnonzero((rise[:-1] > 0.0) & (rise[1:] <= 0.0)) + 1
    standing = [float(modulus[peak]) - _saddle(modulus, int(peak)) for peak in peaks]
    if not standing or max(standing) < LEAST_PEAK * float(modulus.min()):
        return None
    return int(peaks[int(np.argmax(standing))])


def _saddle(modulus: FloatArray, peak: int) -> float:
    """The higher of the lowest values to either side before the curve is higher than at the peak."""
    higher = np.flatnonzero(modulus > modulus[peak])
    low = int(higher[higher < peak].max(initial=-1)) + 1
    high = int(higher[higher > peak].min(initial=len(modulus)))
    return float(max(modulus[low : peak + 1].min(), modulus[peak:high].min()))


def _vertex(three: FloatArray) -> float:
    """Place of the vertex of the parabola through three equally spaced points, in steps from the middle one."""
    bend = three[0] - 2.0 * three[1] + three[2]
    return 0.0 if bend == 0.0 else float(0.5 * (three[0] - three[2]) / bend)
