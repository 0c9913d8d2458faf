"""What charts are put together from: layers with their data, scales, ground, words around the plot.

A chart is written in the Vega-Lite language, which is plain JSON; a layer is one ``dict`` of it.  Each function
returns a `Part`: layers, and the rows of data they draw, by data name.  `halfroll.publish.spec` stacks parts into one
specification.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame
from halfroll.publish.scales import Axis, third_octave_marks

Layer = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Part:
    """Layers and the data they draw; `over` are layers that lie on top of everything else."""

    layers: list[Layer] = field(default_factory=list)
    over: list[Layer] = field(default_factory=list)
    data: dict[str, list[Row]] = field(default_factory=dict)


def layer(data: str, mark: str, encoding: dict[str, Any], where: str = "", **look: Any) -> Layer:
    """One layer: rows of `data` for which the expression `where` holds, drawn as `mark` with the looks given."""
    made: Layer = {"data": {"name": data}, "mark": {"type": mark, **look}, "encoding": encoding}
    if where:
        made["transform"] = [{"filter": where}]
    return made


def place(frame: Frame, **fields: str) -> dict[str, Any]:
    """Encoding of places: ``x="x", y="y", x2="x2"``; the same scales and axes in every layer."""
    channels: dict[str, Any] = {}
    for channel, name in fields.items():
        if channel in ("x", "y"):
            axis = frame.x if channel == "x" else frame.y
            shown = _axis(axis, axis.title if channel == "x" else None)
            channels[channel] = {"field": name, "type": "quantitative", "scale": _scale(axis), "axis": shown}
        else:
            channels[channel] = {"field": name}
    return channels


def ground(frame: Frame) -> Part:
    """Axes with their grid, and third-octave ticks on a frequency axis."""
    sizes, palette = frame.look.sizes, frame.look.palette
    at = third_octave_marks(frame.x.low, frame.x.high) if frame.x.kilo else frame.x.marks
    rise = tidy(float(frame.y_at(frame.height - 0.35 * sizes.text)))
    ticks = [{"x": f, "y": tidy(frame.y.low), "y2": rise} for f in at]
    encoding = place(frame, x="x", y="y", y2="y2")
    return Part(
        layers=[layer("ticks", "rule", encoding, color=palette.line, strokeWidth=sizes.hair)],
        data={"ticks": ticks},
    )


def words_around(frame: Frame, quantity: str) -> Part:
    """Title and vertical quantity above the plot, lines of notes below it."""
    sizes, palette = frame.look.sizes, frame.look.palette
    layers = [_line(quantity, 0.0, -0.75 * sizes.text, fontSize=sizes.text, color=palette.quiet)]
    if frame.title:
        bold = {"fontWeight": 600, "color": palette.ink}
        layers.append(_line(frame.title, 0.0, -2.1 * sizes.text, fontSize=sizes.title, **bold))
    last = frame.height + frame.margins.bottom - 0.4 * sizes.text
    for i, note in enumerate(reversed(frame.notes)):
        down = last - i * LINE_HEIGHT * sizes.small
        layers.append(_line(note, frame.notes_left, down, fontSize=sizes.small, color=palette.quiet))
    return Part(layers=layers, data={"once": [{}]})


def _line(words: str, x_px: float, y_px: float, **look: Any) -> Layer:
    encoding = {"x": {"value": round(x_px, 1)}, "y": {"value": round(y_px, 1)}, "text": {"value": words}}
    return layer("once", "text", encoding, align="left", baseline="bottom", **look)


def marker_layer(frame: Frame, data: str, encoding: dict[str, Any], where: str = "") -> Layer:
    """Filled markers of the theme's size."""
    size = {"size": 0.8 * frame.look.sizes.marker**2, "strokeWidth": frame.look.sizes.hair}
    return layer(data, "point", encoding, where, filled=True, opacity=1, **size)


def by_curve(channel: str, values: list[Any]) -> dict[str, Any]:
    """A channel that takes `values` by the number s of a row's curve."""
    scale = {"domain": list(range(len(values))), "range": values}
    return {channel: {"field": "s", "type": "nominal", "scale": scale, "legend": None}}


def _scale(axis: Axis) -> dict[str, Any]:
    kind = {"type": "log"} if axis.log else {"type": "linear", "zero": False}
    return {**kind, "domain": [axis.low, axis.high], "nice": False, "padding": 0}


def _axis(axis: Axis, title: str | None) -> dict[str, Any]:
    decimals = max((len(f"{mark:g}".partition(".")[2]) for mark in axis.marks), default=0)
    plain = f"format(datum.value, '{'~g' if axis.log else f'.{decimals}f'}')"
    kilo = f"datum.value >= 1000 ? format(datum.value / 1000, '~g') + 'k' : {plain}"
    return {"values": list(axis.marks), "labelExpr": kilo if axis.kilo else plain, "title": title}
