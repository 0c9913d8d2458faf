"""The noise floor, read from the silence around the sweep, and what it does to every estimate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import fft

from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.deconvolve import Window, inverse_filter
from halfroll.measure.sweep import Sweep

SHORTEST_SILENCE_S = 0.05
"""Less silence than this says nothing about noise in the bass."""

SETTLE_S = 0.15
"""Time (s) after the sweep that is left out: driver and room still ring."""


@dataclass(frozen=True, kw_only=True)
class NoiseSpectrum:
    """One-sided power spectral density (n,) in unit²/Hz over `frequency_hz` (n,), from `seconds` of silence."""

    frequency_hz: FloatArray
    density: FloatArray
    seconds: float

    def at(self, frequency_hz: FloatArray) -> FloatArray:
        """Density at any frequencies, log-log interpolation, ends held."""
        x = np.log(np.maximum(frequency_hz, self.frequency_hz[0]))
        return np.asarray(np.exp(np.interp(x, np.log(self.frequency_hz), np.log(self.density))))


def silence_parts(length: int, sweep: Sweep, start_s: float) -> list[slice]:
    """The stretches of a recording that hold neither the sweep nor its ringing, as slices of samples."""
    rate = sweep.rate_hz
    margin = round(0.01 * rate)
    first_end = round(start_s * rate) - margin
    last_start = round((start_s + sweep.duration_s + SETTLE_S) * rate)
    parts = [slice(margin, first_end), slice(last_start, length - margin)]
    return [p for p in parts if p.stop - p.start >= SHORTEST_SILENCE_S * rate]


def noise_spectrum(signal: FloatArray, sweep: Sweep, start_s: float) -> NoiseSpectrum | None:
    """Noise density of a channel (n,) from the silence of its recording; None when there is too little of it."""
    parts = silence_parts(len(signal), sweep, start_s)
    return spectrum_of(signal, parts, sweep.rate_hz) if parts else None


def spectrum_of(signal: FloatArray, parts: Sequence[slice], rate: int) -> NoiseSpectrum:
    """Noise density of the silent parts of a signal (n,).

    Hann-windowed, half-overlapping segments are averaged and then smoothed over a third of an octave.
    """
    frame = min(round(0.2 * rate), *(p.stop - p.start for p in parts))
    window = np.hanning(frame)
    total, count = np.zeros(frame // 2 + 1), 0
    for p in parts:
        for start in range(p.start, p.stop - frame + 1, max(frame // 2, 1)):
            piece = signal[start : start + frame]
            total += np.abs(fft.rfft((piece - piece.mean()) * window)) ** 2
            count += 1
    density = 2.0 * total / count / (rate * np.sum(window**2))
    frequency = fft.rfftfreq(frame, 1 / rate)[1:]
    smooth = _third_octave_mean(frequency, density[1:])
    return NoiseSpectrum(
        frequency_hz=frequency,
        density=np.maximum(smooth, 1e-40),
        seconds=sum(p.stop - p.start for p in parts) / rate,
    )


def _third_octave_mean(frequency_hz: FloatArray, density: FloatArray) -> FloatArray:
    """Running mean over a third of an octave, at least three points wide."""
    step = frequency_hz[0]
    half = np.maximum(1, np.round(frequency_hz / step * (2 ** (1 / 6) - 1)).astype(int))
    sums = np.concatenate([[0.0], np.cumsum(density)])
    index = np.arange(len(density))
    low, high = np.maximum(index - half, 0), np.minimum(index + half + 1, len(density))
    return np.asarray((sums[high] - sums[low]) / (high - low))


def noise_in_order(
    noise: NoiseSpectrum | None, sweep: Sweep, order: int, window: Window, frequency_hz: FloatArray
) -> FloatArray:
    """Expected r.m.s. magnitude (n_f,) that noise alone gives to the estimate of one order.

    White or coloured noise of two-sided density S leaves the inverse filter with density S abs(Xinv)^2; the spectrum of
    a windowed piece of it has the variance S abs(Xinv)^2 times the window's energy.  Half of that is the mean square of
    the r.m.s. amplitude.
    """
    at = order * frequency_hz
    if noise is None:
        return np.full(len(frequency_hz), np.nan)
    two_sided = noise.at(at) / 2.0
    gain = np.abs(inverse_filter(sweep, at)) ** 2
    return np.where(at <= sweep.rate_hz / 2, np.sqrt(two_sided * gain * window.energy_s() / 2.0), np.nan)
