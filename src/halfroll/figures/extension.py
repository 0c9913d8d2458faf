"""Figures of the usable range: the lower and the upper limit as readings, with their uncertainty and bounds."""

from __future__ import annotations

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.core.frequency import in_band
from halfroll.core.levels import FloatArray
from halfroll.figures.limits import Limit, usable_range
from halfroll.figures.types import Bound, Reading
from halfroll.figures.view import TakeView
from halfroll.measure.analysis.distortion import RESOLVED_POWER

TOO_SHORT = "The measured range is shorter than an octave or does not touch the sensitivity band."


def read_lower_limit(view: TakeView) -> Reading:
    """Lower limit of the usable range (Hz); an upper bound when the level never falls that far."""
    return _read(view, lower=True)


def read_upper_limit(view: TakeView) -> Reading:
    """Upper limit of the usable range (Hz); a lower bound when the level never falls that far."""
    return _read(view, lower=False)


def _read(view: TakeView, *, lower: bool) -> Reading:
    per_volt = view.per_volt
    if isinstance(per_volt, RefusedError):
        return Reading(missing=str(per_volt))
    mask = in_band(per_volt.frequency_hz, per_volt.valid_hz)
    frequency = per_volt.frequency_hz[mask]
    found = usable_range(
        frequency, per_volt.level_db[mask], view.settings.limit_rule, view.settings.sensitivity_band_hz
    )
    if found is None:
        return Reading(missing=TOO_SHORT)
    limit = found.low if lower else found.high
    gate = view.gate_cautions(limit.hz) if lower else ()
    bound, cautions = _bound(view, limit, lower=lower)
    noise, room = (0.0, 0.0) if bound else _u_hz(limit, frequency, view.noise_u_db[mask], _room(view)[mask])
    return Reading(
        value=limit.hz,
        u=None if bound else float(np.hypot(noise, room)),
        u_room=room,
        bound=bound,
        at_hz=found.octave_centre_hz,
        cautions=(*(v.text for v in per_volt.cautions), *cautions, *gate),
    )


def _bound(view: TakeView, limit: Limit, *, lower: bool) -> tuple[Bound | None, tuple[str, ...]]:
    """Noise holds a curve up, so a limit found in the noise lies too far out; the end of the curve too far in."""
    end = "lowest" if lower else "highest"
    if _in_noise(view, limit.hz):
        return ("lower" if lower else "upper"), (
            f"At {limit.hz:.0f} Hz the fundamental lies under the noise.",
        )
    if not limit.reached:
        text = f"The level does not fall to the limit within the measured range; {limit.hz:.0f} Hz is its {end} frequency."
        return ("upper" if lower else "lower"), (text,)
    return None, ()


def _in_noise(view: TakeView, at_hz: float) -> bool:
    response = view.response
    nearest = int(np.argmin(np.abs(np.log(response.frequency_hz / at_hz))))
    noise = float(np.nan_to_num(response.noise_pa[0, nearest], nan=0.0))
    return bool(response.level_pa()[nearest] ** 2 < RESOLVED_POWER * noise**2)


def _room(view: TakeView) -> FloatArray:
    return view.response.room_u_db()


def _u_hz(
    limit: Limit, frequency_hz: FloatArray, noise_db: FloatArray, room_db: FloatArray
) -> tuple[float, float]:
    """Uncertainty (Hz) from noise and room at a crossing: decibels over slope are octaves, octaves are a ratio."""
    hz_per_db = limit.hz * np.log(2.0) / limit.slope_db_per_octave
    at = np.log(limit.hz)
    noise, room = (float(np.interp(at, np.log(frequency_hz), u)) * hz_per_db for u in (noise_db, room_db))
    return noise, room
