"""Phase of a minimum-phase response from its level alone, by Bode's relation between gain and phase (Bode 1945)."""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.levels import FloatArray


def minimum_phase(frequency_hz: FloatArray, magnitude: FloatArray) -> FloatArray:
    """Phase (rad, e^{+jωt}), shape (n,), of the response of no excess phase that has these magnitudes, frequencies ascending.

    φ(u₀) = (1/π) ∫ dA/du ln coth(|u - u₀|/2) du with A = ln|H| and u = ln f, taken exactly for A straight between the points. Beyond both ends A goes on with the slope it has
    there over the last half octave; that guess moves the phase within about an octave of the ends.
    """
    u, level = np.log(frequency_hz), np.log(magnitude)
    slopes = np.concatenate(
        [[_end_slope(u, level)], np.diff(level) / np.diff(u), [_end_slope(-u[::-1], level[::-1]) * -1.0]]
    )
    edges = np.concatenate([[-np.inf], u, [np.inf]])
    kernel = _kernel(edges[None, :] - u[:, None])
    return np.asarray(np.diff(kernel, axis=1) @ slopes / math.pi, dtype=np.float64)


def _end_slope(u: FloatArray, level: FloatArray) -> float:
    """Slope over the first half octave."""
    first = u <= u[0] + 0.5 * math.log(2.0)
    if first.sum() < 2:
        first[:2] = True
    return float(np.polyfit(u[first], level[first], 1)[0])


def _kernel(u: FloatArray) -> FloatArray:
    """∫₀ᵘ ln coth(t/2) dt = ±(π²/4 - 2 χ₂(e^{-|u|})), χ₂ Legendre's chi function by two dilogarithms."""
    from scipy.special import spence

    x = np.exp(-np.abs(u))
    chi = 0.5 * (spence(1.0 - x) - spence(1.0 + x))
    return np.asarray(np.sign(u) * (math.pi**2 / 4.0 - 2.0 * chi), dtype=np.float64)
