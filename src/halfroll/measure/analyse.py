"""The recipe from a recording to a response."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.core.conditions import Conditions
from halfroll.core.errors import InputError
from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray, FloatArray, db
from halfroll.core.progress import Progress, silent
from halfroll.core.text import THIN, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure import checks
from halfroll.measure.deconvolve import (
    Deconvolution,
    Window,
    cut,
    deconvolve,
    order_spectrum,
    order_window,
    reference_spectrum,
    spectrum_at,
)
from halfroll.measure.gate import choose_gate, find_reflection, gate_window
from halfroll.measure.locate import Clock, band_delays, check_ridge, find_ridge, peak_time, read_clock
from halfroll.measure.noise import noise_in_order, noise_spectrum
from halfroll.measure.recording import Recording, Role
from halfroll.measure.response import ORDERS, Gate, ImpulseResponse, Response
from halfroll.measure.sweep import Sweep

ANALYSIS_VERSION = 2
"""Raised whenever the same recording would give another response; cached results of older versions are dropped."""

_SMALLEST_DRIFT = {True: 20e-6, False: 300e-6}
"""Clock difference that is corrected and said: with the voltage recorded, and with the microphone alone."""


@dataclass(frozen=True, kw_only=True)
class AnalysisSettings:
    """Choices in the analysis. `gate`: ``auto`` (up to the first reflection), ``none`` or a length in seconds."""

    gate: Literal["auto", "none"] | float = "auto"


@dataclass(frozen=True, kw_only=True)
class _Aligned:
    """A deconvolved recording with its zero found and its clock corrected."""

    deconvolution: Deconvolution
    window: Window
    verdicts: tuple[Verdict, ...]
    start_s: float


def analyse(
    recording: Recording,
    sweep: Sweep,
    conditions: Conditions,
    settings: AnalysisSettings | None = None,
    progress: Progress = silent,
) -> Response:
    """Analyse one take.

    Parameters
    ----------
    recording
        One microphone channel; optionally terminal voltage and current.
    sweep
        The sweep that was played.
    conditions
        Conditions of the take; without a voltage channel `conditions.drive_v` is the r.m.s. voltage of the sweep.
    settings
        Gate and the like.
    progress
        Called between the steps; may cancel.

    Raises
    ------
    InputError
        When the recording cannot be this sweep, or a voltage is neither recorded nor stated.
    """
    settings = settings or AnalysisSettings()
    checks.check_samples(recording, sweep)
    sweep = _at_rate(sweep, recording.rate_hz)
    progress(0.05, "finding the sweep")
    aligned = _align(recording, sweep, conditions)
    progress(0.5, "reading the fundamental")
    return _assemble(recording, aligned, conditions, settings, progress)


def _at_rate(sweep: Sweep, rate_hz: int) -> Sweep:
    """The sweep at the recording's rate; what the rate cuts off is cut off."""
    if sweep.rate_hz == rate_hz:
        return sweep
    stop = min(sweep.stop_hz, rate_hz / 2)
    shorter = sweep.rate_constant_s * float(np.log(stop / sweep.start_hz))
    return replace(sweep, rate_hz=rate_hz, stop_hz=stop, duration_s=shorter)


def _channels(recording: Recording) -> dict[str, FloatArray]:
    found = {role: recording.physical(role) for role in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)}
    return {role.value: samples for role, samples in found.items() if samples is not None}


