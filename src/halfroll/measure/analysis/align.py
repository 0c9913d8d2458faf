"""Putting a recording on the sweep's time: deconvolved, its zero found, its clock corrected."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.deconvolve import (
    Deconvolution,
    Window,
    cut,
    deconvolve,
    order_window,
    spectrum_at,
)
from halfroll.measure.analysis.locate import (
    Clock,
    band_delays,
    check_ridge,
    find_ridge,
    peak_time,
    read_clock,
)
from halfroll.measure.recording import Recording, Role
from halfroll.measure.sweep import Sweep

_SMALLEST_DRIFT = {True: 20e-6, False: 300e-6}
"""Clock difference that is corrected and said: with the voltage recorded, and with the microphone alone."""


@dataclass(frozen=True, kw_only=True)
class Aligned:
    """A deconvolved recording.

    `window` is that of the fundamental, `start_s` the time (s) at which the sweep starts in the recording, `verdicts` what
    must be said of clocks and lost samples.
    """

    deconvolution: Deconvolution
    window: Window
    verdicts: tuple[Verdict, ...]
    start_s: float


def align(recording: Recording, sweep: Sweep) -> Aligned:
    """Find the sweep in a recording, by its voltage channel or, without one, by the microphone itself.

    Raises
    ------
    InputError
        When there is no sweep, it is another one, the sample rate differs, or a part of it is missing.
    """
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
    return Aligned(deconvolution=result, window=window, verdicts=tuple(verdicts), start_s=result.origin_s)


def _channels(recording: Recording) -> dict[str, FloatArray]:
    found = {role: recording.physical(role) for role in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)}
    return {role.value: samples for role, samples in found.items() if samples is not None}


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
