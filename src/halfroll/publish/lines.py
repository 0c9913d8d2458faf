"""Curves as they are drawn: bands, lines, markers, and each curve's name at its end."""

from __future__ import annotations

from collections.abc import Sequence
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
from halfroll.publish.frame import LINE_HEIGHT, Frame, fitted, spread_out
from halfroll.publish.parts import Layer, Part, by_curve, layer, marker_layer, place
from halfroll.publish.theme import SeriesStyle

HOVERING = "length(data('hover_store')) > 0"
"""True in the browser while the pointer is over the plot."""

CERTAIN = f"datum.k != {BOUND}"
PALER = {"opacity": {"condition": {"test": f"datum.k == {LIMITED}", "value": 0.55}, "value": 1}}
"""How a curve looks outside its validity limits."""

SAMPLE = 2.0
"""Length of the piece of line before a name, in text heights."""


def curves_part(frame: Frame, curves: Sequence[NamedCurve]) -> Part:
    """Bands; curves, full where valid, pale outside their limits, dotted with down-ticks where only an upper bound."""
    sizes, ink = frame.look.sizes, frame.look.palette.ink
    styles = [frame.look.style(s) for s in styles_of(curves)]
    run = {**place(frame, x="x", y="y"), "detail": {"field": "g"}}
    colour = by_curve("stroke", [style.colour for style in styles])
    drawn = {**run, **_dashes(styles), **PALER}
    cased = [i for i, style in enumerate(styles) if style.cased]
    outline: dict[str, Any] = {"stroke": ink, "strokeWidth": sizes.curve + 0.9 * sizes.hair}
    layers = [
        _bands(frame, styles),
        layer("curves", "line", drawn, f"{CERTAIN} && indexof({cased}, datum.s) >= 0", clip=True, **outline),
        layer("curves", "line", {**drawn, **colour}, CERTAIN, clip=True, strokeWidth=sizes.curve),
    ]
    data = {"curves": curve_rows(frame, curves)}
    if any(row["k"] == BOUND for row in data["curves"]):
        dots = {"strokeWidth": 0.7 * sizes.curve, "strokeDash": [sizes.curve, 1.5 * sizes.curve]}
        hanging = {**place(frame, x="x", y="y", y2="y2"), **colour}
        layers += [
            layer("curves", "line", {**run, **colour}, f"datum.k == {BOUND}", clip=True, **dots),
            layer("down_ticks", "rule", hanging, clip=True, strokeWidth=0.6 * sizes.curve),
        ]
        data["down_ticks"] = down_tick_rows(frame, curves, every_px=sizes.text)
    return Part(layers=layers, data=data)


def _bands(frame: Frame, styles: Sequence[SeriesStyle]) -> Layer:
    """The 95 % bands, paler where many lie over each other."""
    edges = {**place(frame, x="x", y="lo", y2="hi"), "detail": {"field": "g"}}
    fill = by_curve("fill", [style.colour for style in styles])
    opacity = 0.2 if len(styles) < 4 else 0.14
    return layer("curves", "area", {**edges, **fill}, "isValid(datum.lo)", clip=True, fillOpacity=opacity)


def _dashes(styles: Sequence[SeriesStyle]) -> dict[str, Any]:
    return by_curve("strokeDash", [list(style.dash) or [1, 0] for style in styles])


def markers(frame: Frame, curves: Sequence[NamedCurve]) -> Part:
    """A marker every now and then, so that curves are told apart without colour."""
    if len(curves) < 2:
        return Part()
    encoding = {**place(frame, x="x", y="y"), **marker_look(frame, curves)}
    return Part(
        layers=[marker_layer(frame, "markers", encoding)],
        data={"markers": marker_rows(frame, curves, every_px=11.0 * frame.look.sizes.text)},
    )


def marker_look(frame: Frame, curves: Sequence[NamedCurve]) -> dict[str, Any]:
    """Shape, fill and outline of each curve's marker."""
    styles = [frame.look.style(s) for s in styles_of(curves)]
    outlines = [frame.look.palette.ink if style.cased else style.colour for style in styles]
    return {
        **by_curve("shape", [style.marker for style in styles]),
        **by_curve("fill", [style.colour for style in styles]),
        **by_curve("stroke", outlines),
    }


def names(frame: Frame, curves: Sequence[NamedCurve]) -> Part:
    """Every curve's name where it ends, or in a key under a narrow plot, with a piece of its line and its marker."""
    palette, sizes = frame.look.palette, frame.look.sizes
    styles = [frame.look.style(s) for s in styles_of(curves)]
    to_name = place(frame, x="ex", y="ey", x2="x", y2="y")
    piece = {**place(frame, x="x", y="y", x2="x2", y2="y2"), **by_curve("stroke", [s.colour for s in styles])}
    hidden = {"opacity": {"condition": {"test": HOVERING, "value": 0}, "value": 1}}
    word = {**place(frame, x="tx", y="y2"), "text": {"field": "name"}, **hidden}
    letters: dict[str, Any] = {"fontSize": sizes.text, "color": palette.ink}
    layers = [
        layer("names", "rule", to_name, "datum.thread", color=palette.line, strokeWidth=sizes.hair),
        layer("names", "rule", {**piece, **_dashes(styles)}, strokeWidth=sizes.curve),
        layer("names", "text", word, align="left", baseline="middle", **letters),
    ]
    if len(curves) > 1:
        spot = {**place(frame, x="x2", y="y2"), **marker_look(frame, curves)}
        layers.append(marker_layer(frame, "names", spot))
    return Part(layers=layers, data={"names": name_rows(frame, curves)})


def name_rows(frame: Frame, curves: Sequence[NamedCurve]) -> list[Row]:
    """Where each name stands: ex, ey the curve's end; x, y to x2, y2 the piece of line; tx the text."""
    text = frame.look.sizes.text
    seen = [
        (s, end) for s, end in ((s, end_of(frame, c.curve)) for s, c in enumerate(curves)) if end is not None
    ]
    below = frame.margins.key_below
    if below:
        left, ys = 0.0, [frame.height + (3.3 + LINE_HEIGHT * rank) * text for rank in range(len(seen))]
    else:
        left = frame.width + 0.25 * text
        ys = spread_out(
            [end[1] for _, end in seen], LINE_HEIGHT * text, 0.5 * text, frame.height + 2.2 * text
        )
    rows = []
    for (s, (end_x, end_y)), y in zip(seen, ys, strict=True):
        early = not below and end_x < frame.width - 0.3 * text
        start_y = y if early or below else end_y
        rows.append(
            {
                "s": s,
                "name": fitted(curves[s].label, curves[s].remark, _name_room(frame), text),
                "thread": early,
                **_at(frame, ("ex", "ey"), end_x, end_y),
                **_at(frame, ("x", "y"), left, start_y),
                **_at(frame, ("x2", "y2"), left + SAMPLE * text, y),
                "tx": tidy(float(frame.x_at(left + (SAMPLE + 0.6) * text))),
            }
        )
    return rows


def _name_room(frame: Frame) -> float:
    room = frame.width if frame.margins.key_below else frame.margins.right
    return max(room - (SAMPLE + 0.9) * frame.look.sizes.text, 1.0)


def _at(frame: Frame, fields: tuple[str, str], x_px: float, y_px: float) -> Row:
    return {fields[0]: tidy(float(frame.x_at(x_px))), fields[1]: tidy(float(frame.y_at(y_px)))}