def _align(recording: Recording, sweep: Sweep, conditions: Conditions) -> _Aligned:
    channels = _channels(recording)
    with_voltage = Role.VOLTAGE.value in channels
    lead = Role.VOLTAGE.value if with_voltage else Role.MICROPHONE.value
    length_s = recording.samples.shape[1] / recording.rate_hz
    start = check_ridge(find_ridge(channels[lead], recording.rate_hz), sweep, length_s)
    result, clock = _deconvolve_at(channels, lead, sweep, start, length_s)
    verdicts: list[Verdict] = []
    if clock.jump_s:
        verdicts.append(_jump_verdict(clock, sweep))
    elif abs(clock.drift) > _SMALLEST_DRIFT[with_voltage] and abs(clock.drift) > 4 * clock.u_drift:
        verdicts.append(_drift_verdict(clock))
        sweep = sweep.stretched(1 + clock.drift)
        result, _ = _deconvolve_at(channels, lead, sweep, start, length_s)
    window = order_window(sweep, 1, length_s - result.origin_s - 0.05 + sweep.duration_s)
    return _Aligned(deconvolution=result, window=window, verdicts=tuple(verdicts), start_s=result.origin_s)


def _deconvolve_at(
    channels: dict[str, FloatArray], lead: str, sweep: Sweep, start_s: float, length_s: float
) -> tuple[Deconvolution, Clock]:
    """Deconvolve, put the zero on the lead channel's peak, and read the clock from its delays."""
    result = deconvolve(channels, sweep, start_s)
    origin = peak_time(result.responses[lead], sweep.rate_hz, start_s)
    result = replace(result, origin_s=origin)
    window = order_window(sweep, 1, length_s)
    piece, before, _ = cut(result.responses[lead], sweep.rate_hz, origin, window)
    low = 200.0 if lead == Role.VOLTAGE.value else 1000.0
    high = min(0.8 * sweep.stop_hz, 10_000.0)
    if high < 2.5 * low:
        return result, Clock(drift=0.0, u_drift=np.inf)
    edges = low * (high / low) ** np.linspace(0, 1, 17)
    grid = np.arange(low, high, 1.0)
    spectrum = spectrum_at(piece, before, 0.0, sweep.rate_hz, grid)
    delays = band_delays(spectrum, grid, edges)
    return result, read_clock(delays, np.sqrt(edges[1:] * edges[:-1]), sweep.rate_constant_s, sweep.rate_hz)


def _jump_verdict(clock: Clock, sweep: Sweep) -> Verdict:
    samples = round(abs(clock.jump_s) * sweep.rate_hz)
    word = "lost" if clock.jump_s < 0 else "inserted"
    return Verdict(
        code="samples-lost",
        severity=Severity.BAD,
        text=f"About {samples} samples were {word} while the sweep passed {clock.jump_at_hz:.0f} Hz.",
        remedy="Use a larger buffer, close other programs and record again.",
        data={"samples": samples, "at_hz": clock.jump_at_hz},
    )


def _drift_verdict(clock: Clock) -> Verdict:
    return Verdict(
        code="clock-drift",
        severity=Severity.NOTE if abs(clock.drift) < 1e-3 else Severity.CAUTION,
        text=f"Player and recorder run on different clocks, {1e6 * clock.drift:+.0f} ppm; this was corrected.",
        remedy="Play and record with one device, or record the terminal voltage as well.",
        data={"drift_ppm": 1e6 * clock.drift},
    )


def _valid_range(sweep: Sweep) -> tuple[float, float]:
    """Where sweep and fades leave the estimate undisturbed.

    At the start 80 ms and a sixth of an octave after it, beyond the fade; at the end a twelfth of an octave.  Against
    SciPy's filters the magnitude is then within 0.15 dB for sweeps of 3 s and more.
    """
    rate = sweep.rate_constant_s
    low = sweep.start_hz * max(float(np.exp(max(sweep.fade_in_s, 0.08) / rate)), 2 ** (1 / 6))
    high = min(sweep.stop_hz, 0.46 * sweep.rate_hz) / max(
        float(np.exp(sweep.fade_out_s / rate)), 2 ** (1 / 12)
    )
    return low, high


