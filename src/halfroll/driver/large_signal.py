"""Playing a voltage through a driver: the large-signal model solved in time.

    u = Re i + d(L(x, i) i)/dt + Σ v_b + Bl(x) v            v_b = d(L_b s i_b)/dt = R_b s (i - i_b), s = Le(x)/Le(0) or 1
    Mms dv/dt + Rms v + K(x) x + F_c - Sd p = Bl(x) i + Σ Lₙ'(x) iⁿ⁺²/(n + 2) + Σ ½ L_b s' i_b²,   v = dx/dt

(Klippel, "Loudspeaker Nonlinearities: Causes, Parameters, Symptoms", JAES 54, 2006; magnetic forces by co-energy.) L(x, i) = Σ Lₙ(x) iⁿ;
F_c is what the creep of the suspension adds (`creep`); p the pressure of the load behind the cone (`acoustics.load`); Re follows the coil's and
Bl the motor's temperature where heat is given (`heat`). Not in it: memory and fatigue of the suspension, Doppler shift, and everything
acoustic in front of the cone beyond the mass of air in Mms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.heat import Heat
from halfroll.driver.loops import (
    FullLoop,
    InductanceError,
    LeanLoop,
    Loop,
    TravelError,
    full_model,
    is_simple,
    steps_per_sample,
)
from halfroll.driver.lumped import DriverModel

__all__ = ["InductanceError", "Inside", "Motion", "TravelError", "play"]

REPORT_S = 0.25
"""Stretch of signal between two progress reports (s)."""

PIECE = 8192
"""Steps solved at a time: the fine time grid then stays in the processor's cache."""

