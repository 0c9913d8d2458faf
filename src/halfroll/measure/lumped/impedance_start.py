"""Where the fit of an impedance curve starts: the resonance by the eye's way, the rest by linear least squares.

The r0 method reads fs and Qms off the modulus (Thiele 1961; Small 1972). With those held, and the corner of the coil's
loss or its exponent held at one of a few values, the model is linear in all that is left; the best of the few starts the fit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.lumped.impedance_model import Model

_CORNERS_HZ = np.geomspace(150.0, 20_000.0, 9)
_EXPONENTS = np.array([0.45, 0.55, 0.65, 0.75, 0.85, 0.95])
_LEAST_PROMINENCE = math.log(1.04)
_PEAK_TRIES = 4
_DENSE = 80  # points from which the median may be wider
_CREEP_START = 0.05


@dataclass(frozen=True)
class Peak:
    """What the eye reads off the modulus: peak, its height, the least modulus, and where r0 is crossed (Hz, ohm)."""

    at_hz: float
    height_ohm: float
    floor_ohm: float
    lower_hz: float
    upper_hz: float

    @property
    def qms(self) -> float:
        """Qms by the r0 method, fs √r0/(f2 - f1)."""
        width = max(self.upper_hz - self.lower_hz, 1e-3 * self.at_hz)
        return self.at_hz * math.sqrt(self.height_ohm / self.floor_ohm) / width


def find_peak(frequency_hz: FloatArray, modulus_ohm: FloatArray) -> Peak | None:
    """The peak of the modulus that is most like a resonance; None when there is none that noise could not make.

    Points that stand out alone, such as those on a line of mains hum, are no peak: each point is first replaced by the
    median of its neighbours. Of the most prominent peaks that one is taken which, with the r0 method's Q and a plain
    inductance, leaves the least (median) misfit of the modulus.
    """
    from scipy.signal import find_peaks

    tries: list[Peak] = []
    for width in (3, 7) if len(modulus_ohm) >= _DENSE else (3,):
        smooth = running_median(modulus_ohm, width)
        bends = np.abs(np.diff(np.log(smooth if width == 7 else modulus_ohm), 2))
        noise = float(np.median(bends)) / (0.6745 * math.sqrt(6.0))
        peaks, found = find_peaks(np.log(smooth), prominence=max(_LEAST_PROMINENCE, 6.0 * noise))
        order = np.argsort(found["prominences"])[::-1][:_PEAK_TRIES]
        tries += [_peak_at(frequency_hz, smooth, int(peaks[i])) for i in order]
    return min(tries, key=lambda p: _unlikeness(frequency_hz, modulus_ohm, p), default=None)


def running_median(values: FloatArray, width: int) -> FloatArray:
    """Median of `width` neighbours (odd), same shape; the ends are repeated."""
    padded = np.pad(values, width // 2, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))


def _peak_at(frequency_hz: FloatArray, smooth: FloatArray, at: int) -> Peak:
    """Height and crossings of one peak by the r0 method."""
    height, floor = float(smooth[at]), float(smooth.min())
    level = math.sqrt(height * floor)
    below, above = np.flatnonzero(smooth[:at] < level), np.flatnonzero(smooth[at:] < level)
    top = float(frequency_hz[at])
    lower = float(frequency_hz[below[-1]]) if len(below) else None
    upper = float(frequency_hz[at + above[0]]) if len(above) else None
    lower = lower if lower is not None else top**2 / (upper or 1.5 * top)
    return Peak(top, height, floor, lower, upper if upper is not None else top**2 / lower)


def _unlikeness(frequency_hz: FloatArray, modulus_ohm: FloatArray, peak: Peak) -> float:
    """Median misfit (1) of the modulus up to ten times a peak, with an inductance that fits the last point there."""
    near = frequency_hz < 10.0 * peak.at_hz
    f, modulus = frequency_hz[near], modulus_ohm[near]
    ratio = f / peak.at_hz
    share = (peak.height_ohm / peak.floor_ohm - 1.0) * peak.floor_ohm
    still = peak.floor_ohm + share / (1.0 + 1j * peak.qms * (ratio - 1.0 / ratio))
    rise = math.sqrt(max(float(np.median(modulus[-5:])) ** 2 - abs(still[-1]) ** 2, 0.0))
    return float(np.median(np.abs(np.log(np.abs(still + 1j * rise * f / f[-1]) / modulus))))


def start(
    model: Model, frequency_hz: FloatArray, impedance_ohm: ComplexArray, peak: Peak | None
) -> FloatArray:
    """Theta (k,) of `model` to start from; `impedance_ohm` complex, shape (n,)."""
    values: dict[str, float] = {}
    held = [np.ones(len(frequency_hz), dtype=np.complex128)]
    if peak is not None:
        ratio = frequency_hz / peak.at_hz
        values |= {"fs_hz": peak.at_hz, "qms": peak.qms, "creep_lambda": _CREEP_START}
        held.append(np.asarray(1.0 / (1.0 / peak.qms + 1j * (ratio - 1.0 / ratio)), dtype=np.complex128))
    best, misfit = values, math.inf
    for extra, shape in _coil_shapes(model, frequency_hz):
        columns = np.array([*held, *shape]).T
        found, left = _linear(columns, impedance_ohm)
        named = _named(model, found, extra, peak is not None)
        if left < misfit and all(v > 0.0 for v in named.values()):
            best, misfit = values | named, left
    if not math.isfinite(misfit):
        best = values | _guess(model, frequency_hz, impedance_ohm, peak)
    return model.pack({n: best[n] for n in model.names})


def _coil_shapes(model: Model, frequency_hz: FloatArray) -> list[tuple[float, list[ComplexArray]]]:
    """The coil's share with its one non-linear parameter held: that parameter, and the columns it leaves linear."""
    s = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    if model.coil == "ideal":
        return [(0.0, [s])]
    if model.coil == "semi":
        return [(float(n), [s**n]) for n in _EXPONENTS]
    corners = 2.0 * np.pi * _CORNERS_HZ
    return [(float(w), [s, s / (w + s)]) for w in corners]


