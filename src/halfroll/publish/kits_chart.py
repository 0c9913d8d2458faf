"""How many kits each part in stock allows: points on one common scale, with a line at the number of kits wanted."""

from __future__ import annotations

from halfroll.builds.kits.types import KitPart, KitPlan
from halfroll.core.text import count
from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, text_width, wrapped
from halfroll.publish.kit_rows import stock_words
from halfroll.publish.named_rows import NamedRow, row_height, row_words
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis, strip_axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

BEYOND = 2.0
"""The scale ends at so many times the kits wanted; what allows more stands at its end, with its number in words."""


def allows_chart(planned: KitPlan, *, theme: Theme, width_px: float) -> Spec:
    """The parts of a batch from top to bottom, those that allow fewest first."""
    parts = sorted(planned.parts, key=lambda part: (part.allows, part.need.part_id))
    frame, wide = _frame(planned, parts, theme, width_px)
    rows = [
        NamedRow(name=part.need.title, words=_words(part), main=part.need.part_id in planned.limiting)
        for part in parts
    ]
    text = theme.sizes.text
    room = frame.margins.left - 2.2 * text if wide else 0.6 * frame.width
    drawn = [
        words_around(frame, "kits the stock allows"),
        _scale(frame, planned.n, len(parts)),
        _points(frame, planned, parts, wide),
        row_words(frame, rows, room, wide=wide),
    ]
    said = "; ".join(f"{part.need.title} {count(part.allows, 'kit')}" for part in parts)
    return specification(
        frame, drawn, summary=f"Kits the stock allows by part: {stock_words(planned)} {said}."
    )


def _words(part: KitPart) -> str:
    return "not counted" if part.stock is None else count(part.allows, "kit")


def _frame(planned: KitPlan, parts: list[KitPart], theme: Theme, width_px: float) -> tuple[Frame, bool]:
    text, small = theme.sizes.text, theme.sizes.small
    names = (
        min(max((text_width(part.need.title, text) for part in parts), default=0.0), 0.34 * width_px)
        + 2.4 * text
    )
    values = max((text_width(_words(part), text) for part in parts), default=0.0) + 1.5 * text
    wide = width_px - names - values > 14.0 * text
    left, right = (names, values) if wide else (0.7 * text, 0.7 * text)
    notes = wrapped(
        f"upright line: {count(planned.n, 'kit')} wanted · triangle: enough for more than the scale shows",
        width_px - 1.4 * text,
        small,
    )
    plot = width_px - left - right
    most = BEYOND * max(planned.n, planned.allowed, 1)
    x = strip_axis([0.0, most], "kits", width_px=plot, text_px=text)
    x = Axis(
        low=x.low,
        high=x.high,
        marks=tuple(mark for mark in x.marks if mark == int(mark) and mark >= 0),
        title="",
    )
    top, tall = theme.sizes.title * LINE_HEIGHT + 2.2 * text, (1.7 if wide else 2.6) * text * len(parts)
    bottom = 2.4 * text + LINE_HEIGHT * small * len(notes)
    frame = Frame(
        look=theme, x=x, y=Axis(low=float(len(parts)), high=0.0, marks=(), title=""), width=plot, height=tall, title="What the stock allows",
        margins=Margins(left=left, right=right, top=top, bottom=bottom - (top + tall + bottom) % 1.0), notes=tuple(notes), notes_left=0.7 * text - left,
    )  # fmt: skip
    return frame, wide


def _scale(frame: Frame, n: int, rows: int) -> Part:
    look = frame.look
    across = {"x": {"value": 0}, "x2": {"value": frame.width}, **place(frame, y="y")}
    steps: list[Row] = [{"y": float(i), "x": tidy(frame.x.low)} for i in range(1, rows)]
    upright = {**place(frame, x="x"), "y": {"value": 0}, "y2": {"value": frame.height}}
    return Part(
        layers=[
            layer("steps", "rule", across, color=look.palette.grid, strokeWidth=look.sizes.hair),
            layer("wanted", "rule", upright, color=look.palette.ink, strokeWidth=0.5 * look.sizes.curve),
        ],
        data={"steps": steps, "wanted": [{"x": tidy(float(n)), "y": 0.0}]},
    )


def _points(frame: Frame, planned: KitPlan, parts: list[KitPart], wide: bool) -> Part:
    palette = frame.look.palette
    rows: list[Row] = [
        {"x": tidy(min(float(part.allows), frame.x.high)), "y": tidy(row_height(i, wide=wide)), "more": part.allows > frame.x.high,
         "short": part.allows < planned.n}
        for i, part in enumerate(parts)
    ]  # fmt: skip
    shade = {"condition": {"test": "datum.short", "value": palette.accent}, "value": palette.ink}
    layers = []
    for where, shape in (("!datum.more", "circle"), ("datum.more", "triangle-right")):
        marker = marker_layer(frame, "allows", {**place(frame, x="x", y="y"), "color": shade}, where)
        marker["mark"]["shape"] = shape
        layers.append(marker)
    return Part(layers=layers, data={"allows": rows})
