"""The layers of a chart: ground, bands, lines, markers, names at the ends.

A chart is written in the Vega-Lite language, which is plain JSON; a layer is one ``dict`` of it.  Each function
returns a `Part`: layers, and the rows of data they draw, by data name.  `halfroll.publish.spec` stacks parts into one
specification.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from halfroll.publish.curves import (
    BOUND,
    LIMITED,
    NamedCurve,
    Row,
    curve_rows,
    down_tick_rows,
    end_of,
    marker_rows,
    styles_of,
    tidy,
)
from halfroll.publish.frame import LINE_HEIGHT, Frame, spread_out
from halfroll.publish.scales import Axis, third_octave_marks

Layer = dict[str, Any]

HOVERING = "length(data('hover_store')) > 0"
"""True in the browser while the pointer is over the plot."""

SAMPLE = 2.0
"""Length of the piece of line before a name, in text heights."""


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
            title = axis.title if channel == "x" else None
            channels[channel] = {"field": name, "type": "quantitative", "scale": _scale(axis), "axis": _axis(axis, title)}
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
        layers=[layer("ticks", "rule", encoding, color=palette.line, strokeWidth=sizes.hair)], data={"ticks": ticks}
    )


def words_around(frame: Frame, quantity: str) -> Part:
    """Title and vertical quantity above the plot, lines of notes below it."""
    sizes, palette, margins = frame.look.sizes, frame.look.palette, frame.margins
    quiet = {"fontSize": sizes.text, "color": palette.quiet}
    layers = [_line(quantity, -0.75 * sizes.text, **quiet)]
    if frame.title:
        up = 2.1 * sizes.text
        layers.append(_line(frame.title, -up, fontSize=sizes.title, fontWeight=600, color=palette.ink))
    small = {"fontSize": sizes.small, "color": palette.quiet}
    step = LINE_HEIGHT * sizes.small
    first = frame.height + margins.bottom - 0.4 * sizes.text - step * (len(frame.notes) - 1)
    layers += [_line(note, first + step * i, frame.notes_left, **small) for i, note in enumerate(frame.notes)]
    return Part(layers=layers, data={"once": [{}]})


def _line(words: str, down: float, across: float = 0.0, **look: Any) -> Layer:
    encoding = {"x": {"value": round(across, 1)}, "y": {"value": round(down, 1)}, "text": {"value": words}}
    return layer("once", "text", encoding, align="left", baseline="bottom", **look)


def curves_part(frame: Frame, curves: Sequence[NamedCurve]) -> Part:
    """Bands; curves, full where valid, pale outside their limits, dotted with down-ticks where only an upper bound."""
    sizes, styles = frame.look.sizes, [frame.look.style(s) for s in styles_of(curves)]
    line = {**place(frame, x="x", y="y"), "detail": {"field": "g"}}
    dashes = ordinal("strokeDash", [list(style.dash) or [1, 0] for style in styles])
    colours = ordinal("stroke", [style.colour for style in styles])
    paler = {"opacity": {"condition": {"test": f"datum.k == {LIMITED}", "value": 0.55}, "value": 1}}
    certain = f"datum.k != {BOUND}"
    band = {**place(frame, x="x", y="lo", y2="hi"), "detail": {"field": "g"}}
    bands = layer(
        "curves", "area", {**band, **ordinal("fill", [style.colour for style in styles])}, "isValid(datum.lo)",
        clip=True, fillOpacity=0.2 if len(curves) < 4 else 0.14,
    )  # fmt: skip
    layers = [bands]
    pale = [i for i, style in enumerate(styles) if style.cased]
    if pale:
        casing = sizes.curve + 1.2 * sizes.hair
        layers.append(
            layer(
                "curves", "line", {**line, **dashes, **paler}, f"{certain} && indexof({pale}, datum.s) >= 0",
                clip=True, stroke=frame.look.palette.ink, strokeWidth=casing,
            )  # fmt: skip
        )
    layers.append(
        layer("curves", "line", {**line, **colours, **dashes, **paler}, certain, clip=True, strokeWidth=sizes.curve)
    )
    rows = curve_rows(frame, curves)
    data = {"curves": rows}
    if any(row["k"] == BOUND for row in rows):
        dots = [sizes.curve, 1.5 * sizes.curve]
        layers.append(
            layer(
                "curves", "line", {**line, **colours}, f"datum.k == {BOUND}",
                clip=True, strokeWidth=0.7 * sizes.curve, strokeDash=dots,
            )  # fmt: skip
        )
        hanging = {**place(frame, x="x", y="y", y2="y2"), **colours}
        layers.append(layer("down_ticks", "rule", hanging, clip=True, strokeWidth=0.6 * sizes.curve))
        data["down_ticks"] = down_tick_rows(frame, curves, every_px=sizes.text)
    return Part(layers=layers, data=data)


def markers(frame: Frame, curves: Sequence[NamedCurve]) -> Part:
    """A marker every now and then, so that curves are told apart without colour."""
    if len(curves) < 2:
        return Part()
    encoding = {**place(frame, x="x", y="y"), **marker_look(frame, curves)}
    return Part(
        layers=[marker_layer(frame, "markers", encoding)],
        data={"markers": marker_rows(frame, curves, every_px=11.0 * frame.look.sizes.text)},
    )


def marker_layer(frame: Frame, data: str, encoding: dict[str, Any], where: str = "") -> Layer:
    """Filled markers of the theme's size."""
    sizes = frame.look.sizes
    return layer(
        data, "point", encoding, where, filled=True, opacity=1, size=0.8 * sizes.marker**2, strokeWidth=sizes.hair
    )


