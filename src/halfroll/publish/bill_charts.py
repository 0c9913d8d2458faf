"""What every line of a bill costs, as a point on one common scale with the interval its suppliers span.

Never bars: a long list of bars says more of its longest than of the spread, which is what can be acted on.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.builds.bill.bill import Bill
from halfroll.builds.bill.costing import PricedLine
from halfroll.core.money import format_money
from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, fitted, text_width, wrapped
from halfroll.publish.parts import Layer, Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis, strip_axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

NOTE = "point: usual supplier · line: lowest to highest supplier · glue and small things together; work is not drawn"

MOST = 14
"""Lines drawn by themselves; what costs less is drawn as one."""


@dataclass(frozen=True, kw_only=True)
class CostRow:
    """A line of the chart: its name, what it costs at the usual supplier, at the lowest and at the highest."""

    name: str
    usual: float
    low: float
    high: float


def cost_rows(bill: Bill) -> list[CostRow]:
    """Lines with a price and printing, the dearest first; glue is one line, and so are the cheapest of many."""
    lines = [
        _row(one.line.key, [one]) for one in bill.lines if one.usual is not None and one.line.kind != "glue"
    ]
    glue = [one for one in bill.lines if one.usual is not None and one.line.kind == "glue"]
    lines += [_row("glue", glue)] if glue else []
    if bill.printer_cost:
        lines.append(
            CostRow(name="printing", usual=bill.printer_cost, low=bill.printer_cost, high=bill.printer_cost)
        )
    lines.sort(key=lambda row: -row.usual)
    if len(lines) <= MOST + 1:
        return lines
    rest = lines[MOST:]
    usual, low, high = (sum(getattr(one, key) for one in rest) for key in ("usual", "low", "high"))
    return [*lines[:MOST], CostRow(name=f"{len(rest)} more lines", usual=usual, low=low, high=high)]


def _row(name: str, lines: list[PricedLine]) -> CostRow:
    usual, low, high = (sum(getattr(one, key) or 0.0 for one in lines) for key in ("usual", "low", "high"))
    return CostRow(name=name, usual=usual, low=low, high=high)


def cost_chart(bill: Bill, *, theme: Theme, width_px: float) -> Spec:
    """The chart of a bill's costs."""
    rows, currency = cost_rows(bill), bill.currency or ""
    frame = _frame(rows, currency, theme, width_px)
    said = "; ".join(f"{row.name} {_money(row, currency)}" for row in rows)
    summary = f"Cost of one driver by line, dearest first, in {currency}: {said}."
    return specification(
        frame,
        [
            words_around(frame, f"in {currency}"),
            _scale(frame, rows),
            _points(frame, rows),
            _words(frame, rows, currency),
        ],
        summary=summary,
    )


def _frame(rows: list[CostRow], currency: str, theme: Theme, width_px: float) -> Frame:
    text, small = theme.sizes.text, theme.sizes.small
    longest = max((text_width(row.name, text) for row in rows), default=0.0)
    left = min(longest, 0.34 * width_px) + 1.4 * text
    right = max((text_width(_money(row, currency), text) for row in rows), default=0.0) + 1.4 * text
    notes = wrapped(NOTE, width_px - 1.4 * text, small)
    row_px, plot = 1.75 * text, width_px - left - right
    x = strip_axis([0.0, *(row.high for row in rows)], currency, width_px=plot, text_px=text)
    bottom = 2.4 * text + LINE_HEIGHT * small * len(notes)
    top, tall = theme.sizes.title * LINE_HEIGHT + 2.2 * text, row_px * len(rows)
    return Frame(
        look=theme, x=x, y=Axis(low=float(len(rows)), high=0.0, marks=(), title=""), width=plot, height=tall, title="Cost by line",
        margins=Margins(left=left, right=right, top=top, bottom=bottom - (top + tall + bottom) % 1.0), notes=tuple(notes),
        notes_left=0.7 * text - left,
    )  # fmt: skip


def _scale(frame: Frame, rows: list[CostRow]) -> Part:
    across = {"x": {"value": 0}, "x2": {"value": frame.width}, **place(frame, y="y")}
    steps = [{"y": float(i), "x": tidy(frame.x.low)} for i in range(1, len(rows))]
    look = frame.look
    return Part(
        layers=[layer("steps", "rule", across, color=look.palette.grid, strokeWidth=look.sizes.hair)],
        data={"steps": steps},
    )


def _points(frame: Frame, rows: list[CostRow]) -> Part:
    look = frame.look
    spread: list[Row] = [
        {"x": tidy(row.low), "x2": tidy(row.high), "y": i + 0.5}
        for i, row in enumerate(rows)
        if row.high > row.low
    ]
    half = 0.3 * look.sizes.text * len(rows) / frame.height
    ends: list[Row] = [
        {"x": tidy(end), "y": i + 0.5 - half, "y2": i + 0.5 + half}
        for i, row in enumerate(rows) if row.high > row.low for end in (row.low, row.high)
    ]  # fmt: skip
    marker = marker_layer(frame, "costs", place(frame, x="x", y="y"))
    marker["mark"] |= {"color": look.palette.ink, "shape": "circle"}
    return Part(
        layers=[
            layer("spread", "rule", place(frame, x="x", x2="x2", y="y"), color=look.palette.ink, strokeWidth=0.8 * look.sizes.curve),
            layer("ends", "rule", place(frame, x="x", y="y", y2="y2"), color=look.palette.ink, strokeWidth=0.5 * look.sizes.curve),
            marker,
        ],
        data={"costs": [{"x": tidy(row.usual), "y": i + 0.5} for i, row in enumerate(rows)], "spread": spread, "ends": ends},
    )  # fmt: skip


def _words(frame: Frame, rows: list[CostRow], currency: str) -> Part:
    text, palette = frame.look.sizes.text, frame.look.palette
    name_x = tidy(float(frame.x_at(0.7 * text - frame.margins.left)))
    cost_x = tidy(float(frame.x_at(frame.width + frame.margins.right - 0.7 * text)))
    data: list[Row] = [
        {
            "name": fitted(row.name, "", frame.margins.left - text, text),
            "cost": _money(row, currency),
            "y": i + 0.5,
            "nx": name_x,
            "cx": cost_x,
        }
        for i, row in enumerate(rows)
    ]

    def write(field: str, x: str, align: str) -> Layer:
        encoding = {**place(frame, x=x, y="y"), "text": {"field": field}}
        return layer(
            "words", "text", encoding, align=align, baseline="middle", fontSize=text, color=palette.ink
        )

    return Part(layers=[write("name", "nx", "left"), write("cost", "cx", "right")], data={"words": data})


def _money(row: CostRow, currency: str) -> str:
    return format_money(row.usual, currency)
