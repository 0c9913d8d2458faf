"""Charts of what limits a driver: highest level over frequency with the limit that acts, and power compression."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_value
from halfroll.driver.limits.types import LimitCurve, Lowest, MaximumLevel, PowerCompression
from halfroll.publish.charts import frequency_chart
from halfroll.publish.curves import NamedCurve, Row, tidy
from halfroll.publish.drives import NORMAL_95, named
from halfroll.publish.frame import Frame, text_width
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.limits_words import SHORT_WORDS, acting_runs, lowest_words, time_words
from halfroll.publish.parts import Part, layer, place
from halfroll.publish.scales import (
    frequency_axis,
    frequency_range,
    level_axis,
    level_height,
    linear_axis,
    log_axis,
    tallest_level_ratio,
)
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

QUANTITY = f"Level of the fundamental at 1{THIN}m in half space, dB re 20{THIN}µPa"
MOST_DB = 60.0
_SHOWN_POWERS = 3


def limits_chart(found: MaximumLevel, *, theme: Theme, width_px: float, title: str = "Highest level") -> Spec:
    """The lowest limit for ever and for the shortest time, every limit thin beside them, and a strip that says which one acts where."""
    main, brief = found.lowest[0], found.lowest[-1]
    f = found.frequency_hz
    curves = [_with_band(lowest_words(main), f, main, 0)]
    if len(found.lowest) > 1:
        curves.append(_with_band(lowest_words(brief), f, brief, 1))
    curves += [named(one.label, f, one.level_db, style=style) for one, style in _others(found)]
    reach = frequency_range(float(f[0]), float(f[-1]))
    values = np.concatenate([one.curve.value for one in curves])
    axis = level_axis(values[np.isfinite(values)], title=QUANTITY, most_db=MOST_DB)
    span = axis.high - axis.low
    ratio = tallest_level_ratio(reach, span)
    zones = () if found.usable_hz is None or found.usable_hz >= reach[1] else (Limit(from_x=found.usable_hz, word=f"cone breaks up from {format_value(found.usable_hz, None, 'Hz')}"),)  # fmt: skip
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=QUANTITY, zones=zones,
            x=lambda px: frequency_axis(*reach, width_px=px, text_px=theme.sizes.text), y=axis,
            height=lambda px: level_height(px, reach, span, ratio), readout=Readout(number=".1f", unit=" dB"),
            notes=(f"strip at the foot: what limits {lowest_words(main)}", "steady tones", f"{ratio:g} dB as long as one decade (IEC 60263)"),
            band_note="shaded: 95 % band, from what was assumed", under=partial(_strip, found, main),
        )
    )  # fmt: skip


def compression_chart(found: PowerCompression, *, theme: Theme, width_px: float) -> Spec:
    """Level lost over power after ten seconds, a minute and for ever, with their 95 % bands."""
    curves = [
        named(time_words(float(t)), found.power_w, loss, np.maximum(loss - NORMAL_95 * u, 0.0), loss + NORMAL_95 * u, style=style)
        for t, loss, u, style in zip(found.seconds[::-1], found.loss_db[::-1], found.u_db[::-1], (0, 1, 2, 3), strict=False)
    ]  # fmt: skip
    quantity = "Level lost to the warm coil in dB"
    hot = found.power_w[np.isfinite(found.limit_s)]
    edge = float(hot[0]) if hot.size else math.inf
    zones = [] if math.isinf(edge) else [Limit(from_x=edge, word="too hot in the end")]
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title="Power compression", quantity=quantity, zones=zones,
            x=lambda px: log_axis(found.power_w, title="Nominal power, V² over the cold resistance, in W", pattern="1-2-5"),
            y=linear_axis(0.0, float(np.max(found.loss_db + NORMAL_95 * found.u_db)), title=quantity), height=lambda px: px / 2.2,
            readout=Readout(number=".2f", spread=".1f", unit=" dB"),
            notes=(f"pink noise, {found.band_hz[0]:g}{THIN}Hz to {found.band_hz[1] / 1000:g}{THIN}kHz, at a constant voltage",),
            band_note="shaded: 95 % band, from the ways of the heat",
        )
    )  # fmt: skip


def compression_over_frequency_chart(found: PowerCompression, *, theme: Theme, width_px: float) -> Spec:
    """Level lost over frequency after hours at some powers: little at resonance, where the impedance is high."""
    places = np.unique(np.linspace(0, found.power_w.size - 1, _SHOWN_POWERS + 1).round().astype(int))[1:]
    curves = [
        named(format_value(float(found.power_w[i]), None, "W"), found.frequency_hz, found.over_frequency_db[i], style=style)
        for style, i in enumerate(places)
    ]  # fmt: skip
    return frequency_chart(
        curves, theme=theme, width_px=width_px, quantity="Level lost after hours in dB", title="Power compression over frequency",
        readout=Readout(number=".2f", unit=" dB"), range_hz=found.band_hz,
    )  # fmt: skip


def _with_band(label: str, f: FloatArray, lowest: Lowest, style: int) -> NamedCurve:
    half = NORMAL_95 * lowest.u_db
    if not np.any(half > 0.0):
        return named(label, f, lowest.level_db, style=style)
    return named(label, f, lowest.level_db, lowest.level_db - half, lowest.level_db + half, style=style)


def _others(found: MaximumLevel) -> list[tuple[LimitCurve, int]]:
    """The limits that are drawn beside the lowest: heat and the end of the model have their say in the strip."""
    shown = [one for one in found.curves if one.kind in ("travel", "distortion") and np.count_nonzero(np.isfinite(one.level_db)) > 1]  # fmt: skip
    return [(one, 2 + i) for i, one in enumerate(shown)]


def _strip(found: MaximumLevel, lowest: Lowest, frame: Frame) -> Part:
    """A strip along the foot of the plot: where which limit acts, parted by ticks, in words as far as they fit."""
    sizes, palette = frame.look.sizes, frame.look.palette
    top, foot = frame.height - 1.9 * sizes.small, frame.height
    ticks: list[Row] = []
    words: list[Row] = []
    end = min(frame.x.high, found.usable_hz or frame.x.high)
    for low, high, key in acting_runs(found, lowest):
        left, right = (float(frame.x_px(min(max(at, frame.x.low), end))) for at in (low, high))
        ticks += [_tick(frame, x, top, foot) for x in (left, right) if 0.5 < x < frame.width - 0.5]
        word = next(
            w
            for w in (*_wordings(found, key), "")
            if text_width(w, sizes.small) + 0.5 * sizes.small <= right - left
        )
        if word:
            words.append({"x": tidy(float(frame.x_at(0.5 * (left + right)))), "y": tidy(float(frame.y_at(0.5 * (top + foot)))), "word": word})  # fmt: skip
    ground = [
        {
            "x": tidy(frame.x.low),
            "x2": tidy(end),
            "y": tidy(float(frame.y_at(top))),
            "y2": tidy(float(frame.y_at(foot))),
        }
    ]
    spot = {**place(frame, x="x", y="y"), "text": {"field": "word"}}
    return Part(
        layers=[
            layer("acting_ground", "rect", place(frame, x="x", y="y", x2="x2", y2="y2"), color=palette.paper, opacity=0.9, stroke=palette.line,
                  strokeWidth=sizes.hair),
            layer("acting_ticks", "rule", place(frame, x="x", y="y", y2="y2"), color=palette.ink, strokeWidth=sizes.hair),
        ],
        over=[layer("acting", "text", spot, fontSize=sizes.small, color=palette.ink, align="center", baseline="middle")],
        data={"acting_ground": ground, "acting_ticks": ticks, "acting": words},
    )  # fmt: skip


def _wordings(found: MaximumLevel, key: str) -> tuple[str, ...]:
    """A limit in words, the long one first."""
    return (found.curve(key).label, SHORT_WORDS.get(key.partition("-")[0], ""))


def _tick(frame: Frame, x: float, top: float, foot: float) -> Row:
    return {
        "x": tidy(float(frame.x_at(x))),
        "y": tidy(float(frame.y_at(top))),
        "y2": tidy(float(frame.y_at(foot))),
    }
