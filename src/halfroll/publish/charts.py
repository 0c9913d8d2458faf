"""Charts of curves: levels, distortion, impedance over frequency, and anything over time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.scales import (
    Axis,
    frequency_axis,
    frequency_range,
    level_axis,
    level_height,
    linear_axis,
    log_axis,
    log_height,
    tallest_level_ratio,
    tallest_log_ratio,
)
from halfroll.publish.sketch import BAND_NOTE, Dots, Noise, Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

LEVEL = "Sound pressure level in dB re 20 µPa"
Range = tuple[float, float]


def level_chart(
    curves: Sequence[NamedCurve],
    *,
    theme: Theme,
    width_px: float,
    ratio_db_per_decade: float | None = 25.0,
    range_hz: Range | None = None,
    most_db: float = 50.0,
    title: str = "",
    quantity: str = LEVEL,
    zones: Sequence[Limit] = (),
    noise: Noise | None = None,
    notes: Sequence[str] = (),
    room_for: Sequence[str] = (),
    band_note: str = BAND_NOTE,
    tallest_px: float | None = None,
) -> Spec:
    """Levels (dB) over frequency in the proportions of IEC 60263:2020.

    Parameters
    ----------
    curves
        Each labelled at its end, with its 95 % band where it has one.
    theme, width_px
        Look, and width of the whole picture (px).
    ratio_db_per_decade
        10, 20, 25 or 50 dB as long as one decade of frequency; the one that makes the tallest chart no taller than two
        thirds of its width when None.
    range_hz
        Ends of the frequency axis; those of the curves, widened to preferred frequencies, when None.
    most_db
        Levels further than this below the highest are cut off.
    zones, noise
        Hatched: validity limits, and everything under the noise.
    notes
        Said under the chart, before its proportions.
    room_for
        More names that the space beside the plot must hold, so that charts under each other align.
    band_note
        What the shaded band is.
    tallest_px
        The most the whole picture may be tall (px); the plot is made smaller, in its proportions, where it must be.
    """
    reach = range_hz or _range_of(curves)
    axis = level_axis(_visible_values(curves, reach), title=quantity, most_db=most_db)
    span_db = axis.high - axis.low
    ratio = tallest_level_ratio(reach, span_db) if ratio_db_per_decade is None else ratio_db_per_decade
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=quantity, zones=zones, noise=noise,
            x=_frequencies(reach, theme), y=axis,
            height=lambda px: level_height(px, reach, span_db, ratio),
            readout=Readout(number=".1f", unit=" dB"),
            notes=(*notes, f"{ratio:g} dB as long as one decade (IEC 60263)"), room_for=room_for,
            band_note=band_note, tallest_px=tallest_px,
        )
    )  # fmt: skip


def thd_chart(
    curves: Sequence[NamedCurve],
    *,
    theme: Theme,
    width_px: float,
    ratio: float | None = 2.5,
    range_hz: Range | None = None,
    title: str = "",
    quantity: str = "Total harmonic distortion in %",
    zones: Sequence[Limit] = (),
    notes: Sequence[str] = (),
    room_for: Sequence[str] = (),
    band_note: str = BAND_NOTE,
    tallest_px: float | None = None,
) -> Spec:
    """Distortion (%) over frequency, both logarithmic; `ratio` decades of % as long as one decade of frequency, or the
    ratio of the tallest chart no taller than two thirds of its width when None.

    Where a curve is only an upper bound it is thin and dotted with ticks that hang down, and the chart says so.
    """
    reach = range_hz or _range_of(curves)
    axis = log_axis(_visible_values(curves, reach), title=quantity, limits=(0.01, 100.0))
    ratio = _log_ratio(axis, reach) if ratio is None else ratio
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=quantity, zones=zones,
            x=_frequencies(reach, theme), y=axis, height=_log_height(axis, reach, ratio),
            readout=Readout(number=".2r", spread=".1r", unit=" %"), notes=(*notes, _log_note(ratio)), room_for=room_for, band_note=band_note, tallest_px=tallest_px,
        )
    )  # fmt: skip


def impedance_chart(
    curves: Sequence[NamedCurve],
    *,
    theme: Theme,
    width_px: float,
    ratio: float | None = 1.25,
    range_hz: Range | None = None,
    title: str = "",
    quantity: str = "Magnitude of impedance in Ω",
    zones: Sequence[Limit] = (),
    notes: Sequence[str] = (),
    room_for: Sequence[str] = (),
    dots: Dots | None = None,
    tallest_px: float | None = None,
) -> Spec:
    """Magnitude of impedance (ohm) over frequency, both logarithmic, in the proportions of IEC 60263:2020; in those of the
    tallest chart no taller than two thirds of its width when `ratio` is None.
    """
    reach = range_hz or _range_of(curves)
    axis = log_axis(
        _with_dots(_visible_values(curves, reach), dots, reach), title=quantity, limits=(0.1, 10_000.0)
    )
    ratio = _log_ratio(axis, reach) if ratio is None else ratio
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=quantity, zones=zones,
            x=_frequencies(reach, theme), y=axis, height=_log_height(axis, reach, ratio),
            readout=Readout(number=".3r", spread=".1r", unit=" Ω"), notes=(*notes, _log_note(ratio)), room_for=room_for, dots=dots, tallest_px=tallest_px,
        )
    )  # fmt: skip


def frequency_chart(
    curves: Sequence[NamedCurve],
    *,
    theme: Theme,
    width_px: float,
    quantity: str,
    readout: Readout,
    range_hz: Range | None = None,
    y_range: Range | None = None,
    marks: Sequence[float] = (),
    title: str = "",
    zones: Sequence[Limit] = (),
    notes: Sequence[str] = (),
    dots: Dots | None = None,
    band_note: str = BAND_NOTE,
) -> Spec:
    """A linear quantity (phase, group delay) over frequency; its height is a third of the plot's width."""
    reach = range_hz or _range_of(curves)
    axis = _linear_y(_with_dots(_visible_values(curves, reach), dots, reach), y_range, marks, quantity)
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=quantity, zones=zones,
            x=_frequencies(reach, theme), y=axis, height=lambda px: px / 3.0, readout=readout,
            notes=tuple(notes), dots=dots, band_note=band_note,
        )
    )  # fmt: skip


