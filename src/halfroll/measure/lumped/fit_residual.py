"""What the residual of a fit shows: a second resonance, a resonance that is no linear one, scatter about it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.lumped.parameter_types import Fit

_BUMP_QS = (1.5, 3.0, 6.0, 12.0, 24.0)
_BUMP_TRIES = 4
_BUMP_WINDOW = 2.5  # ratio of frequencies to either side within which a bump is told from its surroundings
_BUMP_POINTS = 4  # points within its width, at least
_BUMP_EXPLAINS = 0.6  # share of the misfit about it that a bump must take away
_BUMP_F = 12.0  # its misfit taken away over what noise takes away
_PEAK_PROMINENCE = math.log(1.1)
_ZONE_EDGE = 1.3
_RUN = 5
_PEAK_FROM_END = 4  # points


@dataclass(frozen=True)
class Bump:
    """A second resonance: where (Hz), and its height over the modulus fitted there (1)."""

    at_hz: float
    size: float


def crossings(fit: Fit) -> tuple[float, float]:
    """Frequencies (Hz) where the fitted modulus crosses Re √r0 beside the resonance, by the formulas of the r0 method."""
    e = fit.estimates
    half = math.sqrt(1.0 + e.value("qms") / e.value("qes")) / (2.0 * e.value("qms"))
    upper = e.value("fs_hz") * (half + math.hypot(1.0, half))
    return e.value("fs_hz") ** 2 / upper, upper


def zone(fit: Fit) -> NDArray[np.bool_]:
    """Which points belong to the resonance, shape (n,): between the crossings of the r0 method."""
    low, high = crossings(fit)
    return np.asarray((fit.frequency_hz >= low) & (fit.frequency_hz <= high))


def second_resonance(fit: Fit) -> Bump | None:
    """The largest resonance beside the fitted one, as a second peak of the modulus or as a bump of the residual."""
    low, high = crossings(fit)
    outside = (fit.frequency_hz < low / _ZONE_EDGE) | (fit.frequency_hz > high * _ZONE_EDGE)
    return _second_peak(fit, outside) or _bump(fit, outside)


def _second_peak(fit: Fit, outside: NDArray[np.bool_]) -> Bump | None:
    """A peak of the measured modulus that the fitted one lacks."""
    from scipy.signal import find_peaks

    modulus = np.abs(fit.measured_ohm)
    smooth = np.median([modulus[:-2], modulus[1:-1], modulus[2:]], axis=0)
    peaks, found = find_peaks(np.log(smooth), prominence=_PEAK_PROMINENCE, width=2)
    peaks = peaks + 1
    scatter = 6.0 * float(np.median(np.abs(fit.residual)))
    prominences = np.expm1(found["prominences"])
    kept = [
        i
        for i, p in enumerate(peaks)
        if outside[p] and prominences[i] > scatter and _PEAK_FROM_END <= p < len(outside) - _PEAK_FROM_END
    ]
    if not kept:
        return None
    best = max(kept, key=lambda i: float(prominences[i]))
    return Bump(float(fit.frequency_hz[peaks[best]]), float(prominences[best]))


def _bump(fit: Fit, outside: NDArray[np.bool_]) -> Bump | None:
    """A bump of the residual with the shape of a resonance that stands out of its surroundings."""
    rest = fit.residual
    smooth = np.abs(_running_median(rest))
    inner = np.concatenate([[False], (smooth[1:-1] >= smooth[:-2]) & (smooth[1:-1] >= smooth[2:]), [False]])
    peaks = np.flatnonzero(inner & outside)
    best: Bump | None = None
    for peak in peaks[np.argsort(smooth[peaks])][-_BUMP_TRIES:]:
        found = _resonance_at(fit, rest, float(fit.frequency_hz[peak]))
        if found is not None and (best is None or found.size > best.size):
            best = found
    return best


def _resonance_at(fit: Fit, rest: ComplexArray, at_hz: float) -> Bump | None:
    """The best resonance near `at_hz` over a smooth background, if it explains the residual there."""
    f = fit.frequency_hz
    near = (f > at_hz / _BUMP_WINDOW) & (f < at_hz * _BUMP_WINDOW)
    if near.sum() < 3 * _BUMP_POINTS:
        return None
    log = np.log(f[near] / at_hz)
    wanted, size = rest[near], np.abs(fit.fitted_ohm[near])
    ground = np.stack([np.ones_like(log), log, log**2], axis=1)
    before = _left(ground + 0j, wanted)[1]
    best: Bump | None = None
    least = before
    for q in _BUMP_QS:
        if (np.abs(log) < 0.5 / q).sum() < _BUMP_POINTS:
            continue
        shape = 1.0 / (1.0 + 2j * q * np.sinh(log)) / size
        found, after = _left(np.column_stack([ground, shape]), wanted)
        if after < least:
            least = after
            best = Bump(at_hz, float(np.abs(found[-1])) / float(np.interp(0.0, log, size)))
    freedom = 2.0 * (near.sum() - 4)
    gain = (before - least) / 2.0 / max(least / freedom, 1e-300)
    if best is None or gain < _BUMP_F or before - least < _BUMP_EXPLAINS * before:
        return None
    return best


def _left(columns: ComplexArray, wanted: ComplexArray) -> tuple[ComplexArray, float]:
    found = np.linalg.lstsq(columns, wanted, rcond=None)[0]
    return np.asarray(found, dtype=np.complex128), float(np.sum(np.abs(wanted - columns @ found) ** 2))


def _running_median(values: ComplexArray) -> ComplexArray:
    """Median of five neighbours of real and imaginary parts, same shape; what stands alone vanishes."""
    padded = np.pad(values, 2, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 5)
    return np.asarray(np.median(windows.real, axis=1) + 1j * np.median(windows.imag, axis=1))


@dataclass(frozen=True)
class Resonance:
    """The residual about the resonance beside that far above it.

    Parameters
    ----------
    smooth, smooth_far
        R.m.s. of the smooth part up to twice the upper crossing of the r0 method, and beyond four times it (1).
    rough, rough_far
        R.m.s. of the scatter from point to point between the crossings, and beyond four times the upper one (1).
    impedance_ratio
        R.m.s. of the modulus between the crossings over its median beyond, which scatter of the current alone follows (1).
    """

    smooth: float
    smooth_far: float
    rough: float
    rough_far: float
    impedance_ratio: float


def about_resonance(fit: Fit) -> Resonance | None:
    """What the residual shows about the resonance; None with fewer than six points there or ten far above it."""
    inside, upper = zone(fit), crossings(fit)[1]
    low, far = fit.frequency_hz < 2.0 * upper, fit.frequency_hz > 4.0 * upper
    if inside.sum() < 6 or far.sum() < 10:
        return None
    rest, kept, modulus = fit.residual, fit.weights > 0.0, np.abs(fit.fitted_ohm)
    rough = np.zeros(len(rest))
    rough[1:-1] = np.abs(rest[1:-1] - 0.5 * (rest[:-2] + rest[2:])) / math.sqrt(1.5)
    smooth = np.abs(_running_median(rest))
    return Resonance(
        smooth=_rms(smooth[low]),
        smooth_far=float(np.median(smooth[far])),
        rough=_rms(rough[inside & kept]),
        rough_far=_rms(rough[far & kept]),
        impedance_ratio=_rms(modulus[inside]) / float(np.median(modulus[far])),
    )


def _rms(values: FloatArray) -> float:
    return math.sqrt(float(np.mean(values**2))) if len(values) else 0.0


@dataclass(frozen=True)
class Stretch:
    """A stretch of the range (Hz) that the model does not follow, and by how much it misses there (r.m.s., 1)."""

    low_hz: float
    high_hz: float
    points: int
    size: float


def lost_stretches(fit: Fit) -> tuple[Stretch, ...]:
    """Runs of five points or more in a row that the fit had to give up, longest first."""
    lost = np.concatenate([[False], fit.weights < 0.5, [False]])
    starts, stops = np.flatnonzero(~lost[:-1] & lost[1:]), np.flatnonzero(lost[:-1] & ~lost[1:])
    f, rest = fit.frequency_hz, np.abs(fit.residual)
    runs = [
        Stretch(float(f[i]), float(f[j - 1]), int(j - i), _rms(rest[i:j]))
        for i, j in zip(starts, stops, strict=True)
        if j - i >= _RUN
    ]
    return tuple(sorted(runs, key=lambda r: -r.points))
