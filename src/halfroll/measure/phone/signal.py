"""What a builder plays: a sweep with four short tones around it that tell a telephone's gain control and its clock.

A telephone may turn its gain up in silence and down in loud passages. Two tones of one frequency, one 12 dB below the other, before
the sweep and again after it, come back unlike when it does. They are of one frequency, so what the driver does to them is the same for
all four, and the time between them is the clock's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.measure.sweep import Sweep

PHONE_SWEEP = Sweep(
    start_hz=25.0, stop_hz=16_000.0, duration_s=6.0, rate_hz=48_000, level=0.5, silence_before_s=2.6, silence_after_s=2.4
)  # fmt: skip
"""The sweep of a builder's check: from an octave below the first band to where no telephone is trusted; room for the tones."""

MARKER_HZ = 500.0
MARKER_S = 0.25
QUIETER_DB = 12.0
LOUD_RE_SWEEP = 0.5
BEFORE_S = (-1.6, -1.1)
"""Start of the loud and the quiet tone re the start of the sweep (s)."""
AFTER_S = (1.1, 1.6)
"""The same re its end."""

QUIET_BEFORE_S, QUIET_AFTER_S = 0.75, 1.0
"""Silence about the sweep that no tone disturbs: the noise is read from it."""


@dataclass(frozen=True, kw_only=True)
class Marker:
    """One short tone: its start re the sweep's start (s), and its level re the loud one (dB)."""

    start_s: float
    level_db: float


def markers_of(sweep: Sweep) -> tuple[Marker, ...]:
    """The four tones about a sweep in the order of time; none where its silences have no room for them."""
    if sweep.silence_before_s < -BEFORE_S[0] + 0.2 or sweep.silence_after_s < AFTER_S[1] + MARKER_S + 0.2:
        return ()
    levels = (0.0, -QUIETER_DB)
    before = [Marker(start_s=at, level_db=level) for at, level in zip(BEFORE_S, levels, strict=True)]
    after = [
        Marker(start_s=sweep.duration_s + at, level_db=level)
        for at, level in zip(AFTER_S, levels, strict=True)
    ]
    return (*before, *after)


def burst(rate_hz: float, length_s: float = MARKER_S) -> FloatArray:
    """One tone with raised-cosine flanks over its whole length, peak 1, shape (n,)."""
    t = np.arange(round(length_s * rate_hz)) / rate_hz
    shape = 0.5 - 0.5 * np.cos(2.0 * np.pi * t / length_s)
    return np.asarray(shape * np.sin(2.0 * np.pi * MARKER_HZ * t))


def phone_samples(sweep: Sweep = PHONE_SWEEP) -> FloatArray:
    """What is played (n,), re full scale: the sweep in its silence, with the tones where they have room."""
    signal = sweep.samples()
    tone = LOUD_RE_SWEEP * sweep.level * burst(sweep.rate_hz)
    for marker in markers_of(sweep):
        first = sweep.start_sample + round(marker.start_s * sweep.rate_hz)
        signal[first : first + tone.size] += tone * 10.0 ** (marker.level_db / 20.0)
    return signal
