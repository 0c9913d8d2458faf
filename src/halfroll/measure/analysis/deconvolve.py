"""From a recorded sweep to impulse responses: one for the fundamental, one for every harmonic.

The recording's spectrum is multiplied by the analytic inverse of the synchronized sweep
(Novak, Lotton, Simon, J. Audio Eng. Soc. 63(10), 2015, Eq. 43)::

    Xinv(f) = 2 sqrt(f/L) exp{-j 2 pi f L [1 - ln(f/f1)] + j pi/4}

The n-th harmonic then stands L ln n before the fundamental.  Windows cut them apart; each windowed piece is turned
back into a spectrum, read at n times the excitation frequency.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from scipy import fft

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.sweep import Sweep

LONGEST_TAIL_S = 0.6
"""Longest part of a response that is kept after its arrival (s)."""

MOST_KEPT = 4_000_000
"""Samples up to which what the ideal sweep gives is kept for the next take: 80 s at 48 kHz, 64 MB."""


@dataclass(frozen=True, kw_only=True)
class Deconvolution:
    """Impulse responses of the channels of one recording.

    Parameters
    ----------
    sweep
        The sweep, as the recorder's clock saw it.
    rate_hz
        Samples per second.
    origin_s
        Time of the fundamental's zero in `responses` (s).
    responses
        Circular impulse responses by channel name, each shape (n,), in the channel's unit per sample: the plain sum of
        a windowed piece times e^{-jwt} is the complex peak amplitude.
    reference
        The same made from the ideal sweep with its fades; dividing by its spectrum removes what the finite length
        and the fades do at the ends of the range.
    inverse
        The inverse filter per sample, on the frequencies of a response's transform, shape (n//2 + 1,).
    """

    sweep: Sweep
    rate_hz: int
    origin_s: float
    responses: dict[str, FloatArray]
    reference: FloatArray
    inverse: ComplexArray


@dataclass(frozen=True, kw_only=True)
class Window:
    """Where one order's impulse response is cut out: start and stop re its zero, and the lengths of the tapers (s)."""

    before_s: float
    after_s: float
    fade_in_s: float
    fade_out_s: float

    def energy_s(self) -> float:
        """Integral of the squared window over time (s); a raised-cosine taper of length T holds 3T/8."""
        return self.before_s + self.after_s - 0.625 * (self.fade_in_s + self.fade_out_s)


def inverse_filter(sweep: Sweep, frequency_hz: FloatArray) -> ComplexArray:
    """Analytic inverse of the sweep's spectrum at `frequency_hz` (n,), faded out an octave below its start (1/s)."""
    low = sweep.start_hz / 2
    gain = np.clip((frequency_hz - low / 2) / (low / 2), 0.0, 1.0)
    safe = np.maximum(frequency_hz, low / 2)
    length = sweep.rate_constant_s
    phase = -2 * np.pi * safe * length * (1 - np.log(safe / sweep.start_hz)) + np.pi / 4
    magnitude = 2 * np.sqrt(safe / length) * np.sin(gain * np.pi / 2) ** 2
    result: ComplexArray = magnitude * np.exp(1j * phase)
    return result


def deconvolve(channels: dict[str, FloatArray], sweep: Sweep, origin_s: float) -> Deconvolution:
    """Impulse responses of all channels.

    Parameters
    ----------
    channels
        Samples by name, all of one length (n,), in physical units.
    sweep
        The sweep that was played, as recorded (see `Sweep.stretched`).
    origin_s
        Time in the recording at which the sweep starts (s).
    """
    length = len(next(iter(channels.values())))
    n = fft.next_fast_len(max(length, sweep.sweep_length + sweep.rate_hz // 2), real=True)
    inverse, reference = (_ideal if n <= MOST_KEPT else _ideal.__wrapped__)(sweep, n)
    return Deconvolution(
        sweep=sweep,
        rate_hz=sweep.rate_hz,
        origin_s=origin_s,
        responses={name: _respond(signal, inverse, n) for name, signal in channels.items()},
        reference=reference,
        inverse=inverse,
    )


@functools.lru_cache(maxsize=2)
def _ideal(sweep: Sweep, n: int) -> tuple[ComplexArray, FloatArray]:
    """Inverse filter per sample (n//2 + 1,) and what the ideal sweep gives through it (n,); takes of one sweep share them."""
    inverse = inverse_filter(sweep, fft.rfftfreq(n, 1 / sweep.rate_hz)) / sweep.rate_hz
    reference = _respond(sweep.tone(), inverse, n)
    inverse.flags.writeable = reference.flags.writeable = False
    return inverse, reference


def _respond(signal: FloatArray, inverse: ComplexArray, n: int) -> FloatArray:
    """Circular response (n,) of a signal to the inverse filter."""
    return np.asarray(fft.irfft(fft.rfft(signal, n) * inverse, n), dtype=np.float64)


def order_window(sweep: Sweep, order: int, room_after_s: float) -> Window:
    """The window of one order.

    A response decays to the right, so 70 % of the gap to the next lower order is its own.  To the left stands the
    decayed tail of the next higher order.  The fundamental takes 70 % of that gap, since its band-limited rise is long in
    the bass and far above any tail; a harmonic takes 30 %.
    """
    length = sweep.rate_constant_s
    before = (0.7 if order == 1 else 0.3) * length * np.log((order + 1) / order)
    after = min(LONGEST_TAIL_S, room_after_s) if order == 1 else 0.7 * length * np.log(order / (order - 1))
    return Window(before_s=float(before), after_s=float(after), fade_in_s=0.75 * float(before),
                  fade_out_s=0.35 * float(after))  # fmt: skip


def _taper(count: int) -> FloatArray:
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / max(count, 1)), dtype=np.float64)


