"""Stepped sine tones: which are played, how loud, and how a played tone lies in its recording.

The way of IEC 60268-5 cl. 24 (wording from memory): sine tones one after the other, each measured when it is steady.
Every tone is built of equal blocks that hold a whole number of periods in a whole number of samples, so that its
harmonics fall exactly on lines of the spectrum of any run of blocks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.frequency import OCTAVE_NOMINAL_HZ, THIRD_OCTAVE_NOMINAL_HZ
from halfroll.core.levels import FloatArray

BLOCK_S = 0.1
"""A block lasts about this long, or `LEAST_PERIODS` where that is longer."""

LEAST_PERIODS = 4

LOWEST_HZ = 5.0

FADE_S = 0.03
"""Length of the fades (s); a step would thump and would throw the cone."""

PAUSE_S = 0.05
"""Silence behind every tone (s), so that its end is recorded."""


@dataclass(frozen=True, kw_only=True)
class ToneSettings:
    """When a tone counts as measured.

    Parameters
    ----------
    wanted_order
        Highest order that must be certain enough; all orders up to 10 are measured.
    weakest_db
        Weakest harmonic of interest, dB re fundamental.
    relative_u
        Wanted standard uncertainty of a harmonic, relative to it or to the weakest of interest where it is weaker.
    shortest_s, longest_s
        Least and greatest length of a tone (s).
    silence_s
        Silence recorded before the first tone (s).
    stop_thd
        Ratio over the fundamental from which on no louder tone of that frequency is played.
    """

    wanted_order: int = 5
    weakest_db: float = -60.0
    relative_u: float = 0.1
    shortest_s: float = 0.5
    longest_s: float = 6.0
    silence_s: float = 1.0
    stop_thd: float = 0.3

    def __post_init__(self) -> None:
        if not 2 <= self.wanted_order <= 10:
            raise InputError("The highest wanted order must be a harmonic that is measured",
                             found=self.wanted_order, allowed="2 to 10")  # fmt: skip
        if not 0.1 <= self.shortest_s <= self.longest_s <= 60.0:
            raise InputError("Least and greatest length of a tone must ascend",
                             found=f"{self.shortest_s:g} s and {self.longest_s:g} s", allowed="0.1 to 60 s")  # fmt: skip
        if not 0.0 < self.stop_thd <= 3.0:
            raise InputError("The distortion at which louder tones are left out must be above 0 and at most 300 %",
                             found=f"{100 * self.stop_thd:g} %")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class TonePlan:
    """Tones that are to be played: every frequency at every level, from the lowest level to the highest.

    Parameters
    ----------
    frequency_hz, level_v
        Wanted frequencies and terminal voltages (r.m.s.), both ascending.
    rate_hz
        Samples per second.
    v_per_full_scale
        Terminal voltage of a sample of 1.0; a sine of peak L gives L times this over sqrt(2) r.m.s.
    limit_v
        Highest voltage (r.m.s.) the person allows.
    settings
        When a tone counts as measured.

    Raises
    ------
    InputError
        Frequencies or levels not ascending, a level above the limit or beyond what the output gives, a frequency whose
        second harmonic lies beyond half the sample rate.
    """

    frequency_hz: tuple[float, ...]
    level_v: tuple[float, ...]
    rate_hz: int
    v_per_full_scale: float
    limit_v: float
    settings: ToneSettings = field(default_factory=ToneSettings)

    def __post_init__(self) -> None:
        _ascending("Frequencies", "Hz", self.frequency_hz)
        _ascending("Levels", "V", self.level_v)
        lowest, highest = self.frequency_hz[0], self.frequency_hz[-1]
        if lowest < LOWEST_HZ or highest > self.rate_hz / 4.0:
            wrong = lowest if lowest < LOWEST_HZ else highest
            raise InputError("A tone must leave room for its second harmonic below half the sample rate",
                             found=f"{wrong:g} Hz at {self.rate_hz} samples a second",
                             allowed=f"{LOWEST_HZ:g} to {self.rate_hz / 4.0:g} Hz")  # fmt: skip
        if self.limit_v < self.level_v[0]:
            raise InputError("The limit lies below the first level, so nothing may be played",
                             found=f"limit {self.limit_v:.4g} V, first level {self.level_v[0]:.4g} V",
                             remedy="Lower the first level, or raise the limit if the driver bears it")  # fmt: skip
        if self.limit_v < self.level_v[-1] * (1.0 - 1e-9):
            raise InputError("No level may lie above the limit", found=f"{self.level_v[-1]:.4g} V",
                             allowed=f"up to {self.limit_v:.4g} V",
                             remedy="Lower the highest level, or raise the limit if the driver bears it")  # fmt: skip
        if self.peak(self.level_v[-1]) > 1.0:
            most = self.v_per_full_scale / math.sqrt(2.0)
            raise InputError("The output cannot give the highest level", found=f"{self.level_v[-1]:.4g} V",
                             allowed=f"up to {most:.4g} V r.m.s.", remedy="Turn the amplifier up and calibrate the output again, or lower the level")  # fmt: skip

    def peak(self, level_v: float) -> float:
        """Peak of the samples re full scale for a terminal voltage (V r.m.s.)."""
        return math.sqrt(2.0) * level_v / self.v_per_full_scale


@dataclass(frozen=True, kw_only=True)
class Tone:
    """One tone as it was played, and where it lies in the recording.

    Parameters
    ----------
    nominal_hz
        Frequency that was wanted.
    level_v
        Terminal voltage that was wanted (r.m.s.).
    peak
        Peak of its samples re full scale.
    periods, block
        Periods in a block, and samples in a block.
    blocks
        Number of blocks at full level.
    start
        Sample at which its fade-in begins.
    closing
        It repeats an earlier tone at the end, to see whether anything moved meanwhile.
    """

    nominal_hz: float
    level_v: float
    peak: float
    periods: int
    block: int
    blocks: int
    start: int = 0
    closing: bool = False

    def frequency_hz(self, rate_hz: int) -> float:
        """Frequency that was played, periods · rate / block; within 0.5/block of the wanted one."""
        return self.periods * rate_hz / self.block

    def first(self, rate_hz: int) -> int:
        """Sample at which the tone stands at its full level."""
        return self.start + round(FADE_S * rate_hz)

    def length(self, rate_hz: int) -> int:
        """Samples from the fade-in to the end of the pause behind it."""
        return 2 * round(FADE_S * rate_hz) + self.blocks * self.block + round(PAUSE_S * rate_hz)

    def samples(self, rate_hz: int) -> FloatArray:
        """The tone re full scale with its fades and the pause, shape (length,); a sine that begins at zero."""
        fade, pause = round(FADE_S * rate_hz), round(PAUSE_S * rate_hz)
        count = 2 * fade + self.blocks * self.block
        wave = self.peak * np.sin(2.0 * np.pi * self.periods / self.block * np.arange(count))
        ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(fade) + 0.5) / fade)
        wave[:fade] *= ramp
        wave[count - fade :] *= ramp[::-1]
        return np.concatenate([wave, np.zeros(pause)])


@dataclass(frozen=True, kw_only=True)
class Schedule:
    """What a recording of tones holds: silence from its start for `silence` samples, then the tones."""

    rate_hz: int
    silence: int
    tones: tuple[Tone, ...]


def tone(plan: TonePlan, nominal_hz: float, level_v: float, blocks: int, *, closing: bool = False) -> Tone:
    """A tone of a plan with a number of blocks."""
    periods = max(LEAST_PERIODS, math.ceil(BLOCK_S * nominal_hz))
    return Tone(
        nominal_hz=nominal_hz,
        level_v=level_v,
        peak=plan.peak(level_v),
        periods=periods,
        block=round(periods * plan.rate_hz / nominal_hz),
        blocks=blocks,
        closing=closing,
    )


def tone_frequencies(low_hz: float, high_hz: float, per_octave: int = 3) -> tuple[float, ...]:
    """Frequencies of a series of tones within [low, high] (Hz).

    Preferred frequencies of ISO 266 for 1 or 3 an octave, else 1000·10^(0.3 k/n) (IEC 61260-1:2014 cl. 5.4, odd n).
    """
    if not LOWEST_HZ <= low_hz <= high_hz:
        raise InputError("The band of the tones must ascend", found=f"{low_hz:g} to {high_hz:g} Hz",
                         allowed=f"from {LOWEST_HZ:g} Hz")  # fmt: skip
    if not 1 <= per_octave <= 24:
        raise InputError("Tones an octave must be 1 to 24", found=per_octave)
    if per_octave in (1, 3):
        grid = OCTAVE_NOMINAL_HZ if per_octave == 1 else THIRD_OCTAVE_NOMINAL_HZ
    else:
        first = math.ceil(per_octave * math.log10(low_hz / 1000.0) / 0.3 - 1e-9)
        last = math.floor(per_octave * math.log10(high_hz / 1000.0) / 0.3 + 1e-9)
        grid = tuple(round(1000.0 * 10.0 ** (0.3 * k / per_octave), 4) for k in range(first, last + 1))
    found = tuple(f for f in grid if low_hz * (1 - 1e-9) <= f <= high_hz * (1 + 1e-9))
    if not found:
        raise InputError("The band of the tones holds no frequency of the series",
                         found=f"{low_hz:g} to {high_hz:g} Hz", remedy="Widen the band, or take more tones an octave")  # fmt: skip
    return found


def level_steps(low: float, high: float, count: int) -> tuple[float, ...]:
    """Levels in equal ratios from low to high, both included; volts or watts alike."""
    if not 0.0 < low <= high:
        raise InputError("Levels must be above 0 and ascending", found=f"{low:g} to {high:g}")
    if not 1 <= count <= 40 or (count == 1) != math.isclose(low, high):
        raise InputError("A series must have 2 to 40 levels, or 1 when both ends are the same", found=count)
    return tuple(float(v) for v in np.geomspace(low, high, count))


def _ascending(what: str, unit: str, values: tuple[float, ...]) -> None:
    if not values:
        raise InputError(f"{what} of tones must be given; there is none")
    before = 0.0
    for value in values:
        if not (math.isfinite(value) and value > before):
            raise InputError(f"{what} of tones must be numbers above 0 and ascending",
                             found=f"{value:g} {unit} after {before:g} {unit}")  # fmt: skip
        before = value
