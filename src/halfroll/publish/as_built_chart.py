"""A unit's values as built and as measured, each on the 95 % interval of the prediction, whose edges stand at -1 and 1."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.builds.guide.side_by_side import Line, SideBySide, Value
from halfroll.core.text import format_with_u
from halfroll.publish.curves import tidy
from halfroll.publish.frame import Frame
from halfroll.publish.named_rows import NamedRow, row_height, row_words
from halfroll.publish.on_bands import REACH, SURE, band_axis, band_part, rows_frame
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

APART = 0.16
"""How far, in rows, a value as built stands above the line and a measured one below it."""

NOTE = "shaded: 95 % of the prediction · open: as built · filled: measured · lines: their 95 % · at the edge: further out"


def as_built_chart(shown: SideBySide, *, theme: Theme, width_px: float) -> Spec:
    """One row a value; open points as built, filled ones measured."""
    lines = shown.lines
    names = [NamedRow(name=one.label, words=_words(one), main=False) for one in lines]
    axis = band_axis("From the predicted value; its 95 % stands at −1 and 1")
    frame, wide = rows_frame(names, axis, theme, width_px, NOTE, heights=(1.9, 3.6))
    said = "; ".join(f"{name.name}: {name.words}" for name in names)
    parts = [
        words_around(frame, ""), band_part(frame), _points(frame, [one.built for one in lines], lines, "built", -APART, wide),
        _points(frame, [one.measured for one in lines], lines, "measured", APART, wide),
        row_words(frame, names, frame.margins.left - 1.6 * theme.sizes.text if wide else 0.6 * frame.width, wide=wide),
    ]  # fmt: skip
    return specification(
        frame, parts, summary=f"Values as built and measured on the 95 % interval of the prediction. {said}."
    )


def _words(one: Line) -> str:
    told = format_with_u(one.built[0], SURE * one.built[1], one.unit, digits=1)
    return (
        told
        if one.measured is None
        else f"{told}, measured {format_with_u(one.measured[0], SURE * one.measured[1], one.unit, digits=1)}"
    )


def _points(
    frame: Frame, values: Sequence[Value | None], lines: Sequence[Line], name: str, off: float, wide: bool
) -> Part:
    palette, sizes = frame.look.palette, frame.look.sizes
    data = []
    for n, (value, one) in enumerate(zip(values, lines, strict=True)):
        if value is None:
            continue
        middle, low, high = (_at(one, value[0] + sign * SURE * value[1]) for sign in (0.0, -1.0, 1.0))
        data.append(
            {
                "x": tidy(middle),
                "low": tidy(low),
                "high": tidy(high),
                "y": tidy(row_height(n, wide=wide) + (1.0 if wide else 0.7) * off),
            }
        )
    fill = palette.ink if name == "measured" else palette.paper
    marker = marker_layer(
        frame, name, {**place(frame, x="x", y="y"), "stroke": {"value": palette.ink}, "fill": {"value": fill}}
    )
    marker["mark"]["strokeWidth"] = 0.5 * sizes.curve
    line = layer(
        name,
        "rule",
        place(frame, x="low", x2="high", y="y"),
        color=palette.ink,
        strokeWidth=0.6 * sizes.curve,
    )
    return Part(layers=[line, marker], data={name: data})


def _at(one: Line, value: float) -> float:
    """A value in half widths of the prediction's 95 % interval from its middle."""
    return float(np.clip((value - one.predicted[0]) / max(SURE * one.predicted[1], 1e-12), -REACH, REACH))
