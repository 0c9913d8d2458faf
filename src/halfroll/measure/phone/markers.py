"""The tones around a sweep as they came back: did the telephone turn its gain, and how fast does its clock run?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.measure.phone.signal import MARKER_HZ, MARKER_S, Marker, markers_of
from halfroll.measure.sweep import Sweep

LEAST_OVER_NOISE_DB = 10.0
"""A tone that stands less over what is beside it is not used."""

FASTEST_CLOCK = 1e-3
CLOCK_FLOOR = 0.5e-6
"""A clock further off is not believed; no closer than the other is one told (relative; own choice)."""

_WINDOW_S = 0.02
"""So far from its place a tone is looked for (s): the start of the sweep is known to some milliseconds."""


@dataclass(frozen=True, kw_only=True)
class Heard:
    """A tone as recorded: level re full scale (dB), its standard uncertainty from noise, and when it
    starts by its phase (s, up to whole periods).
    """

    marker: Marker
    level_db: float
    u_db: float
    time_s: float
    u_s: float


@dataclass(frozen=True, kw_only=True)
class GainAndClock:
    """What the tones tell.

    Parameters
    ----------
    gain_change_db
        Largest change of gain seen between two tones (dB), 0 or more; None where too few came through.
    u_gain_db
        Its standard uncertainty.
    before_after_db, squeezed_db
        Gain after the sweep re before it; by how much the 12 dB between loud and quiet shrank. None where not seen.
    clock
        Relative difference of the recorder's clock: its sweep lasts 1 + clock times as long. None where not seen.
    u_clock
        Its standard uncertainty.
    """

    gain_change_db: float | None = None
    u_gain_db: float = float("inf")
    before_after_db: float | None = None
    squeezed_db: float | None = None
    clock: float | None = None
    u_clock: float = float("inf")


def hear(samples: FloatArray, rate_hz: int, sweep: Sweep, start_s: float) -> tuple[Heard, ...]:
    """The tones (of `markers_of`) that came through in samples (n,), with the sweep starting at `start_s`."""
    found = [_hear(samples, rate_hz, marker, start_s) for marker in markers_of(sweep)]
    return tuple(one for one in found if one is not None)


def gain_and_clock(heard: tuple[Heard, ...]) -> GainAndClock:
    """Gain and clock from the tones that came through.

    Loud and loud, quiet and quiet are compared across the sweep for gain and clock, loud and quiet on either side for the squeeze.
    """
    pairs = [
        (a, b) for a in heard for b in heard if a.marker.start_s < 0.0 < b.marker.start_s
        and a.marker.level_db == b.marker.level_db
    ]  # fmt: skip
    sides = [
        (a, b) for a in heard for b in heard
        if a.marker.level_db > b.marker.level_db and a.marker.start_s * b.marker.start_s > 0.0
    ]  # fmt: skip
    if not pairs:
        return GainAndClock()
    across = [(b.level_db - a.level_db, float(np.hypot(a.u_db, b.u_db))) for a, b in pairs]
    squeezed = [
        (a.marker.level_db - b.marker.level_db - (a.level_db - b.level_db), float(np.hypot(a.u_db, b.u_db)))
        for a, b in sides
    ]
    worst, u = max([*across, *squeezed], key=lambda one: abs(one[0]) - 3.0 * one[1])
    clock, u_clock = _clock(sides, pairs)
    return GainAndClock(
        gain_change_db=abs(worst), u_gain_db=u, before_after_db=across[0][0],
        squeezed_db=max(squeezed, key=lambda one: abs(one[0]))[0] if squeezed else None, clock=clock, u_clock=u_clock,
    )  # fmt: skip


def _clock(sides: list[tuple[Heard, Heard]], pairs: list[tuple[Heard, Heard]]) -> tuple[float | None, float]:
    """The clock, first by tones half a second apart, whose phases are told apart up to 2000 ppm, then by those across the sweep."""
    rough = [_step(a, b, 0.0) for a, b in sides]
    if not rough:
        return None, float("inf")
    first, u_first = np.mean([c for c, _ in rough]), max(u for _, u in rough)
    finer = [_step(a, b, float(first)) for a, b in pairs]
    clock, u = min(finer, key=lambda one: one[1])
    apart = 1.0 / MARKER_HZ / (pairs[0][1].marker.start_s - pairs[0][0].marker.start_s)
    if 3.0 * u_first > 0.5 * apart or abs(clock) > FASTEST_CLOCK:
        return None, float("inf")
    return clock, u + CLOCK_FLOOR


def _step(a: Heard, b: Heard, near: float) -> tuple[float, float]:
    """The clock by two tones, the one nearest to `near` that their phases allow, and its standard uncertainty."""
    apart, period = abs(b.marker.start_s - a.marker.start_s), 1.0 / MARKER_HZ
    early, late = (a, b) if a.marker.start_s < b.marker.start_s else (b, a)
    over = late.time_s - early.time_s - apart * (1.0 + near)
    over -= period * round(over / period)
    return near + over / apart, float(np.hypot(a.u_s, b.u_s)) / apart


def _hear(samples: FloatArray, rate_hz: int, marker: Marker, start_s: float) -> Heard | None:
    """One tone, by the envelope at its frequency; None outside the recording or under the noise."""
    middle = start_s + marker.start_s + 0.5 * MARKER_S
    reach = 0.5 * MARKER_S + _WINDOW_S
    first, last = round((middle - reach) * rate_hz), round((middle + reach) * rate_hz)
    if first < 0 or last > len(samples):
        return None
    t = np.arange(first, last) / rate_hz
    piece = samples[first:last]
    # A Hann window on a Hann-shaped tone passes 3/8 of its length; the noise is read at frequencies beside the tone.
    n = round(MARKER_S * rate_hz)
    window = np.hanning(n)
    envelope = _envelope(piece, t, window, MARKER_HZ)
    peak = int(np.argmax(np.abs(envelope)))
    amplitude = float(np.abs(envelope[peak]))
    beside = [
        np.abs(_envelope(piece, t, window, MARKER_HZ + off))[peak] ** 2 for off in (-60.0, -40.0, 40.0, 60.0)
    ]
    noise = float(np.sqrt(np.mean(beside))) + 1e-12
    if 20.0 * np.log10(max(amplitude, 1e-12) / noise) < LEAST_OVER_NOISE_DB:
        return None
    relative = noise / amplitude
    return Heard(
        marker=marker,
        level_db=float(20.0 * np.log10(amplitude)),
        u_db=8.686 * relative / np.sqrt(2.0),
        time_s=_by_phase(envelope, peak),
        # Timing of a tone by its phase: noise over signal in radians.
        u_s=relative / np.sqrt(2.0) / (2.0 * np.pi * MARKER_HZ),
    )  # fmt: skip


def _envelope(piece: FloatArray, t: FloatArray, window: FloatArray, frequency_hz: float) -> np.ndarray:
    """Complex amplitude of one frequency in windows that slide over a piece, shape (n - window + 1,)."""
    from scipy.signal import fftconvolve

    turned = piece * np.exp(-2j * np.pi * frequency_hz * t)
    return np.asarray(2.0 * fftconvolve(turned, window, mode="valid") / np.sum(window))


def _by_phase(envelope: np.ndarray, peak: int) -> float:
    """Time of a tone's start by its phase, up to whole periods (s).

    The tone is sin(2 pi f (t - t0)), so the phase of its complex amplitude is -2 pi f t0 - pi/2.
    """
    return -(float(np.angle(envelope[peak])) + np.pi / 2.0) / (2.0 * np.pi * MARKER_HZ)
