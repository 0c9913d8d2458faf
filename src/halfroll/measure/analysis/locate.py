"""Where in a recording the sweep is, and whether it is the sweep it is said to be.

Three steps: the ridge of the spectrogram gives rate constant and start roughly, whatever the sweep; the peak of the
deconvolved response gives the start to a fraction of a sample; the delay over frequency of that response shows a
clock that differs or samples that were lost.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import fft

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.sweep import Sweep

STANDARD_RATES_HZ = (8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 176400, 192000)
"""Sample rates in common use."""

_FRAMES = 96
_TOLERANCE = 0.02


@dataclass(frozen=True, kw_only=True)
class Ridge:
    """An exponential sweep as seen in a spectrogram: rate constant L (s), start time (s) of the frequency `at_hz`."""

    rate_constant_s: float
    at_hz: float
    at_s: float
    low_hz: float
    high_hz: float

    def time_of(self, frequency_hz: float) -> float:
        """Time in the recording (s) at which the sweep passes a frequency."""
        return self.at_s + self.rate_constant_s * float(np.log(frequency_hz / self.at_hz))


def _ridge_points(signal: FloatArray, rate_hz: int, frame: int) -> tuple[FloatArray, FloatArray]:
    starts = np.unique(np.linspace(0, len(signal) - frame, _FRAMES).astype(int))
    frames = signal[starts[:, None] + np.arange(frame)] * np.hanning(frame)
    power = np.abs(fft.rfft(frames, axis=1)) ** 2
    power[:, 0] = 0
    peak = np.argmax(power, axis=1)
    rows = np.arange(len(starts))
    around = np.clip(peak[:, None] + np.arange(-3, 4), 0, power.shape[1] - 1)
    share = power[rows[:, None], around].sum(axis=1) / np.maximum(power.sum(axis=1), 1e-300)
    loud = power[rows, peak]
    keep = (share > 0.3) & (loud > 1e-6 * loud.max()) & (peak > 1)
    bins = around.astype(float)
    weight = power[rows[:, None], around]
    centre = (bins * weight).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-300)
    return (starts[keep] + frame / 2) / rate_hz, centre[keep] * rate_hz / frame


def find_ridge(signal: FloatArray, rate_hz: int) -> Ridge | None:
    """Fit one exponential sweep to the spectrogram's ridge; None when there is no such thing in the signal.

    A median of slopes between pairs of frames (Theil-Sen) ignores up to a quarter of frames that hold something else.
    """
    frame = int(min(len(signal) // 8, max(512, rate_hz // 24)))
    if frame < 64 or not np.any(signal):
        return None
    time, frequency = _ridge_points(signal, rate_hz, frame)
    if len(time) < 6:
        return None
    y = np.log(frequency)
    first, second = np.triu_indices(len(time), 4)
    slopes = (y[second] - y[first]) / (time[second] - time[first])
    slopes = slopes[slopes > 0.02]
    if len(slopes) < len(first) // 4:
        return None
    slope = float(np.median(slopes))
    for _ in range(6):
        intercept = float(np.median(y - slope * time))
        good = np.abs(y - slope * time - intercept) < 0.12
        if good.sum() < 6:
            return None
        slope, intercept = (float(v) for v in np.polyfit(time[good], y[good], 1))
    if good.sum() < 0.35 * len(time) or slope <= 0:
        return None
    middle = float(np.mean(time[good]))
    return Ridge(
        rate_constant_s=1 / slope,
        at_hz=float(np.exp(slope * middle + intercept)),
        at_s=middle,
        low_hz=float(frequency[good].min()),
        high_hz=float(frequency[good].max()),
    )


def check_ridge(ridge: Ridge | None, sweep: Sweep, length_s: float) -> float:
    """Start time (s) of the sweep in the recording, within some milliseconds.

    Raises
    ------
    InputError
        When there is no sweep, it is another sweep, the sample rate differs, or a part of it is missing.
    """
    if ridge is None:
        raise InputError(
            "The recording holds no exponential sweep",
            remedy="Check that the right file was chosen and that the microphone was on",
        )
    ratio = ridge.rate_constant_s / sweep.rate_constant_s
    if abs(ratio - 1) > _TOLERANCE:
        _raise_other_sweep(ridge, sweep, ratio)
    start = ridge.time_of(sweep.start_hz)
    if start < -0.1 or start + sweep.duration_s > length_s + 0.1:
        missing = "beginning" if start < -0.1 else "end"
        raise InputError(
            f"The {missing} of the sweep is not in the recording",
            found=f"a sweep from {start:.2f} s to {start + sweep.duration_s:.2f} s in a recording of {length_s:.2f} s",
            remedy="Record with silence before and after the sweep",
        )
    return start


def _raise_other_sweep(ridge: Ridge, sweep: Sweep, ratio: float) -> None:
    for played in STANDARD_RATES_HZ:
        if played != sweep.rate_hz and abs(ratio * sweep.rate_hz / played - 1) < 0.008:
            raise InputError(
                f"The sample rate does not fit: the sweep runs as if made for {played} Hz",
                key="sweep.rate_hz",
                found=f"{sweep.rate_hz} Hz in the file",
                allowed="one sample rate for sweep, player and recorder",
                remedy="Set player and recorder to one sample rate and record again, or correct the file's rate",
            )
    found = ridge.rate_constant_s * sweep.duration_s / sweep.rate_constant_s
    raise InputError(
        "The recording holds another sweep than the record says",
        key="sweep.duration_s",
        found=f"one that would take {found:.2f} s from {sweep.start_hz:g} to {sweep.stop_hz:g} Hz, "
        f"L = {ridge.rate_constant_s:.4f} s",
        allowed=f"{sweep.duration_s:.2f} s, L = {sweep.rate_constant_s:.4f} s",
        remedy="Enter start, stop and duration of the sweep that was played",
    )


def peak_time(response: FloatArray, rate_hz: int, near_s: float, within_s: float = 0.2) -> float:
    """Time (s) of the largest magnitude of a circular response near a time, to a fraction of a sample (parabola)."""
    reach = int(within_s * rate_hz)
    index = (round(near_s * rate_hz) + np.arange(-reach, reach + 1)) % len(response)
    values = np.abs(response[index])
    k = int(np.clip(np.argmax(values), 1, len(values) - 2))
    a, b, c = values[k - 1 : k + 2]
    curvature = a - 2 * b + c
    shift = 0.0 if curvature == 0 else 0.5 * (a - c) / curvature
    return round(near_s * rate_hz) / rate_hz + (k - reach + shift) / rate_hz


@dataclass(frozen=True, kw_only=True)
class Clock:
    """Delay over the sweep's course.

    Parameters
    ----------
    drift
        Relative clock difference of player and recorder (1e-6: 1 ppm); the recorder's sweep lasts 1 + drift as long.
    jump_s, jump_at_hz
        A sudden step of the delay (s, positive: samples were added, negative: lost) and the frequency at which the
        sweep then was; zero when the delay is smooth.
    u_drift
        Standard uncertainty of the drift, from the scatter of the delays.
    """

    drift: float
    u_drift: float
    jump_s: float = 0.0
    jump_at_hz: float = 0.0


def band_delays(spectrum: ComplexArray, frequency_hz: FloatArray, bands_hz: FloatArray) -> FloatArray:
    """Mean group delay (s) of a spectrum in the bands between consecutive `bands_hz`, weighted by power."""
    step = np.diff(frequency_hz)
    turn = spectrum[1:] * np.conj(spectrum[:-1])
    middle = 0.5 * (frequency_hz[1:] + frequency_hz[:-1])
    delays = np.full(len(bands_hz) - 1, np.nan)
    for i, (low, high) in enumerate(pairwise(bands_hz)):
        inside = (middle >= low) & (middle < high)
        if inside.any():
            delays[i] = -np.angle(np.sum(turn[inside])) / (2 * np.pi * np.mean(step[inside]))
    return delays


def read_clock(delays_s: FloatArray, centres_hz: FloatArray, rate_constant_s: float, rate_hz: int) -> Clock:
    """Tell a slow drift from a sudden jump in the delays of successive bands.

    A clock that differs by eps shifts the delay by eps L ln f: a straight line over ln f.  Lost samples make a step.
    The step is believed when it explains the delays far better than the line and is at least one sample.
    """
    x = np.log(centres_hz)
    good = np.isfinite(delays_s)
    x, d, centres = x[good], delays_s[good], centres_hz[good]
    if len(x) < 5:
        return Clock(drift=0.0, u_drift=np.inf)
    (slope, _), covariance = np.polyfit(x, d, 1, cov=True)
    line = float(np.sum((d - np.polyval(np.polyfit(x, d, 1), x)) ** 2))
    best, at, size = np.inf, 0, 0.0
    for k in range(2, len(x) - 2):
        # Band k holds the step itself and belongs to neither side.
        left, right = np.median(d[:k]), np.median(d[k + 1 :])
        rest = float(np.sum((d[:k] - left) ** 2) + np.sum((d[k + 1 :] - right) ** 2))
        if rest < best:
            best, at, size = rest, k, float(right - left)
    if abs(size) > 1.0 / rate_hz and best < 0.1 * line:
        return Clock(drift=0.0, u_drift=np.inf, jump_s=size, jump_at_hz=float(centres[at]))
    return Clock(
        drift=float(slope) / rate_constant_s, u_drift=float(np.sqrt(covariance[0, 0])) / rate_constant_s
    )