def marker_look(frame: Frame, curves: Sequence[NamedCurve]) -> dict[str, Any]:
    """Shape, fill and outline of each curve's marker."""
    styles = [frame.look.style(s) for s in styles_of(curves)]
    outlines = [frame.look.palette.ink if style.cased else style.colour for style in styles]
    return {
        **ordinal("shape", [style.marker for style in styles]),
        **ordinal("fill", [style.colour for style in styles]),
        **ordinal("stroke", outlines),
    }


def names(frame: Frame, curves: Sequence[NamedCurve]) -> Part:
    """Every curve's name where it ends, or in a key under a narrow plot, with a piece of its line and its marker."""
    look, styles = frame.look, [frame.look.style(s) for s in styles_of(curves)]
    thread = layer(
        "names", "rule", place(frame, x="ex", y="ey", x2="x", y2="y"), "datum.thread",
        color=look.palette.line, strokeWidth=look.sizes.hair,
    )  # fmt: skip
    drawn = {
        **place(frame, x="x", y="y", x2="x2", y2="y2"),
        **ordinal("stroke", [style.colour for style in styles]),
        **ordinal("strokeDash", [list(style.dash) or [1, 0] for style in styles]),
    }
    sample = layer("names", "rule", drawn, strokeWidth=look.sizes.curve)
    marker = marker_layer(frame, "names", {**place(frame, x="x2", y="y2"), **marker_look(frame, curves)})
    text = layer(
        "names", "text",
        {
            **place(frame, x="tx", y="y2"),
            "text": {"field": "name"},
            "opacity": {"condition": {"test": HOVERING, "value": 0}, "value": 1},
        },
        align="left", baseline="middle", fontSize=look.sizes.text, color=look.palette.ink, limit=_name_room(frame),
    )  # fmt: skip
    layers = [thread, sample, marker, text] if len(curves) > 1 else [thread, sample, text]
    return Part(layers=layers, data={"names": name_rows(frame, curves)})


def name_rows(frame: Frame, curves: Sequence[NamedCurve]) -> list[Row]:
    """Where each name stands: ex, ey the curve's end; x, y to x2, y2 the piece of line; tx the text."""
    text = frame.look.sizes.text
    seen = [(s, end) for s, end in ((s, end_of(frame, c.curve)) for s, c in enumerate(curves)) if end is not None]
    below = frame.margins.key_below
    if below:
        left, ys = 0.0, [frame.height + (3.3 + LINE_HEIGHT * rank) * text for rank in range(len(seen))]
    else:
        left = frame.width + 0.25 * text
        ys = spread_out([end[1] for _, end in seen], LINE_HEIGHT * text, 0.5 * text, frame.height + 2.2 * text)
    rows = []
    for (s, (end_x, end_y)), y in zip(seen, ys, strict=True):
        early = not below and end_x < frame.width - 0.3 * text
        start_y = y if early or below else end_y
        rows.append(
            {
                "s": s,
                "name": curves[s].name,
                "thread": early,
                **_at(frame, ("ex", "ey"), end_x, end_y),
                **_at(frame, ("x", "y"), left, start_y),
                **_at(frame, ("x2", "y2"), left + SAMPLE * text, y),
                "tx": tidy(float(frame.x_at(left + (SAMPLE + 0.6) * text))),
            }
        )
    return rows


def ordinal(channel: str, values: list[Any]) -> dict[str, Any]:
    """A channel that takes `values` by the number s of a row's curve."""
    scale = {"domain": list(range(len(values))), "range": values}
    return {channel: {"field": "s", "type": "ordinal", "scale": scale, "legend": None}}


def _name_room(frame: Frame) -> float:
    room = frame.width if frame.margins.key_below else frame.margins.right
    return max(room - (SAMPLE + 0.9) * frame.look.sizes.text, 1.0)


def _at(frame: Frame, fields: tuple[str, str], x_px: float, y_px: float) -> Row:
    return {fields[0]: tidy(float(frame.x_at(x_px))), fields[1]: tidy(float(frame.y_at(y_px)))}


def _scale(axis: Axis) -> dict[str, Any]:
    kind = "log" if axis.log else "linear"
    return {"type": kind, "domain": [axis.low, axis.high], "nice": False, "zero": False, "padding": 0}


def _axis(axis: Axis, title: str | None) -> dict[str, Any]:
    decimals = max((len(f"{mark:g}".partition(".")[2]) for mark in axis.marks), default=0)
    plain = f"format(datum.value, '{'~g' if axis.log else f'.{decimals}f'}')"
    kilo = f"datum.value >= 1000 ? format(datum.value / 1000, '~g') + 'k' : {plain}"
    return {"values": list(axis.marks), "labelExpr": kilo if axis.kilo else plain, "title": title}
