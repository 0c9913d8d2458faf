"""Axes in numbers: where they start and end, where their marks stand, and how tall a chart must be.

Frequency marks are the preferred frequencies of ISO 266.  Proportions are those of IEC 60263:2020: on a level chart
the length of one decade of frequency equals 10, 20, 25 or 50 dB (cl. 4.1); on a chart of a logarithmic quantity it
equals 0.5, 1, 1.25 or 2.5 decades of that quantity (cl. 4.2).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.frequency import OCTAVE_NOMINAL_HZ, THIRD_OCTAVE_NOMINAL_HZ
from halfroll.core.levels import FloatArray

LEVEL_RATIOS_DB = (10.0, 20.0, 25.0, 50.0)
"""Decibels as long as one decade of frequency, IEC 60263:2020 cl. 4.1."""

LOG_RATIOS = (0.5, 1.0, 1.25, 2.5)
"""Decades of a logarithmic quantity as long as one decade of frequency, IEC 60263:2020 cl. 4.2."""

LEAST_PX_PER_MARK = 34.0
"""Frequency marks stand at least this far apart (px) at a text height of 13 px."""

LEAST_AIR = {"dB": 0.5, "octaves": 0.1}
"""A strip's scale reaches at least this far beyond its values."""


@dataclass(frozen=True, kw_only=True)
class Axis:
    """One axis: its ends, whether it is logarithmic, its marks, and how a mark is written.

    Parameters
    ----------
    low, high
        Ends, in the quantity's unit.
    marks
        Values with a grid line and a label.
    title
        Quantity and unit.
    log
        Logarithmic or linear.
    kilo
        Write marks of 1000 and more with a k, as on frequency axes.
    """

    low: float
    high: float
    marks: tuple[float, ...]
    title: str
    log: bool = False
    kilo: bool = False

    def fraction(self, value: FloatArray | float) -> FloatArray:
        """Where a value lies along the axis: 0 at the low end, 1 at the high end (any shape)."""
        if self.log:
            return np.asarray(np.log(np.asarray(value) / self.low) / math.log(self.high / self.low))
        return np.asarray((np.asarray(value) - self.low) / (self.high - self.low))

    def value(self, fraction: FloatArray | float) -> FloatArray:
        """The inverse of `fraction`, also beyond the ends."""
        part = np.asarray(fraction, dtype=np.float64)
        if self.log:
            return np.asarray(self.low * (self.high / self.low) ** part)
        return np.asarray(self.low + (self.high - self.low) * part)


def frequency_axis(low_hz: float, high_hz: float, *, width_px: float, text_px: float = 13.0) -> Axis:
    """A frequency axis with the ISO 266 octave marks, every second or third of them where space is short."""
    if not 0 < low_hz < high_hz:
        raise InputError(
            "The frequencies of a chart must be positive and ascending", found=f"{low_hz:g} to {high_hz:g} Hz"
        )
    per_octave = width_px / math.log2(high_hz / low_hz)
    step = max(1, math.ceil(LEAST_PX_PER_MARK * text_px / 13.0 / per_octave))
    at_1k = OCTAVE_NOMINAL_HZ.index(1000.0)
    marks = tuple(
        f for i, f in enumerate(OCTAVE_NOMINAL_HZ) if (i - at_1k) % step == 0 and low_hz <= f <= high_hz
    )
    return Axis(low=low_hz, high=high_hz, marks=marks, title="Frequency in Hz", log=True, kilo=True)


def third_octave_marks(low_hz: float, high_hz: float) -> tuple[float, ...]:
    """The preferred frequencies of ISO 266 in third-octave steps within a range (Hz), for small ticks."""
    return tuple(f for f in THIRD_OCTAVE_NOMINAL_HZ if low_hz <= f <= high_hz)


def frequency_range(low_hz: float, high_hz: float) -> tuple[float, float]:
    """The range widened to preferred third-octave frequencies, within 10 Hz to 20 kHz."""
    nominal = THIRD_OCTAVE_NOMINAL_HZ
    low = max((f for f in nominal if f <= low_hz * 1.001), default=nominal[0])
    high = min((f for f in nominal if f >= high_hz * 0.999), default=nominal[-1])
    if high <= low:
        high = nominal[min(nominal.index(low) + 1, len(nominal) - 1)]
    return low, high