def time_chart(
    curves: Sequence[NamedCurve],
    *,
    theme: Theme,
    width_px: float,
    quantity: str,
    readout: Readout,
    range_ms: Range,
    title: str = "",
    zones: Sequence[Limit] = (),
) -> Spec:
    """A quantity over time in ms (the curve's ``frequency_hz`` holds the time); height a third of the width."""
    axis = _linear_y(_visible_values(curves, range_ms), None, (), quantity)
    letters = 5.0 * theme.sizes.text
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=quantity, zones=zones,
            x=lambda px: linear_axis(*range_ms, title="Time in ms", count=max(2, int(px / letters))),
            y=axis, height=lambda px: px / 3.0, readout=readout,
        )
    )  # fmt: skip


def _frequencies(reach: Range, theme: Theme) -> Callable[[float], Axis]:
    return lambda px: frequency_axis(*reach, width_px=px, text_px=theme.sizes.text)


def _log_height(axis: Axis, reach: Range, ratio: float) -> Callable[[float], float]:
    decades = float(np.log10(axis.high / axis.low))
    return lambda px: log_height(px, reach, decades, ratio)


def _log_ratio(axis: Axis, reach: Range) -> float:
    return tallest_log_ratio(reach, float(np.log10(axis.high / axis.low)))


def _log_note(ratio: float) -> str:
    return f"{ratio:g} {'decade' if ratio <= 1.0 else 'decades'} up as long as one across (IEC 60263)"


def _range_of(curves: Sequence[NamedCurve]) -> Range:
    ends = [c.curve.frequency_hz[np.isfinite(c.curve.value)] for c in curves]
    known = np.concatenate(ends) if ends else np.zeros(0)
    if known.size == 0:
        return 20.0, 20_000.0
    return frequency_range(float(known.min()), float(known.max()))


def _visible_values(curves: Sequence[NamedCurve], reach: Range) -> FloatArray:
    shown = [
        c.curve.value[(c.curve.frequency_hz >= reach[0]) & (c.curve.frequency_hz <= reach[1])] for c in curves
    ]
    return np.concatenate(shown) if shown else np.zeros(0)


def _with_dots(values: FloatArray, dots: Dots | None, reach: Range) -> FloatArray:
    """The values, and those of single points that did count."""
    if dots is None:
        return values
    inside = (dots.frequency_hz >= reach[0]) & (dots.frequency_hz <= reach[1]) & ~dots.out
    return np.concatenate([values, dots.value[inside]])


def _linear_y(values: FloatArray, y_range: Range | None, marks: Sequence[float], title: str) -> Axis:
    if y_range is not None:
        return Axis(low=y_range[0], high=y_range[1], marks=tuple(marks), title=title)
    finite = values[np.isfinite(values)]
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 1.0)
    return linear_axis(low, high, title=title)