def _assemble(
    recording: Recording,
    aligned: _Aligned,
    conditions: Conditions,
    settings: AnalysisSettings,
    progress: Progress,
) -> Response:
    result, window = aligned.deconvolution, aligned.window
    sweep = result.sweep
    valid = _valid_range(sweep)
    grid = log_grid(*valid)
    reference = reference_spectrum(result, window, grid)
    spectra = {
        role: order_spectrum(result.responses[role.value], result, 1, window, grid) / reference
        for role in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)
        if role.value in result.responses
    }
    voltage_pk, drive = _voltage(spectra, grid, conditions)
    turn = voltage_pk / np.abs(voltage_pk)
    arrival, gate, impulse = _gate(result, window, drive, settings)
    gated_window = gate_window(gate, window, arrival)
    microphone = spectra[Role.MICROPHONE]
    gated = (
        microphone
        if gate.length_s is None
        else order_spectrum(result.responses[Role.MICROPHONE.value], result, 1, gated_window, grid)
        / reference
    )
    progress(0.7, "reading the harmonics")
    harmonics, noise = _orders(recording, aligned, grid, turn)
    impedance, impedance_verdict = _impedance(spectra)
    root2 = np.sqrt(2.0)
    recorded = Role.VOLTAGE in spectra
    found = [
        *aligned.verdicts,
        *_sample_verdicts(recording, sweep, aligned.start_s),
        checks.swapped(spectra, grid),
        impedance_verdict,
        checks.signal_over_noise(np.abs(microphone) / root2, noise[0], grid),
        checks.drive_mismatch(conditions.drive_v, drive) if recorded else None,
        checks.arrival_mismatch(arrival, conditions) if recorded else None,
        _reflection_verdict(gate, conditions.distance_m),
    ]
    progress(1.0, "done")
    return Response(
        frequency_hz=grid,
        pressure_pa=gated / turn / root2,
        pressure_full_pa=microphone / turn / root2,
        voltage_v=np.abs(voltage_pk) / root2,
        harmonics_pa=harmonics,
        noise_pa=noise,
        impedance_ohm=impedance,
        impulse=impulse,
        gate=gate,
        valid_hz=valid,
        conditions=replace(conditions, drive_v=drive),
        calibrated=Role.MICROPHONE in recording.scales,
        voltage_recorded=recorded,
        microphone_u_db=_scale_u(recording, Role.MICROPHONE),
        voltage_u_db=_scale_u(recording, Role.VOLTAGE),
        verdicts=tuple(v for v in found if v is not None),
    )


def _scale_u(recording: Recording, role: Role) -> float:
    scale = recording.scales.get(role)
    return 0.0 if scale is None else scale.u_db


def _voltage(
    spectra: dict[Role, ComplexArray], grid: FloatArray, conditions: Conditions
) -> tuple[ComplexArray, float]:
    """Complex peak voltage over frequency and its r.m.s. mean over the middle of the range."""
    if Role.VOLTAGE in spectra:
        voltage = spectra[Role.VOLTAGE]
        return voltage, float(np.sqrt(np.mean(np.abs(voltage) ** 2) / 2.0))
    if conditions.drive_v is None:
        raise InputError(
            "The drive voltage must be recorded or stated",
            key="drive_v",
            found="neither a voltage channel nor drive_v",
            remedy="Enter the r.m.s. voltage at the terminals",
        )
    return np.full(len(grid), np.sqrt(2.0) * conditions.drive_v + 0j), conditions.drive_v