RESAMPLING = "VHQ"
"""soxr quality: linear phase, flat to 0.91 of half the sample rate, aliases below -140 dB."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Inside:
    """What goes on inside a driver, for an energy balance: currents of the eddy-current branches (A), shape (b, n); what the dampers of the
    creep elements have yielded (m), shape (c, n).
    """

    branch_a: FloatArray
    creep_m: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Motion:
    """What a driver did with a voltage; arrays have shape (n,) unless said, and the sample rate of the voltage.

    Parameters
    ----------
    sample_rate_hz
        Sample rate (Hz).
    voltage_v
        Voltage at the terminals, behind the series resistance (V).
    current_a
        Coil current (A).
    velocity_m_s, displacement_m, acceleration_m_s2
        Motion of the cone, positive outwards.
    box_pressure_pa
        Pressure in the load over its rest (Pa); None without a load.
    flows_m3_s
        Volume flow of each outlet of the load, positive outwards (m³/s), shape (k, n); None without a load.
    outlets
        Names of the outlets.
    moving_m
        Displacement of what moves beside the cone, such as a passive radiator (m), shape (m, n); None without a load.
    coil_c, magnet_c
        Temperatures (°C); None where heat was not given.
    inside
        What was asked for with `inside`.
    """

    sample_rate_hz: float
    voltage_v: FloatArray
    current_a: FloatArray
    velocity_m_s: FloatArray
    displacement_m: FloatArray
    acceleration_m_s2: FloatArray
    box_pressure_pa: FloatArray | None = None
    flows_m3_s: FloatArray | None = None
    outlets: tuple[str, ...] = ()
    moving_m: FloatArray | None = None
    coil_c: FloatArray | None = None
    magnet_c: FloatArray | None = None
    inside: Inside | None = None


def play(
    driver: DriverModel,
    voltage_v: FloatArray,
    sample_rate_hz: float,
    *,
    series_ohm: float = 0.0,
    oversampling: int | None = None,
    load: AcousticLoad | None = None,
    heat: Heat | None = None,
    inside: bool = False,
    progress: Progress = silent,
) -> Motion:
    """Play a source voltage through a driver from rest.

    Parameters
    ----------
    driver
        The driver.
    voltage_v
        Source voltage (V), shape (n,), band-limited to 0.91 of half the sample rate.
    sample_rate_hz
        Sample rate (Hz).
    series_ohm
        Resistance between source and terminals (ohm), such as a current shunt.
    oversampling
        Steps per sample; by default what `STEP_RATE_HZ` and `STIFFNESS_LIMIT` in `loops` ask for.
    load
        Cabinet behind the cone; None: an infinite baffle.
    heat
        Coil and motor that warm up; None: they stay as they are.
    inside
        Whether the motion holds what goes on inside, for `energy.energy_balance`.
    progress
        Called about every `REPORT_S` of signal; may raise `CancelledError`.

    Raises
    ------
    InputError
        When the voltage holds a value that is not finite, or is empty.
    TravelError
        When the cone leaves `driver.x_range`.
    InductanceError
        When the current leaves what `driver.Le_i` holds for.
    """
    voltage_v = np.ascontiguousarray(voltage_v, dtype=np.float64)
    if voltage_v.ndim != 1 or voltage_v.size == 0 or not np.all(np.isfinite(voltage_v)):
        raise InputError(
            "The voltage to play must be one row of finite numbers", found=f"shape {voltage_v.shape}"
        )
    lean = is_simple(driver) and load is None and heat is None and not inside
    if oversampling is None:
        model = None if lean else full_model(driver, series_ohm, load, heat)
        peak = float(np.max(np.abs(voltage_v)))
        oversampling = steps_per_sample(driver, sample_rate_hz, series_ohm, model, peak)
    loop: Loop = LeanLoop(driver, series_ohm) if lean else FullLoop(driver, series_ohm, load, heat, inside)
    track = _solve(loop, voltage_v, sample_rate_hz, oversampling, progress)
    return _motion(_Played(driver, load, heat, inside), track, voltage_v, sample_rate_hz, series_ohm)


def _solve(loop: Loop, voltage: FloatArray, rate: float, steps: int, progress: Progress) -> FloatArray:
    """What the loop tells, at the rate of the voltage, shape (columns, n)."""
    import soxr

    up = soxr.ResampleStream(rate, 2 * steps * rate, 1, dtype="float64", quality=RESAMPLING)
    fast = loop.columns - loop.slow
    down = soxr.ResampleStream(steps * rate, rate, fast, dtype="float64", quality=RESAMPLING)
    piece = max(1, PIECE // steps)
    done, waiting, parts, slow, told = 0, np.empty(0), [], [], 0
    for start in range(0, voltage.size, piece):
        if start >= told * REPORT_S * rate:
            progress(start / voltage.size, "Playing the signal through the driver")
            told += 1
        last = start + piece >= voltage.size
        waiting = np.concatenate([waiting, up.resample_chunk(voltage[start : start + piece], last=last)])
        if last:
            waiting = np.pad(waiting, (0, 1), mode="edge")
        count = max(0, (waiting.size - 1) // 2)
        if count == 0 and not last:  # at a low rate the resampler holds the first stretches back
            continue
        track = loop(waiting[: 2 * count + 1], 1.0 / (steps * rate), done)
        slow.append(track[-done % steps :: steps, fast:])
        done, waiting = done + count, waiting[2 * count :]
        parts.append(down.resample_chunk(np.ascontiguousarray(track[:, :fast]), last=last))
    progress(1.0, "Playing the signal through the driver")
    n = voltage.size
    return np.concatenate([np.concatenate(parts)[:n].T, np.concatenate(slow)[:n].T])


class _Played(NamedTuple):
    driver: DriverModel
    load: AcousticLoad | None
    heat: Heat | None
    inside: bool


def _motion(
    played: _Played, track: FloatArray, source_v: FloatArray, rate: float, series_ohm: float
) -> Motion:
    """Rows of the track by their names."""
    load, heat = played.load, played.heat
    track = np.ascontiguousarray(track)
    current, velocity, displacement, acceleration = track[:4]
    outlets, at = () if load is None else load.outlets, 5
    flows = track[at : at + len(outlets)]
    at += len(outlets)
    moving = track[at : at + (0 if load is None else len(load.moving))]
    at += len(moving)
    warm = None if heat is None else heat.air_c + track[-2:]
    return Motion(
        sample_rate_hz=rate,
        voltage_v=source_v - series_ohm * current,
        current_a=current,
        velocity_m_s=velocity,
        displacement_m=displacement,
        acceleration_m_s2=acceleration,
        box_pressure_pa=None if load is None else track[4],
        flows_m3_s=None if load is None else flows,
        outlets=outlets,
        moving_m=None if load is None else moving,
        coil_c=None if warm is None else warm[0],
        magnet_c=None if warm is None else warm[1],
        inside=_inside(played.driver, track[at:]) if played.inside else None,
    )


def _inside(driver: DriverModel, rows: FloatArray) -> Inside:
    from halfroll.driver.creep import creep_spectrum
    from halfroll.driver.loops import all_branches

    b = len(all_branches(driver))
    c = creep_spectrum(driver).time_s.size
    return Inside(branch_a=rows[:b], creep_m=rows[b : b + c])
