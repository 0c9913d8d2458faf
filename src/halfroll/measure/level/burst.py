"""A short tone with soft edges, and its amplitude in a recording whose delay is not known."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray

FADE_S = 0.025
TAIL_S = 0.4
"""Silence after the tone; a sound card may be later by this much."""


def burst(frequency_hz: float, rate_hz: int, level: float) -> FloatArray:
    """Silence, a tone with raised-cosine fades at a peak level, silence; shape (n,), re full scale."""
    hold = _window_s(frequency_hz) + 0.1
    fade = round(FADE_S * rate_hz)
    n = round(hold * rate_hz) + 2 * fade
    shape = np.ones(n)
    shape[:fade] = 0.5 - 0.5 * np.cos(np.pi * np.arange(fade) / fade)
    shape[n - fade :] = shape[:fade][::-1]
    tone = level * shape * np.sin(2 * np.pi * frequency_hz * np.arange(n) / rate_hz)
    before, after = round((_window_s(frequency_hz) + 0.05) * rate_hz), round(TAIL_S * rate_hz)
    return np.concatenate([np.zeros(before), tone, np.zeros(after)])


def read_burst(samples: FloatArray, frequency_hz: float, rate_hz: int) -> tuple[float, float]:
    """Peak amplitude of a recorded burst (n,), and what the silence before it holds at its frequency.

    The channel is turned down to 0 Hz and averaged with a Hann window wherever the burst may lie, so that the delay
    need not be known; the largest average is the tone's.
    """
    from scipy.signal import fftconvolve

    width = round(_window_s(frequency_hz) * rate_hz)
    window = np.hanning(width + 2)[1:-1]
    turned = samples * np.exp(-2j * np.pi * frequency_hz * np.arange(len(samples)) / rate_hz)
    found = 2.0 * np.abs(fftconvolve(turned, window / window.sum(), mode="valid"))
    return float(found.max()), float(found[: round(0.04 * rate_hz)].max())


def _window_s(frequency_hz: float) -> float:
    return max(0.2, 6.0 / frequency_hz)
