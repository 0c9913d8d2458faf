"""The recipe from a recording to a response."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.core.conditions import Conditions
from halfroll.core.errors import InputError
from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Verdict
from halfroll.measure.analysis import checks
from halfroll.measure.analysis.align import Aligned, align
from halfroll.measure.analysis.deconvolve import (
    Deconvolution,
    Window,
    cut,
    order_spectrum,
    order_window,
    reference_spectrum,
)
from halfroll.measure.analysis.gate import choose_gate, find_reflection, gate_window
from halfroll.measure.analysis.noise import NoiseSpectrum, noise_in_order, noise_spectrum
from halfroll.measure.analysis.response import ORDERS, Gate, ImpulseResponse, Response
from halfroll.measure.recording import Recording, Role
from halfroll.measure.residues.beyond import beyond_harmonics
from halfroll.measure.rig.correction import Correction, range_verdict
from halfroll.measure.rig.resistor_check import rated_mismatch
from halfroll.measure.sweep import Sweep


@dataclass(frozen=True, kw_only=True)
class AnalysisSettings:
    """Choices in the analysis. `gate`: ``auto`` (up to the first reflection), ``none`` or a length in seconds."""

    gate: Literal["auto", "none"] | float = "auto"


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
    sweep = at_rate(sweep, recording.rate_hz)
    progress(0.05, "finding the sweep")
    aligned = align(recording, sweep)
    progress(0.5, "reading the fundamental")
    return _assemble(recording, aligned, conditions, settings, progress)


def at_rate(sweep: Sweep, rate_hz: int) -> Sweep:
    """The sweep at the recording's rate; what the rate cuts off is cut off."""
    if sweep.rate_hz == rate_hz:
        return sweep
    stop = min(sweep.stop_hz, rate_hz / 2)
    shorter = sweep.rate_constant_s * float(np.log(stop / sweep.start_hz))
    return replace(sweep, rate_hz=rate_hz, stop_hz=stop, duration_s=shorter)


def valid_range(sweep: Sweep) -> tuple[float, float]:
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
    aligned: Aligned,
    conditions: Conditions,
    settings: AnalysisSettings,
    progress: Progress,
) -> Response:
    result, window = aligned.deconvolution, aligned.window
    sweep = result.sweep
    valid = valid_range(sweep)
    grid = log_grid(*valid)
    correction = recording.correction
    spectra = _corrected(_fundamentals(result, window, grid), correction, grid)
    recorded = Role.VOLTAGE in spectra and Role.VOLTAGE in recording.scales
    voltage_pk, drive = _voltage(spectra, grid, conditions, recorded)
    turn = voltage_pk / np.abs(voltage_pk)
    arrival, gate, impulse = _gate(result, window, drive, settings)
    microphone = spectra[Role.MICROPHONE]
    gated = microphone
    if gate.length_s is not None:
        short = _fundamentals(result, gate_window(gate, window, arrival), grid, window)
        gated = _corrected(short, correction, grid)[Role.MICROPHONE]
    progress(0.7, "reading the harmonics")
    silence = noise_spectrum(_microphone(recording), sweep, aligned.start_s)
    harmonics, noise = _orders(recording, aligned, grid, turn, silence)
    impedance, impedance_verdict = _impedance(spectra, recording)
    root2 = np.sqrt(2.0)
    found = [
        *aligned.verdicts,
        *_sample_verdicts(recording, sweep, aligned.start_s),
        None if Role.SOURCE in recording.roles else checks.swapped(spectra, grid),
        impedance_verdict,
        None if impedance is None else rated_mismatch(impedance, conditions.rated_impedance_ohm),
        None if correction is None else range_verdict(correction, valid),
        checks.signal_over_noise(np.abs(microphone) / root2, noise[0], grid),
        checks.drive_mismatch(conditions.drive_v, drive) if recorded else None,
        checks.arrival_mismatch(arrival, conditions) if Role.VOLTAGE in spectra else None,
        checks.reflection(gate, conditions.distance_m),
        *recording.verdicts,
    ]
    progress(0.9, "reading what is left")
    beyond = beyond_harmonics(
        recording, aligned, silence, grid, np.abs(microphone) / root2, harmonics, noise, arrival_s=max(arrival, 0.0),
        known=tuple(v for v in found if v is not None),
    )  # fmt: skip
    found += beyond.verdicts
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
        microphone_u_db=recording.u_db(Role.MICROPHONE),
        voltage_u_db=recording.u_db(Role.VOLTAGE),
        current_u_db=recording.u_db(Role.CURRENT),
        current_shares_voltage=recording.current_shares_voltage,
        corrected_hz=None if correction is None else correction.range_hz,
        verdicts=tuple(v for v in found if v is not None),
        residue=beyond.residue,
        hum=beyond.hum,
    )


