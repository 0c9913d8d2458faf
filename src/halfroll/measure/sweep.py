"""The synchronized exponential sweep.

A. Novak, P. Lotton, L. Simon, "Synchronized Swept-Sine: Theory, Application, and Implementation",
J. Audio Eng. Soc. 63(10), 786-798, 2015::

    x(t) = sin(2 pi f1 L exp(t/L)),   L = T / ln(f2/f1)

Shifting it by L ln n turns its phase into n times itself, so the n-th harmonic of a system under test appears as an
impulse response of its own, L ln n before the linear one, with its phase kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

LOWEST_RATE_HZ = 8_000
HIGHEST_RATE_HZ = 768_000


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """One synchronized exponential sweep with its fades and the silence around it.

    Parameters
    ----------
    start_hz, stop_hz
        Instantaneous frequency at the start and the end (Hz).
    duration_s
        Length of the sweep without the silence (s).
    rate_hz
        Samples per second.
    level
        Peak re full scale, 0 < level <= 1.
    fade_in_s, fade_out_s
        Raised-cosine fades inside the sweep (s).
    silence_before_s, silence_after_s
        Silence around the sweep (s); the noise floor is read from it.
    """

    start_hz: float = 20.0
    stop_hz: float = 20_000.0
    duration_s: float = 6.0
    rate_hz: int = 48_000
    level: float = 0.5
    fade_in_s: float = 0.05
    fade_out_s: float = 0.01
    silence_before_s: float = 0.5
    silence_after_s: float = 1.0

    def __post_init__(self) -> None:
        checks = (
            ("start_hz", 0 < self.start_hz < self.stop_hz, "above 0 Hz and below stop_hz"),
            ("rate_hz", LOWEST_RATE_HZ <= self.rate_hz <= HIGHEST_RATE_HZ, "8000 to 768000 Hz"),
            (
                "stop_hz",
                self.stop_hz <= self.rate_hz / 2,
                f"at most half the sample rate, {self.rate_hz / 2:g} Hz",
            ),
            ("duration_s", 0.1 <= self.duration_s <= 120, "0.1 to 120 s"),
            ("level", 0 < self.level <= 1, "above 0 and at most 1 (full scale)"),
            ("fade_in_s", 0 <= self.fade_in_s <= self.duration_s / 2, "0 to half the sweep"),
            ("fade_out_s", 0 <= self.fade_out_s <= self.duration_s / 2, "0 to half the sweep"),
            ("silence_before_s", 0 <= self.silence_before_s <= 60, "0 to 60 s"),
            ("silence_after_s", 0 <= self.silence_after_s <= 60, "0 to 60 s"),
        )
        for name, holds, allowed in checks:
            if not holds:
                raise InputError(f"{name} of the sweep is out of range", key=name, found=f"{getattr(self, name):g}",
                                 allowed=allowed)  # fmt: skip

    @property
    def rate_constant_s(self) -> float:
        """L (s): the time in which the frequency grows by the factor e."""
        return self.duration_s / math.log(self.stop_hz / self.start_hz)

    @property
    def start_sample(self) -> int:
        """Index of the sweep's first sample in `samples`."""
        return round(self.silence_before_s * self.rate_hz)

    @property
    def sweep_length(self) -> int:
        """Samples of the sweep itself."""
        return math.ceil(self.duration_s * self.rate_hz)

    @property
    def length(self) -> int:
        """Samples of the whole signal with its silences."""
        return self.start_sample + self.sweep_length + round(self.silence_after_s * self.rate_hz)

    def time_of(self, frequency_hz: float) -> float:
        """Time (s) after the sweep's start at which it passes a frequency."""
        return self.rate_constant_s * math.log(frequency_hz / self.start_hz)

    def harmonic_lead_s(self, order: int) -> float:
        """By how much (s) the `order`-th harmonic's impulse response leads the linear one: L ln n."""
        return self.rate_constant_s * math.log(order)

    def stretched(self, factor: float) -> Sweep:
        """The same sweep as a converter running `factor` times as long records it (1.0001: 100 ppm slow)."""
        return replace(
            self,
            start_hz=self.start_hz / factor,
            stop_hz=self.stop_hz / factor,
            duration_s=self.duration_s * factor,
        )

    def envelope(self) -> FloatArray:
        """The fades alone, shape (sweep_length,), peak 1."""
        shape = np.ones(self.sweep_length)
        if self.fade_in_s > 0:
            t = np.arange(round(self.fade_in_s * self.rate_hz)) / self.rate_hz
            shape[: len(t)] = 0.5 - 0.5 * np.cos(np.pi * t / self.fade_in_s)
        if self.fade_out_s > 0:
            first = max(self.sweep_length - round(self.fade_out_s * self.rate_hz) - 1, 0)
            left = np.maximum(self.duration_s - np.arange(first, self.sweep_length) / self.rate_hz, 0.0)
            shape[first:] *= 0.5 - 0.5 * np.cos(np.pi * np.minimum(left / self.fade_out_s, 1.0))
        return shape

    def tone(self) -> FloatArray:
        """The sweep with its fades, peak 1, without silence, shape (sweep_length,)."""
        t = np.arange(self.sweep_length) / self.rate_hz
        rate = self.rate_constant_s
        return np.asarray(np.sin(2 * np.pi * self.start_hz * rate * np.exp(t / rate)) * self.envelope())

    def samples(self) -> FloatArray:
        """What is played: silence, the sweep at its level, silence, shape (length,), re full scale."""
        signal = np.zeros(self.length)
        signal[self.start_sample : self.start_sample + self.sweep_length] = self.level * self.tone()
        return signal
