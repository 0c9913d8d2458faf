"""One steady tone in a recording: when it has settled, its harmonics, and what noise leaves uncertain.

Whole periods are transformed, so every harmonic stands on one line of the spectrum without leakage, which is the
least-squares estimate for white noise; the lines between the harmonics hold the noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.stepped.tones import Tone

HIGHEST_ORDER = 10

STEADY = 6e-4
"""A fundamental within this share (0.005 dB) of its final value has settled, unless noise hides it."""

STEADY_HARMONIC = 1e-4
"""The same for the orders 2 and 3, re fundamental."""

NOISE_WIDTHS = 3.0
"""Noise alone moves a complex estimate by more than three times its r.m.s. magnitude once in 8000 blocks, e^-9."""

LEAST_LINES = 6
"""Lines between two harmonics that are needed to read the noise."""


@dataclass(frozen=True, kw_only=True)
class ToneEstimate:
    """What one tone left in every channel.

    Parameters
    ----------
    orders
        Complex r.m.s. values of the orders 1 to 10, e^{+jwt}, phase at sample `window[0]`, shape (channels, 10); NaN
        beyond half the sample rate.
    noise
        Expected r.m.s. magnitude of what noise alone gives to each, shape (channels, 10).
    window
        First and last sample (exclusive) that were used.
    settled
        Whether the tone had become steady before the window.
    """

    orders: ComplexArray
    noise: FloatArray
    window: tuple[int, int]
    settled: bool


def estimate(samples: FloatArray, tone: Tone, rate_hz: int) -> ToneEstimate:
    """Harmonics of a tone in a recording (channels, n) that holds it at `tone.start`.

    The blocks until every channel is steady, and one more, are left out: what is left of the start would look like
    weak high orders. An unsettled tone is read from its last half.
    """
    first = tone.first(rate_hz)
    whole = samples[:, first : first + tone.blocks * tone.block]
    half = tone.blocks // 2
    late, late_noise = _lines(whole[:, half * tone.block :], tone, tone.blocks - half)
    steady = _steady_from(whole, tone, late_noise * np.sqrt(tone.blocks - half))
    start = min(steady + 1, half)
    if start < half:
        late, late_noise = _lines(whole[:, start * tone.block :], tone, tone.blocks - start)
    used = first + start * tone.block
    return ToneEstimate(
        orders=late, noise=late_noise, window=(used, first + tone.blocks * tone.block), settled=steady <= half
    )


def _lines(samples: FloatArray, tone: Tone, blocks: int) -> tuple[ComplexArray, FloatArray]:
    """Orders and their noise (channels, 10) of samples (channels, blocks · block)."""
    from scipy.fft import rfft

    count = samples.shape[1]
    spectrum = rfft(samples, axis=1) * (np.sqrt(2.0) / count)
    periods = blocks * tone.periods
    orders = np.full((len(samples), HIGHEST_ORDER), np.nan, dtype=np.complex128)
    noise = np.full((len(samples), HIGHEST_ORDER), np.nan)
    half = max((periods - 1) // 2, LEAST_LINES // 2)
    for n in range(1, HIGHEST_ORDER + 1):
        line = n * periods
        if line >= spectrum.shape[1] - 1:
            break
        near = np.arange(max(line - half, 1), min(line + half, spectrum.shape[1] - 2) + 1)
        near = near[near % periods != 0]
        orders[:, n - 1] = spectrum[:, line]
        noise[:, n - 1] = np.sqrt(np.mean(np.abs(spectrum[:, near]) ** 2, axis=1))
    return orders, noise


def _steady_from(whole: FloatArray, tone: Tone, block_noise: FloatArray) -> int:
    """First block from which on all channels stay at their final value within noise or `STEADY`.

    The final value is the mean of the last quarter. For an exponential approach, a tone that is found steady by its
    middle has then truly come within 0.07 % of where it goes.
    """
    lines = _block_lines(whole, tone)
    moving = 0
    scale = np.zeros((len(whole), 1))
    for order in (1, 2, 3):
        line = lines[:, :, order - 1]
        quarter = max(tone.blocks // 4, 1)
        final = line[:, -quarter:].mean(axis=1, keepdims=True)
        scale = np.abs(final) if order == 1 else scale
        noise = np.nan_to_num(block_noise[:, order - 1 : order])
        allowed = np.maximum((STEADY if order == 1 else STEADY_HARMONIC) * scale, NOISE_WIDTHS * noise)
        off = np.flatnonzero((np.abs(line - final) > allowed).any(axis=0))
        moving = max(moving, int(off[-1]) + 1 if off.size else 0)
    return moving


def _block_lines(whole: FloatArray, tone: Tone) -> ComplexArray:
    """Complex r.m.s. values of the orders 1 to 3 in every block, shape (channels, blocks, 3)."""
    turns = 2.0 * np.pi * tone.periods / tone.block * np.outer(np.arange(tone.block), (1, 2, 3))
    waves = np.hstack([np.cos(turns), -np.sin(turns)]) * (np.sqrt(2.0) / tone.block)
    rows = np.ascontiguousarray(whole).reshape(-1, tone.block) @ waves
    found = rows.reshape(len(whole), tone.blocks, 6)
    return np.asarray(found[:, :, :3] + 1j * found[:, :, 3:])