def _gate(
    result: Deconvolution, window: Window, drive_v: float, settings: AnalysisSettings
) -> tuple[float, Gate, ImpulseResponse]:
    rate = result.rate_hz
    piece, before, _ = cut(result.responses[Role.MICROPHONE.value], rate, result.origin_s, window)
    arrival = (
        before + int(np.argmax(np.abs(piece[before : before + rate // 4]))) if len(piece) > before else 0
    )
    arrival_s = (arrival - before) / rate
    reflection = find_reflection(piece, arrival, rate, result.sweep.stop_hz)
    gate = choose_gate(settings.gate, reflection)
    first = max(arrival - round(5e-3 * rate), 0)
    last = min(arrival + round(0.1 * rate), len(piece))
    impulse = ImpulseResponse(
        values=piece[first:last] / (np.sqrt(2.0) * drive_v), start_s=(first - arrival) / rate, rate_hz=rate
    )
    return arrival_s, gate, impulse


def _orders(
    recording: Recording, aligned: _Aligned, grid: FloatArray, turn: ComplexArray
) -> tuple[ComplexArray, FloatArray]:
    """Harmonics re the voltage's phase, r.m.s., (9, n_f), and the noise in fundamental and harmonics, (10, n_f)."""
    result, sweep = aligned.deconvolution, aligned.deconvolution.sweep
    microphone = recording.physical(Role.MICROPHONE)
    assert microphone is not None
    noise = noise_spectrum(microphone, sweep, aligned.start_s)
    top = 0.48 * sweep.rate_hz
    harmonics = np.full((len(ORDERS), len(grid)), np.nan + 0j)
    floor = np.full((len(ORDERS) + 1, len(grid)), np.nan)
    floor[0] = noise_in_order(noise, sweep, 1, aligned.window, grid)
    for row, order in enumerate(ORDERS):
        inside = order * grid <= top
        window = order_window(sweep, order, 0.0)
        values = order_spectrum(result.responses[Role.MICROPHONE.value], result, order, window, grid[inside])
        harmonics[row, inside] = values / turn[inside] ** order / np.sqrt(2.0)
        floor[row + 1, inside] = noise_in_order(noise, sweep, order, window, grid[inside])
    return harmonics, floor


def _impedance(spectra: dict[Role, ComplexArray]) -> tuple[ComplexArray | None, Verdict | None]:
    if Role.VOLTAGE not in spectra or Role.CURRENT not in spectra:
        return None, None
    impedance: ComplexArray = spectra[Role.VOLTAGE] / spectra[Role.CURRENT]
    verdict = checks.impedance_sense(impedance)
    if verdict is not None and verdict.code == "current-reversed":
        impedance = -impedance
    return impedance, verdict


def _sample_verdicts(recording: Recording, sweep: Sweep, start_s: float) -> list[Verdict]:
    found: list[Verdict | None] = []
    for role, samples in zip(recording.roles, recording.samples, strict=True):
        if role is Role.UNUSED:
            continue
        found.append(checks.clipping(samples, role))
        found.append(checks.dropout(samples, role, sweep, start_s))
    return [v for v in found if v is not None]


def _reflection_verdict(gate: Gate, distance_m: float) -> Verdict | None:
    if gate.reflection_s is None or gate.reflection_db is None:
        return None
    gain = gate.bass_gain(distance_m)
    lowest, highest = (
        format_value(float(db(1 + sign * gain)), 0.5, "dB", digits=1, sign=True) for sign in (-1, 1)
    )
    moves = f"by {lowest} to {highest}"
    at = format_value(gate.reflection_db, 5.0, "dB", digits=1, sign=True)
    text = f"A reflection arrives {1e3 * gate.reflection_s:.1f}{THIN}ms after the direct sound at {at}. "
    if gate.length_s is None or gate.length_s > gate.reflection_s:
        text += f"It can move the level {moves}."
        remedy = f"A gate of {1e3 * gate.reflection_s - 0.1:.1f}{THIN}ms keeps it out."
    else:
        text += (
            f"The gate of {1e3 * gate.length_s:.1f}{THIN}ms keeps it out. Below {gate.valid_from_hz:.0f}{THIN}Hz the room is "
            f"included and can move the level {moves}."
        )
        remedy = "For the bass measure farther from floor and walls, or close to the cone."
    return Verdict(
        code="reflection",
        severity=Severity.CAUTION,
        text=text,
        remedy=remedy,
        data={
            "delay_s": gate.reflection_s,
            "level_db": gate.reflection_db,
            "valid_from_hz": gate.valid_from_hz,
        },
    )