def level_height(
    width_px: float, range_hz: tuple[float, float], span_db: float, ratio_db: float = 25.0
) -> float:
    """Height (px) of `span_db` when one decade of frequency is as long as `ratio_db`, IEC 60263:2020 cl. 4.1.

    20 Hz to 20 kHz is three decades; at 25 dB per decade 50 dB are two decades tall: width to height 3 to 2.
    """
    _allow(ratio_db, LEVEL_RATIOS_DB, "The ratio of a level chart (dB per decade)")
    return span_db / ratio_db * width_px / math.log10(range_hz[1] / range_hz[0])


def log_height(width_px: float, range_hz: tuple[float, float], decades: float, ratio: float = 1.25) -> float:
    """Height (px) of `decades` of a logarithmic quantity, IEC 60263:2020 cl. 4.2."""
    _allow(ratio, LOG_RATIOS, "The ratio of a chart of a logarithmic quantity (decades per decade)")
    return decades / ratio * width_px / math.log10(range_hz[1] / range_hz[0])


def tallest_level_ratio(range_hz: tuple[float, float], span_db: float, most: float = 0.7) -> float:
    """Of the proportions of IEC 60263:2020 cl. 4.1 the one whose chart is tallest, but not above `most` of its width."""
    return _tallest(LEVEL_RATIOS_DB, span_db, range_hz, most)


def tallest_log_ratio(range_hz: tuple[float, float], decades: float, most: float = 0.7) -> float:
    """Of the proportions of IEC 60263:2020 cl. 4.2 the one whose chart is tallest, but not above `most` of its width."""
    return _tallest(LOG_RATIOS, decades, range_hz, most)


def _tallest(ratios: Sequence[float], span: float, range_hz: tuple[float, float], most: float) -> float:
    across = math.log10(range_hz[1] / range_hz[0])
    return next((ratio for ratio in ratios if span / ratio / across <= most), ratios[-1])


def level_axis(
    values_db: FloatArray, *, title: str, least_db: float = 30.0, most_db: float = 50.0, step_db: float = 10.0
) -> Axis:
    """An axis of levels that holds the highest value and at most `most_db` below it, in steps of 10 dB."""
    finite = values_db[np.isfinite(values_db)]
    top, bottom = (float(np.max(finite)), float(np.min(finite))) if finite.size else (100.0, 60.0)
    high = 5.0 * math.ceil((top + 1.0) / 5.0)
    span = min(max(5.0 * math.ceil((high - bottom) / 5.0), least_db), most_db)
    low = high - span
    first = math.ceil(low / step_db)
    marks = tuple(step_db * k for k in range(first, math.floor(high / step_db) + 1))
    return Axis(low=low, high=high, marks=marks, title=title)


def log_axis(
    values: FloatArray,
    *,
    title: str,
    pattern: Literal["1-2-5", "1-10"] = "1-2-5",
    limits: tuple[float, float] = (1e-6, 1e6),
    most_decades: float = 3.0,
) -> Axis:
    """A logarithmic axis from one mark of the series 1, 2, 5 (or 1, 10) to another."""
    usable = values[np.isfinite(values) & (values > 0)]
    top, bottom = (float(np.max(usable)), float(np.min(usable))) if usable.size else (10.0, 1.0)
    top = min(max(top, limits[0] * 10), limits[1])
    bottom = max(min(bottom, top / 3.0), limits[0], top / 10.0**most_decades)
    steps = (1.0, 2.0, 5.0) if pattern == "1-2-5" else (1.0,)
    decades = range(math.floor(math.log10(bottom)) - 1, math.ceil(math.log10(top)) + 2)
    series = [float(f"{s * 10.0**d:.1g}") for d in decades for s in steps]
    low = max(m for m in series if m <= bottom * 1.0001)
    high = min(m for m in series if m >= top * 0.9999)
    return Axis(low=low, high=high, marks=tuple(m for m in series if low <= m <= high), title=title, log=True)


