"""Reading a chart with the pointer: a line at the nearest frequency, a dot on each curve, its value in place of its name.

These layers draw nothing until a pointer comes; files and print leave them out (`halfroll.publish.render.still`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.frequency import interpolate_log, log_grid
from halfroll.core.levels import FloatArray
from halfroll.publish.curves import BOUND, NamedCurve, Row, stretch_kinds, tidy
from halfroll.publish.frame import Frame
from halfroll.publish.lines import name_rows
from halfroll.publish.parts import Part, layer, place

PX_PER_STOP = 5.0
"""The pointer stops at places at least this far apart."""


@dataclass(frozen=True, kw_only=True)
class Readout:
    """How a value is written: formats of value and half-width in the chart language (d3), unit with its space."""

    number: str = ".1f"
    spread: str = ".1f"
    unit: str = " dB"


def hover(frame: Frame, curves: Sequence[NamedCurve], readout: Readout) -> Part:
    """The layers of the readout."""
    palette, sizes = frame.look.palette, frame.look.sizes
    rows = hover_rows(frame, curves)
    if not rows:
        return Part()
    value = (
        f"(datum.b ? '≤ ' : '') + format(datum.y, '{readout.number}')"
        f" + (isValid(datum.u) ? ' ± ' + format(datum.u, '{readout.spread}') : '') + '{readout.unit}'"
    )
    halo: dict[str, Any] = {"stroke": palette.paper, "strokeWidth": 0.3 * sizes.text, "strokeJoin": "round"}
    text: dict[str, Any] = {"fontSize": sizes.text, "fontWeight": 600, "color": palette.ink}
    on_top = {**place(frame, x="x"), "y": {"value": 0}, "text": {"field": "where"}}
    beside = {**place(frame, x="tx", y="ty"), "text": {"field": "value"}}
    dot: dict[str, Any] = {"size": sizes.marker**2, "fill": palette.ink, "stroke": palette.paper}
    layers = [
        layer("hover", "rule", place(frame, x="x"), color=palette.ink, strokeWidth=sizes.hair),
        layer("hover", "point", place(frame, x="x", y="y"), filled=True, opacity=1, **dot),
        layer("hover", "text", on_top, "datum.first", baseline="top", dy=3, **text, **halo),
        layer("hover", "text", on_top, "datum.first", baseline="top", dy=3, **text),
        layer("hover", "text", beside, align="left", baseline="middle", **text),
    ]
    words = [{"calculate": _place_words(frame), "as": "where"}, {"calculate": value, "as": "value"}]
    for shown in layers:
        picked = {"filter": {"param": "hover", "empty": False}}
        shown["transform"] = [picked, *shown.get("transform", []), *words]
    catch = layer("hover", "point", place(frame, x="x", y="y"), opacity=0)
    catch["params"] = [
        {
            "name": "hover",
            "select": {
                "type": "point",
                "on": "pointermove",
                "nearest": True,
                "encodings": ["x"],
                "clear": "pointerout",
            },
        }
    ]
    return Part(over=[*layers, catch], data={"hover": rows})


def _place_words(frame: Frame) -> str:
    """Expression that writes the place along the horizontal axis with its unit."""
    plain = "format(datum.x, '.3~r') + ' "
    if frame.x.kilo:
        return f"datum.x >= 1000 ? format(datum.x / 1000, '.3~r') + ' kHz' : {plain}Hz'"
    return f"{plain}{frame.x.title.rsplit(' ', 1)[-1]}'"


def hover_rows(frame: Frame, curves: Sequence[NamedCurve]) -> list[Row]:
    """Rows x, y, u (half the band), b (bound), s, tx, ty (place of the value), first (of its stop)."""
    stops = _stops(frame)
    places = {row["s"]: row for row in name_rows(frame, curves)}
    rows: list[Row] = []
    told: set[float] = set()
    for s in places:
        curve = curves[s].curve
        values = _sampled(frame, curve.frequency_hz, curve.value, stops)
        half = None
        if curve.low is not None and curve.high is not None:
            half = _sampled(frame, curve.frequency_hz, (curve.high - curve.low) / 2.0, stops)
        bound = np.interp(stops, curve.frequency_hz, (stretch_kinds(curve) == BOUND).astype(float)) > 0.0
        for i, stop in enumerate(stops):
            if not np.isfinite(values[i]) or not frame.y.low <= values[i] <= frame.y.high:
                continue
            row: Row = {
                "x": tidy(stop),
                "y": tidy(values[i]),
                "s": s,
                "tx": places[s]["tx"],
                "ty": places[s]["y2"],
            }
            if half is not None and np.isfinite(half[i]):
                row["u"] = tidy(half[i])
            if bound[i]:
                row["b"] = True
            if row["x"] not in told:
                told.add(row["x"])
                row["first"] = True
            rows.append(row)
    return rows


def _stops(frame: Frame) -> FloatArray:
    """Places where the pointer stops: the house grid, 1/48 to 1/6 octave; even steps on a linear axis."""
    if not frame.x.log:
        return np.linspace(frame.x.low, frame.x.high, max(int(frame.width / PX_PER_STOP), 2))
    px_per_octave = frame.width / np.log2(frame.x.high / frame.x.low)
    density = next((d for d in (48, 24, 12) if px_per_octave / d >= PX_PER_STOP), 6)
    return log_grid(frame.x.low, frame.x.high, density)


def _sampled(frame: Frame, x: FloatArray, y: FloatArray, at: FloatArray) -> FloatArray:
    if frame.x.log:
        return interpolate_log(x, y, at)
    return np.asarray(np.interp(at, x, y, left=np.nan, right=np.nan))
