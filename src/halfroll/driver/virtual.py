"""A virtual take: the house sweep is played through a driver, heard by a microphone, and analysed by the code that analyses recordings.

There is no noise and no room in it. What the model of the driver leaves out, the take leaves out too: see `large_signal`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.conditions import Conditions
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.cone import ConeMode
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.microphone import Position, outlet_pressure, sound_pressure
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.analysis.response import Gate, Response
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep

SET_AT_HZ = 400.0
"""Where the drive is set, as with a voltmeter at the terminals (Hz): above resonance, below inductance."""

SWEEP = Sweep(duration_s=12.0)
"""The house sweep at half its speed, for a computer has the time: harmonics 2 to 5 are then within 0.12 dB of those of steady tones, down to
-70 dB (0.23 dB at 6 s), against the tables of tests/references/nonlinear_driver."""

HEADROOM = 2.0
"""Full scale of a channel over its peak."""

_OVERSAMPLING = 4
"""Steps per sample: within 1e-5 of twice as many in acceleration."""


def warm_up() -> None:
    """Load what a take is played, analysed and put together with; for a thread of its own while the driver is still being worked out."""
    import scipy.fft
    import scipy.interpolate  # noqa: F401
    import soxr  # noqa: F401

    any_driver = DriverModel(
        Re=6.0, Mms=5e-3, Rms=0.5, Sd=5e-3, Bl=(4.0,), K=(2e3,), Le=(1e-4,), x_range=(-1e-3, 1e-3), creep=0.1
    )
    play(any_driver, np.zeros(64), SWEEP.rate_hz, oversampling=_OVERSAMPLING)


def virtual_response(
    model: DriverModel,
    *,
    drive_v: float,
    conditions: Conditions,
    load: AcousticLoad | None = None,
    modes: Sequence[ConeMode] = (),
    sweep: Sweep | None = None,
    series_ohm: float = 0.1,
    progress: Progress = silent,
) -> Response:
    """Play a sweep through a driver and analyse what a microphone and two electrical channels hold of it.

    Parameters
    ----------
    model
        The driver; Mms holds its air load.
    drive_v
        R.m.s. voltage at the terminals, set with a tone of `SET_AT_HZ` as on the bench.
    conditions
        Where the microphone stands; the air is that of its temperature, and its drive is replaced by `drive_v`.
    load
        What stands behind the cone; None: an infinite baffle. The sound of its outlets is added to the cone's.
    modes
        Of the cone, re its rigid motion.
    sweep
        The house sweep when None.
    series_ohm
        Resistance before the terminals: a current shunt and the lead.

    Raises
    ------
    TravelError
        The cone leaves the displacements for which the model holds; `quick.quick_response` then tells what is not touched.
    CancelledError
        Through `progress`.
    """
    played = SWEEP if sweep is None else sweep
    air = air_of(conditions)
    peak = math.sqrt(2.0) * source_v(model, drive_v, series_ohm, load)
    motion = play(
        model, played.samples() * (peak / played.level), played.rate_hz, series_ohm=series_ohm,
        oversampling=_OVERSAMPLING, load=load, progress=part(progress, 0.0, 0.5),
    )  # fmt: skip
    recording = record(motion, model.radius, Position(distance_m=conditions.distance_m, air=air), modes)
    found = analyse(
        recording, played, replace(conditions, drive_v=drive_v, radius_m=conditions.radius_m or model.radius),
        AnalysisSettings(gate="none"), part(progress, 0.5, 1.0),
    )  # fmt: skip
    # There is no room: what looks like a reflection is the cone's own ringing.
    return replace(found, gate=Gate(), verdicts=tuple(v for v in found.verdicts if v.code != "reflection"))


def source_v(
    model: DriverModel, drive_v: float, series_ohm: float, load: AcousticLoad | None = None
) -> float:
    """R.m.s. voltage of the source (V) that puts `drive_v` on the terminals at `SET_AT_HZ` and small signals."""
    impedance = linear_response(model, np.array([SET_AT_HZ]), load=load).impedance_ohm[0]
    return drive_v * abs(1.0 + series_ohm / complex(impedance))


def air_of(conditions: Conditions) -> Air:
    """The air of a take: dry air of its temperature, the standard's where that is not stated."""
    return STANDARD_AIR if conditions.temperature_c is None else Air.at(conditions.temperature_c)


def record(motion: Motion, radius_m: float, position: Position, modes: Sequence[ConeMode] = ()) -> Recording:
    """What microphone, voltage and current channels hold of a motion, without noise and on exact scales."""
    pressure = sound_pressure(motion, radius_m, position, modes)
    if motion.flows_m3_s is not None and motion.flows_m3_s.size:
        pressure = pressure + outlet_pressure(motion.flows_m3_s, motion.sample_rate_hz, position)
    channels = {Role.MICROPHONE: pressure, Role.VOLTAGE: motion.voltage_v, Role.CURRENT: motion.current_a}
    scales = {role: HEADROOM * float(np.max(np.abs(samples))) for role, samples in channels.items()}
    return Recording(
        samples=np.stack([samples / scales[role] for role, samples in channels.items()]),
        rate_hz=round(motion.sample_rate_hz),
        roles=tuple(channels),
        scales={role: Scale(per_full_scale=scale) for role, scale in scales.items()},
    )
