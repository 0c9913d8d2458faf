"""Hatching with a word: where a chart says nothing, or only with a remark."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.publish.curves import NamedCurve, Row, tidy
from halfroll.publish.frame import Frame, text_width
from halfroll.publish.parts import Part, layer, place

Inside = Callable[[FloatArray, FloatArray], NDArray[np.bool_]]


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A stretch of the horizontal axis to be hatched, and the word that says why.

    Parameters
    ----------
    from_x, to_x
        Ends in the axis's unit; infinite ends mean the edge of the chart.
    word
        Written inside, such as ``room below 143 Hz``.
    """

    word: str
    from_x: float = 0.0
    to_x: float = float("inf")


def room(below_hz: float) -> Limit:
    """The zone below a frequency (Hz) in which the room is part of what is shown."""
    return Limit(to_x=below_hz, word=f"room below {below_hz:.3g}{THIN}Hz")


def limits(frame: Frame, zones: Sequence[Limit], curves: Sequence[NamedCurve]) -> Part:
    """Hatched zones from top to bottom of the plot, each with its boundary line and its word, clear of the curves."""
    strokes: list[Row] = []
    words: list[Row] = []
    for zone in zones:
        low, high = _ends(frame, zone)
        if high - low < 1.0:
            continue
        strokes += hatching(frame, lambda x, y, a=low, b=high: (x >= a) & (x <= b))  # type: ignore[misc]
        strokes += [
            _stroke(frame, x, x, 0.0, frame.height) for x in (low, high) if 0.5 < x < frame.width - 0.5
        ]
        words.append(_zone_word(frame, zone.word, low, high, curves))
    return _drawn(frame, "limits", strokes, words)


def noise_floor(frame: Frame, frequency_hz: FloatArray, level: FloatArray, word: str = "noise") -> Part:
    """Everything under a noise curve hatched, with the word where there is most room."""
    usable = np.isfinite(level)
    if np.count_nonzero(usable) < 2:
        return Part()
    x, y = frame.x_px(frequency_hz[usable]), frame.y_px(level[usable])

    def under(across: FloatArray, down: FloatArray) -> NDArray[np.bool_]:
        return np.asarray((down >= np.interp(across, x, y)) & (across >= x[0]) & (across <= x[-1]))

    strokes = hatching(frame, under)
    columns = np.linspace(0.12, 0.88, 20) * frame.width
    top = np.interp(columns, x, y)
    best = int(np.argmin(np.where((columns >= x[0]) & (columns <= x[-1]), top, np.inf)))
    text = frame.look.sizes.small
    if frame.height - top[best] < 1.2 * text:
        return _drawn(frame, "noise", strokes, [])
    middle = min((top[best] + frame.height) / 2.0, top[best] + 2.5 * text)
    place = _place(frame, float(columns[best]), float(middle))
    return _drawn(frame, "noise", strokes, [{**place, "word": word, "upright": 0}])


def hatching(frame: Frame, inside: Inside) -> list[Row]:
    """Rows x, y, x2, y2 of lines at 45 degrees, an even distance apart, cut to where `inside` (px, px) is true."""
    gap = frame.look.sizes.hatch_gap * np.sqrt(2.0)
    rows: list[Row] = []
    for start in np.arange(-frame.height + gap / 2.0, frame.width, gap):
        along = np.arange(max(start, 0.0), min(start + frame.height, frame.width) + 0.5, 1.0)
        if along.size < 2:
            continue
        down = frame.height - (along - start)
        hit = np.concatenate(([False], inside(along, down), [False]))
        for first, stop in zip(
            np.flatnonzero(~hit[:-1] & hit[1:]), np.flatnonzero(hit[:-1] & ~hit[1:]), strict=True
        ):
            if stop - first > 1:
                rows.append(_stroke(frame, along[first], along[stop - 1], down[first], down[stop - 1]))
    return rows


def _drawn(frame: Frame, name: str, strokes: list[Row], words: list[Row]) -> Part:
    if not strokes:
        return Part()
    palette, sizes = frame.look.palette, frame.look.sizes
    lines = layer(
        name, "rule", place(frame, x="x", y="y", x2="x2", y2="y2"),
        color=palette.hatch, strokeWidth=0.7 * sizes.hair, clip=True,
    )  # fmt: skip
    halo = {"stroke": palette.paper, "strokeWidth": 0.45 * sizes.small, "strokeJoin": "round"}
    text = {"fontSize": sizes.small, "fontStyle": "italic", "color": palette.quiet, "baseline": "middle"}
    spot = {**place(frame, x="x", y="y"), "text": {"field": "word"}}
    over = [
        layer(
            f"{name}_words",
            "text",
            spot,
            f"datum.upright == {upright}",
            align="center",
            angle=270 * upright,
            **text,
            **style,
        )
        for upright in sorted({int(row["upright"]) for row in words})
        for style in (halo, {})
    ]
    return Part(layers=[lines], over=over, data={name: strokes, f"{name}_words": words})


def _zone_word(frame: Frame, word: str, low: float, high: float, curves: Sequence[NamedCurve]) -> Row:
    """The word lying in the zone where it fits, else upright along its boundary: inside, or beside a sliver.

    It stands at the foot or at the head of the plot, where fewer curves run.
    """
    size = frame.look.sizes.small
    flat = text_width(word, size) + size <= high - low
    if not flat and text_width(word, size) > frame.height - size:
        word = word.split(" ")[0]
    long = text_width(word, size)
    inwards = 0.8 * size if high - low > 1.4 * size else -0.8 * size
    across = (low + high) / 2.0 if flat else high - inwards if low <= 0.5 else low + inwards
    wide, tall = (long, size) if flat else (size, long)
    from_edge = 0.7 * size + tall / 2.0

    def crowd(down: float) -> int:
        return sum(_points_near(frame, c, (across, down), (wide, tall)) for c in curves)

    down = min((frame.height - from_edge, from_edge), key=crowd)
    return {**_place(frame, across, down), "word": word, "upright": int(not flat)}


def _points_near(
    frame: Frame, named: NamedCurve, centre_px: tuple[float, float], size_px: tuple[float, float]
) -> int:
    """How many points of a curve lie in a rectangle (px)."""
    x, y = named.curve.frequency_hz, named.curve.value
    shown = (x >= frame.x.low) & (x <= frame.x.high) & (y >= frame.y.low) & (y <= frame.y.high)
    near_x = np.abs(frame.x_px(x[shown]) - centre_px[0]) <= size_px[0]
    return int(np.count_nonzero(near_x & (np.abs(frame.y_px(y[shown]) - centre_px[1]) <= 0.7 * size_px[1])))


def _ends(frame: Frame, zone: Limit) -> tuple[float, float]:
    low = 0.0 if zone.from_x <= frame.x.low else float(frame.x_px(min(zone.from_x, frame.x.high)))
    high = frame.width if zone.to_x >= frame.x.high else float(frame.x_px(max(zone.to_x, frame.x.low)))
    return low, high


def _stroke(frame: Frame, x: float, x2: float, y: float, y2: float) -> Row:
    return {
        "x": tidy(float(frame.x_at(x))),
        "x2": tidy(float(frame.x_at(x2))),
        "y": tidy(float(frame.y_at(y))),
        "y2": tidy(float(frame.y_at(y2))),
    }


def _place(frame: Frame, x_px: float, y_px: float) -> Row:
    return {"x": tidy(float(frame.x_at(x_px))), "y": tidy(float(frame.y_at(y_px)))}