def linear_axis(low: float, high: float, *, title: str, count: int = 5) -> Axis:
    """A linear axis widened to round marks: 1, 2 or 5 times a power of ten apart, about `count` of them."""
    if not high > low:
        low, high = low - 0.5 * max(abs(low), 1.0), high + 0.5 * max(abs(high), 1.0)
    step = round_step((high - low) / count)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    marks = tuple(float(f"{k * step:.10g}") for k in range(first, last + 1))
    return Axis(low=marks[0], high=marks[-1], marks=marks, title=title)


def round_step(rough: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not below `rough`."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1 - 1e-9))


def _allow(value: float, allowed: Iterable[float], field: str) -> None:
    options = list(allowed)
    if not any(math.isclose(value, a) for a in options):
        raise InputError(
            f"{field} must be one of IEC 60263", found=f"{value:g}", allowed=[f"{a:g}" for a in options]
        )


def strip_axis(values: Sequence[float], unit: str, *, width_px: float, text_px: float = 13.0) -> Axis:
    """The common scale of a strip chart: all values and a little air, logarithmic for hertz and wide percentages.

    Marks are round: preferred frequencies of ISO 266 for hertz where at least two find room.
    """
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    log = low > 0 and (unit == "Hz" or (unit == "%" and high > 5.0 * low))
    if log:
        air = max((high / low) ** 0.08, 1.04)
        low, high = low / air, high * air
    else:
        air = max(0.08 * (high - low), LEAST_AIR.get(unit, 0.02 * max(abs(low), abs(high), 1e-9)))
        low, high = low - air, high + air
    bare = Axis(low=low, high=high, marks=(), title="", log=log, kilo=unit == "Hz")
    return replace(bare, marks=_strip_marks(bare, width_px, text_px))


def _strip_marks(axis: Axis, width_px: float, text_px: float) -> tuple[float, ...]:
    """The first series of round marks of which two or more find room; else the sparsest that shows any."""
    most = max(2, int(width_px / (4.0 * text_px)))
    series: list[Sequence[float]] = []
    if axis.log:
        preferred = [THIRD_OCTAVE_NOMINAL_HZ, OCTAVE_NOMINAL_HZ] if axis.kilo else []
        series += [*preferred, _decades(axis, (1.0, 2.0, 5.0)), _decades(axis, (1.0,))]
    steps = [round_step((axis.high - axis.low) / wanted) for wanted in range(most, most + 4)]
    series += [_multiples(step, axis.low, axis.high) for step in steps]
    fitting = [[m for m in marks if _label_fits(axis, m, width_px, text_px)] for marks in series]
    readable = [marks for marks in fitting if len(marks) >= 2 and _apart(axis, marks, width_px, text_px)]
    return tuple(readable[0] if readable else next((marks for marks in fitting if len(marks) == 1), []))


def _decades(axis: Axis, steps: tuple[float, ...]) -> list[float]:
    exponents = range(math.floor(math.log10(axis.low)), math.ceil(math.log10(axis.high)) + 1)
    return [float(f"{step * 10.0**e:.1g}") for e in exponents for step in steps]


def _apart(axis: Axis, marks: Sequence[float], width_px: float, text_px: float) -> bool:
    """Whether the labels of neighbouring marks leave a letter between them."""
    places = np.asarray(axis.fraction(np.asarray(marks))) * width_px
    widths = np.array([_label_px(axis, mark, text_px) for mark in marks])
    return bool(np.all(np.diff(places) >= (widths[:-1] + widths[1:]) / 2.0 + 0.5 * text_px))


def _label_px(axis: Axis, mark: float, text_px: float) -> float:
    label = f"{mark / 1000.0:g}k" if axis.kilo and mark >= 1000.0 else f"{mark:g}"
    return 0.52 * text_px * len(label)


def _multiples(step: float, low: float, high: float) -> tuple[float, ...]:
    return tuple(float(f"{k * step:.10g}") for k in range(math.ceil(low / step), math.floor(high / step) + 1))


def _label_fits(axis: Axis, mark: float, width_px: float, text_px: float) -> bool:
    """Whether a mark lies on the axis and its label, centred on it, ends less than a letter beyond the axis."""
    if not axis.low <= mark <= axis.high:
        return False
    at = float(axis.fraction(mark)) * width_px
    return min(at, width_px - at) + 0.7 * text_px >= _label_px(axis, mark, text_px) / 2.0
