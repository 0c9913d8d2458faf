"""What a recording of stepped tones says: harmonics, THD and impedance at each tone, with uncertainty.

Works from the samples and the schedule alone, so that it can be done again from stored audio at any time.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfroll.core.conditions import Conditions
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.analysis.noise import SHORTEST_SILENCE_S, spectrum_of
from halfroll.measure.recording import Recording, Role
from halfroll.measure.stepped.tone_estimate import HIGHEST_ORDER, ToneEstimate, estimate
from halfroll.measure.stepped.tone_results import ToneResults
from halfroll.measure.stepped.tone_verdicts import noise_with_tone, tone_verdicts, without_clipped
from halfroll.measure.stepped.tones import Schedule


def analyse_tones(recording: Recording, schedule: Schedule, conditions: Conditions) -> ToneResults:
    """Harmonics, distortion and impedance of recorded tones.

    Raises
    ------
    InputError
        No microphone channel, no tone, a sample rate that is not the schedule's, or a recording too short for it.
    """
    check_recording(recording, schedule)
    schedule, clipped = without_clipped(recording, schedule)
    found = [estimate(recording.samples, tone, schedule.rate_hz) for tone in schedule.tones]
    orders = np.stack([one.orders for one in found], axis=2)
    noise = np.stack([one.noise for one in found], axis=2)
    phase = _drive_phase(recording, schedule, found, orders)
    frequency = np.array([tone.frequency_hz(schedule.rate_hz) for tone in schedule.tones])
    _correct(recording, frequency, orders, noise)
    channels = {role: _channel(recording, role, orders, noise, phase) for role in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)}  # fmt: skip
    microphone, voltage, current = (channels[r] for r in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT))
    assert microphone is not None
    level = np.array([tone.level_v for tone in schedule.tones])
    results = ToneResults(
        tones=schedule.tones,
        rate_hz=schedule.rate_hz,
        frequency_hz=frequency,
        level_v=level,
        voltage_v=level if voltage is None else np.abs(voltage[0][0]),
        pressure=microphone[0],
        pressure_noise=microphone[1],
        voltage=None if voltage is None else voltage[0],
        voltage_noise=None if voltage is None else voltage[1],
        current=None if current is None else current[0],
        current_noise=None if current is None else current[1],
        settled=np.array([one.settled for one in found]),
        seconds=np.array([(one.window[1] - one.window[0]) / schedule.rate_hz for one in found]),
        conditions=conditions,
        calibrated=Role.MICROPHONE in recording.scales,
        voltage_recorded=voltage is not None,
        microphone_u_db=recording.u_db(Role.MICROPHONE),
        voltage_u_db=recording.u_db(Role.VOLTAGE),
        current_u_db=recording.u_db(Role.CURRENT),
    )
    silence = _silence(recording, schedule, results)
    along = None if silence is None else noise_with_tone(results, silence)
    verdicts = (*recording.verdicts, *clipped, *tone_verdicts(results), *([] if along is None else [along]))
    return replace(results, verdicts=verdicts)


def check_recording(recording: Recording, schedule: Schedule) -> None:
    """Refuse a recording that cannot be the one of a schedule."""
    if not schedule.tones:
        raise InputError("A series of tones must have one tone at least; none was played")
    if Role.MICROPHONE not in recording.roles:
        raise InputError(
            "A series of tones must have a microphone channel", key="roles", found=", ".join(recording.roles)
        )
    if recording.rate_hz != schedule.rate_hz:
        raise InputError("The recording must have the sample rate of its schedule",
                         found=f"{recording.rate_hz} Hz", allowed=f"{schedule.rate_hz} Hz")  # fmt: skip
    end = max(tone.first(schedule.rate_hz) + tone.blocks * tone.block for tone in schedule.tones)
    if recording.samples.shape[1] < end:
        raise InputError("The recording is shorter than its schedule",
                         found=f"{recording.samples.shape[1]} samples", allowed=f"at least {end}")  # fmt: skip
    if not np.isfinite(recording.samples).all():
        raise InputError("Every sample must be a number", remedy="Measure the tones again")
    for role, channel in zip(recording.roles, recording.samples, strict=True):
        if role is not Role.UNUSED and not np.any(channel):
            raise InputError(
                f"Nothing was recorded: every sample of the {role} channel is zero",
                remedy="Check cable, input and channel order",
            )


def _drive_phase(
    recording: Recording, schedule: Schedule, found: list[ToneEstimate], orders: ComplexArray
) -> FloatArray:
    """Phase (n,) of the drive at the start of each window: that of the voltage, or that of the samples played."""
    if Role.VOLTAGE in recording.roles:
        return np.asarray(np.angle(orders[recording.roles.index(Role.VOLTAGE), 0]), dtype=np.float64)
    since = [one.window[0] - tone.start for one, tone in zip(found, schedule.tones, strict=True)]
    turned = [t * tone.periods / tone.block for t, tone in zip(since, schedule.tones, strict=True)]
    return np.asarray(2.0 * np.pi * np.array(turned) - np.pi / 2.0)


def _silence(recording: Recording, schedule: Schedule, results: ToneResults) -> FloatArray | None:
    """What the silence before the tones gives to each order, r.m.s., (10, n): σ² = S/T with the one-sided density S.

    None where too little silence was recorded, or digital silence that no noise is to be read from.
    """
    rate = schedule.rate_hz
    signal = recording.samples[recording.roles.index(Role.MICROPHONE)]
    if schedule.silence < SHORTEST_SILENCE_S * rate or not np.any(np.diff(signal[: schedule.silence])):
        return None
    scale = recording.scales.get(Role.MICROPHONE)
    at = np.arange(1, HIGHEST_ORDER + 1)[:, None] * results.frequency_hz
    density = spectrum_of(signal, [slice(0, schedule.silence)], rate).at(at)
    heard = np.sqrt(density / results.seconds) * (1.0 if scale is None else scale.per_full_scale)
    return (
        heard if recording.correction is None else np.asarray(heard * np.abs(recording.correction.factor(at)))
    )


def _correct(recording: Recording, frequency: FloatArray, orders: ComplexArray, noise: FloatArray) -> None:
    """Take the microphone's own response off its orders and their noise, at the frequency each is heard at, in place."""
    if recording.correction is None:
        return
    row = recording.roles.index(Role.MICROPHONE)
    factor = recording.correction.factor(np.arange(1, HIGHEST_ORDER + 1)[:, None] * frequency)
    orders[row] *= factor
    noise[row] *= np.abs(factor)


def _channel(
    recording: Recording, role: Role, orders: ComplexArray, noise: FloatArray, phase: FloatArray
) -> tuple[ComplexArray, FloatArray] | None:
    """Orders and noise (10, n) of a channel in its physical unit, phases re the drive; None without the channel."""
    if role not in recording.roles:
        return None
    row = recording.roles.index(role)
    scale = recording.scales.get(role)
    factor = 1.0 if scale is None else scale.per_full_scale
    n = np.arange(1, HIGHEST_ORDER + 1)[:, None]
    # cos(n w t + p) under a drive cos(w t) is sin(n phi + p - (n - 1) pi/2) under a drive sin(phi)
    turn = np.exp(-1j * (n * phase + (n - 1) * np.pi / 2.0))
    return factor * orders[row] * turn, factor * noise[row]