def _microphone(recording: Recording) -> FloatArray:
    """Samples (n,) of the microphone in its unit; that there are some was checked."""
    samples = recording.physical(Role.MICROPHONE)
    assert samples is not None
    return samples


def _fundamentals(
    result: Deconvolution, window: Window, grid: FloatArray, reference_window: Window | None = None
) -> dict[Role, ComplexArray]:
    """Complex peak amplitudes (n_f,) of the fundamental in every channel, cleared of what sweep and fades do."""
    reference = reference_spectrum(result, reference_window or window, grid)
    return {
        role: order_spectrum(result.responses[role.value], result, 1, window, grid) / reference
        for role in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)
        if role.value in result.responses
    }


def _corrected(
    spectra: dict[Role, ComplexArray], correction: Correction | None, grid: FloatArray
) -> dict[Role, ComplexArray]:
    """The same with the microphone's own response taken off, where its correction curve is known."""
    if correction is None:
        return spectra
    return {**spectra, Role.MICROPHONE: spectra[Role.MICROPHONE] * correction.factor(grid)}


def _voltage(
    spectra: dict[Role, ComplexArray], grid: FloatArray, conditions: Conditions, scaled: bool
) -> tuple[ComplexArray, float]:
    """Complex peak voltage over frequency and its r.m.s. mean.

    A recorded voltage without a scale gives the shape and the phase; its size is then the one stated.
    """
    recorded: ComplexArray = spectra.get(Role.VOLTAGE, np.full(len(grid), np.sqrt(2.0) + 0j))
    mean = float(np.sqrt(np.mean(np.abs(recorded) ** 2) / 2.0))
    if Role.VOLTAGE in spectra and scaled:
        return recorded, mean
    if conditions.drive_v is None:
        found = "a voltage channel without a scale" if Role.VOLTAGE in spectra else "no voltage channel"
        raise InputError(
            "The drive voltage must be recorded or stated",
            key="drive_v",
            found=f"{found} and no drive_v",
            remedy="Enter the r.m.s. voltage at the terminals, or the scale of the voltage channel in the rig",
        )
    stated: ComplexArray = recorded * (conditions.drive_v / mean)
    return stated, conditions.drive_v


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
    recording: Recording, aligned: Aligned, grid: FloatArray, turn: ComplexArray, noise: NoiseSpectrum | None
) -> tuple[ComplexArray, FloatArray]:
    """Harmonics re the voltage's phase, r.m.s., (9, n_f), and the noise in fundamental and harmonics, (10, n_f)."""
    result, sweep = aligned.deconvolution, aligned.deconvolution.sweep
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
    if recording.correction is not None:  # what is heard of order n lies at n times the frequency played
        factor = recording.correction.factor(np.array([1, *ORDERS])[:, None] * grid)
        harmonics, floor = harmonics * factor[1:], floor * np.abs(factor)
    return harmonics, floor


def _impedance(
    spectra: dict[Role, ComplexArray], recording: Recording
) -> tuple[ComplexArray | None, Verdict | None]:
    if Role.VOLTAGE not in spectra or Role.CURRENT not in spectra:
        return None, None
    if not {Role.VOLTAGE, Role.CURRENT} <= set(recording.scales):
        return None, checks.impedance_without_scale(recording)
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
    return checks.lost_together([v for v in found if v is not None])