def _linear(columns: ComplexArray, impedance_ohm: ComplexArray) -> tuple[FloatArray, float]:
    """Coefficients and the sum of squares left, least squares of the residual over the modulus."""
    scale = 1.0 / np.abs(impedance_ohm)
    weighted, wanted = columns * scale[:, None], impedance_ohm * scale
    matrix = np.concatenate([weighted.real, weighted.imag])
    right = np.concatenate([wanted.real, wanted.imag])
    norms = np.linalg.norm(matrix, axis=0)
    found = np.linalg.lstsq(matrix / norms, right, rcond=None)[0] / norms
    return found, float(np.sum((matrix @ found - right) ** 2))


def _named(model: Model, found: FloatArray, extra: float, resonance: bool) -> dict[str, float]:
    """The linear coefficients as values by name."""
    named = {"re_ohm": float(found[0])}
    if resonance:
        named["qes"] = float(found[0] / found[1]) if found[1] else -1.0
    coil = found[1 + resonance :]
    if model.coil == "semi":
        return named | {"semi_k": float(coil[0]), "semi_n": extra}
    named["le_h"] = max(float(coil[0]), 1e-9)
    if model.coil == "lr2":
        named |= {"r2_ohm": float(coil[1]), "l2_h": float(coil[1]) / extra}
    return named


def _guess(
    model: Model, frequency_hz: FloatArray, impedance_ohm: ComplexArray, peak: Peak | None
) -> dict[str, float]:
    """Values of the right size where least squares gave none that can be."""
    modulus = np.abs(impedance_ohm)
    resistance = float(modulus.min())
    omega = 2.0 * math.pi * float(frequency_hz[-1])
    rise = math.sqrt(max(float(modulus[-1]) ** 2 - resistance**2, (0.05 * resistance) ** 2))
    named = {"re_ohm": resistance, "le_h": rise / omega, "l2_h": rise / omega, "r2_ohm": rise,
             "semi_n": 0.7, "semi_k": rise / omega**0.7}  # fmt: skip
    if peak is not None:
        named["qes"] = peak.qms / max(peak.height_ohm / resistance - 1.0, 0.05)
    return {n: v for n, v in named.items() if n in model.names}
