"""What charts over drive and of tones share: curves, axes, words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypedDict, TypeVar

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_value
from halfroll.measure.analysis.distortion import BoolArray
from halfroll.measure.stepped.level_series import LevelSeries
from halfroll.publish.curves import NamedCurve
from halfroll.publish.scales import frequency_range
from halfroll.publish.theme import Theme

MOST_CURVES = 7
NORMAL_95 = 1.96
"""Two-sided 95 % quantile of the normal distribution."""

LEAST_DECADES = 0.9
"""Decades a frequency axis spans at least."""

T = TypeVar("T")


class Look(TypedDict):
    """Look and width (px) of a picture."""

    theme: Theme
    width_px: float


def named(
    label: str,
    x: FloatArray,
    value: FloatArray,
    low: FloatArray | None = None,
    high: FloatArray | None = None,
    *,
    bound: BoolArray | None = None,
    style: int | None = None,
) -> NamedCurve:
    """A curve with its name over any horizontal quantity; valid throughout."""
    curve = Curve(frequency_hz=x, value=value, low=low, high=high, bound=bound, valid_from_hz=0.0)
    return NamedCurve(label=label, curve=curve, style=style)


def drive_words(level_v: float, rated_ohm: float | None) -> str:
    """A drive as power into the rated impedance, or as voltage where that is not stated."""
    if rated_ohm is None:
        return format_value(level_v, None, "V")
    return f"{level_v**2 / rated_ohm:.2g}{THIN}W"


def source_words(name: str, series: LevelSeries) -> str:
    """Where a curve over drive comes from, as its name: ``tones lawn``, or ``sweeps``."""
    return f"tones {name}" if series.source == "tones" else name


def drive_title(rated_ohm: float | None) -> str:
    """Title of an axis of drives, its unit last."""
    return "Voltage in V" if rated_ohm is None else f"Power into {rated_ohm:g}{THIN}Ω in W"


def reach(frequency_hz: FloatArray, least_decades: float = LEAST_DECADES) -> tuple[float, float]:
    """Ends of the frequency axis: tones often fill less than a decade, and the proportions of IEC 60263 would make that
    a tower.
    """
    low, high = float(frequency_hz.min()), float(frequency_hz.max())
    short = max(0.0, least_decades - math.log10(high / low)) / 2.0
    return frequency_range(max(low / 10.0**short, 10.0), min(high * 10.0**short, 20_000.0))


def thinned(values: Sequence[T], most: int = MOST_CURVES) -> list[T]:
    """At most so many of some values, evenly from the first to the last."""
    if len(values) <= most:
        return list(values)
    return [values[round(i * (len(values) - 1) / (most - 1))] for i in range(most)]
