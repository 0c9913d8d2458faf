"""A high-pass that follows a sweep: what is left of a recording above order 10 of the frequency just playing.

In the deconvolved response order n stands L ln n before the fundamental (Novak, Lotton, Simon, J. Audio Eng. Soc. 63(10),
2015). Cutting away what lies later than order `CUT` and turning the rest back keeps what is above it, at every moment.
"""

from __future__ import annotations

import math

import numpy as np
from scipy import fft

from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.deconvolve import Deconvolution
from halfroll.measure.recording import Role

CUT = (10.5, 12.0)
"""Orders between which the high-pass opens; what is left is all of order 12 and more."""


def lowest_hz(result: Deconvolution, upto_hz: float) -> float:
    """Lower end (Hz) of what is left, for excitations up to `upto_hz`.

    Order `CUT` of the sweep's start; higher where the silence around the sweep is short. The response is circular, and
    what it folds into the orders of an excitation f lies below f exp(-s/L), s being what the response is longer than the
    sweep; a plain high-pass keeps that out.
    """
    sweep = result.sweep
    longer = len(result.responses[Role.MICROPHONE.value]) / result.rate_hz - sweep.duration_s
    return max(CUT[0] * sweep.start_hz, upto_hz * math.exp(-longer / sweep.rate_constant_s))


def tracked(result: Deconvolution, role: Role, band_hz: tuple[float, float]) -> FloatArray:
    """A channel (n,) without what lies below order `CUT` of the frequency just playing, or outside `band_hz`."""
    response = result.responses[role.value]
    n = len(response)
    index, window = _kept(result, band_hz[1])
    kept = np.zeros(n)
    kept[index % n] = response[index % n] * window
    frequency = fft.rfftfreq(n, 1 / result.rate_hz)
    first, last = np.searchsorted(frequency, band_hz)
    turned = fft.rfft(kept)
    turned[:first] = turned[last:] = 0.0
    turned[first:last] /= result.inverse[first:last]
    return np.asarray(fft.irfft(turned, n), dtype=np.float64)


def _kept(result: Deconvolution, top_hz: float) -> tuple[np.ndarray, FloatArray]:
    """Samples of the circular response that hold the orders above `CUT`, and the window on them."""
    sweep, rate = result.sweep, result.rate_hz

    def at(order: float) -> int:
        return round((result.origin_s - sweep.rate_constant_s * math.log(order)) * rate)

    first, full, last = at(top_hz / sweep.start_hz), at(CUT[1]), at(CUT[0])
    index = np.arange(first, last)
    window = np.ones(len(index))
    taper = last - full
    window[-taper:] = 0.5 + 0.5 * np.cos(np.pi * (np.arange(taper) + 0.5) / taper)
    return index, window