def cut(response: FloatArray, rate_hz: int, zero_s: float, window: Window) -> tuple[FloatArray, int, float]:
    """Cut a windowed piece out of a circular response.

    Returns the piece, the number of its samples that lie before zero, and the time (s) from that sample to zero.
    """
    centre = round(zero_s * rate_hz)
    before, after = round(window.before_s * rate_hz), round(window.after_s * rate_hz)
    start = (centre - before) % len(response)
    piece = np.take(response, np.arange(start, start + before + after), mode="wrap")
    fade_in, fade_out = round(window.fade_in_s * rate_hz), round(window.fade_out_s * rate_hz)
    piece[:fade_in] *= _taper(fade_in)
    if fade_out:
        piece[-fade_out:] *= _taper(fade_out)[::-1]
    return piece, before, zero_s - centre / rate_hz


def spectrum_at(
    piece: FloatArray,
    before: int,
    offset_s: float,
    rate_hz: int,
    at_hz: FloatArray,
    resolution_hz: float = 0.4,
) -> ComplexArray:
    """Spectrum of a short piece at any frequencies, by a zero-padded transform and interpolation.

    Parameters
    ----------
    piece
        Samples (n,) as `cut` returns them, with `before` samples ahead of zero and zero `offset_s` later still.
    at_hz
        Frequencies (n_f,); NaN is returned above half the sample rate.
    resolution_hz
        Spacing of the transform's points; interpolation is linear on real and imaginary part, which is accurate to
        (pi resolution tau)^2/8 for a response of length tau.
    """
    n = fft.next_fast_len(max(len(piece), round(rate_hz / resolution_hz)), real=True)
    padded = np.zeros(n)
    padded[: len(piece) - before] = piece[before:]
    padded[n - before :] = piece[:before]
    values = fft.rfft(padded)
    index = at_hz * n / rate_hz
    low = np.clip(np.floor(index).astype(int), 0, len(values) - 2)
    part = index - low
    mixed = values[low] * (1 - part) + values[low + 1] * part
    mixed = mixed * np.exp(2j * np.pi * at_hz * offset_s)
    return np.where(at_hz <= rate_hz / 2, mixed, np.nan + 0j)


def order_spectrum(
    response: FloatArray, deconvolution: Deconvolution, order: int, window: Window, frequency_hz: FloatArray
) -> ComplexArray:
    """Spectrum of the `order`-th response read at order times `frequency_hz` (n_f,), in the channel's unit (peak)."""
    zero = deconvolution.origin_s - deconvolution.sweep.harmonic_lead_s(order)
    piece, before, offset = cut(response, deconvolution.rate_hz, zero, window)
    return spectrum_at(
        piece, before, offset, deconvolution.rate_hz, order * frequency_hz, resolution_hz=0.4 * order**0.5
    )


def reference_spectrum(
    deconvolution: Deconvolution, window: Window, frequency_hz: FloatArray
) -> ComplexArray:
    """Spectrum (n_f,) of the ideal sweep after the same inverse filter and window; close to one inside its range."""
    piece, before, offset = cut(deconvolution.reference, deconvolution.rate_hz, 0.0, window)
    return spectrum_at(piece, before, offset, deconvolution.rate_hz, frequency_hz)
