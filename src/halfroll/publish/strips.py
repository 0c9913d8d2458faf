"""Strip charts: one figure, every version a point with its 95 % interval on one common scale.

Never bars: a bar says that its start means something, and these scales start where the data do.  A version that
cannot be told from the base is grey, and the chart says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from halfroll.compare.types import Comparison
from halfroll.core.errors import choose
from halfroll.core.text import SYMBOLS
from halfroll.figures.rules import RULE
from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, fitted, text_width, wrapped
from halfroll.publish.parts import Layer, Part, by_curve, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis, strip_axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.striprows import Interval, StripRow, strip_rows, strip_summary
from halfroll.publish.theme import Theme

BETTER = {"higher": ", higher is better", "lower": ", lower is better", "neither": ""}
ARROW = {"higher": " ↑", "lower": " ↓", "neither": ""}
"""The better direction, where there is room for one sign only."""

SIGNS_NOTE = "line: 95 % interval · grey: not distinguishable from the base · open: predicted or published"


def strip_chart(
    comparison: Comparison,
    figure_key: str,
    *,
    theme: Theme,
    width_px: float,
    names: bool = True,
    title: str | None = None,
    tallest_px: float | None = None,
    least_plot: float = 14.0,
) -> Spec:
    """One figure of all versions of a comparison, each a point with its interval on a common scale.

    Wide charts have one line a version: name, point, value, difference.  Narrow ones, and those without names (which
    stand beside a table), have the words of a version above its point.

    `title` replaces the figure's name (empty: none); `tallest_px` is the most the picture may be tall, the lines of versions
    move together for it; `least_plot` is how much room (text heights) must be left for the points of a wide chart.
    """
    rule = RULE[choose(figure_key, RULE, field="The figure")]
    rows = strip_rows(comparison, figure_key)
    head = rule.label if title is None else title
    plan = _Plan(theme=theme, width_px=width_px, names=names, tallest_px=tallest_px, least_plot=least_plot)
    frame, wide = _frame(rows, head, rule.unit, rule.text(comparison.settings), plan)
    unit = SYMBOLS.get(rule.unit, rule.unit)
    quantity = f"in {unit}{BETTER[rule.better]}" if names else f"{unit}{ARROW[rule.better]}"
    parts = [
        words_around(frame, quantity),
        _scale_part(frame, rows),
        _points(frame, rows),
        _words(frame, rows, wide=wide, names=names),
    ]
    return specification(frame, parts, summary=strip_summary(rule.label, rows))


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """What a strip chart is laid out for."""

    theme: Theme
    width_px: float
    names: bool
    tallest_px: float | None
    least_plot: float


def _frame(rows: list[StripRow], label: str, unit: str, rule: str, plan: _Plan) -> tuple[Frame, bool]:
    theme, width_px, names = plan.theme, plan.width_px, plan.names
    text, small = theme.sizes.text, theme.sizes.small
    longest = max((text_width(row.name, text) for row in rows), default=0.0)
    name_room = min(longest, 0.28 * width_px) + 2.0 * text
    value_room = max((text_width(row.value_text, text) for row in rows), default=0.0) + text
    more_room = max((text_width(row.difference_text, small) for row in rows), default=0.0) + text
    wide = names and width_px - name_room - value_room - more_room > plan.least_plot * text
    left, right = (name_room, value_room + more_room) if wide else (0.7 * text, 0.7 * text)
    row_px = (1.9 if wide else 2.6) * text
    notes = wrapped(f"{rule} · {SIGNS_NOTE}", width_px - 1.4 * text, small) if names else []
    top = (theme.sizes.title * LINE_HEIGHT if label else 0.0) + 2.2 * text
    bottom = 2.4 * text + LINE_HEIGHT * small * len(notes)
    plot = width_px - left - right
    if plan.tallest_px is not None and rows:
        least = LINE_HEIGHT * text if wide else 2.21 * text
        row_px = max(least, min(1.15 * row_px, (plan.tallest_px - top - bottom) / len(rows)))
    tall = row_px * len(rows)
    bottom += -(top + tall + bottom) % 1.0
    x = strip_axis(_reach(rows), unit, width_px=plot, text_px=text)
    y = Axis(low=float(len(rows)), high=0.0, marks=(), title="")
    margins = Margins(left=left, right=right, top=top, bottom=bottom)
    frame = Frame(
        look=theme,
        x=x,
        y=y,
        width=plot,
        height=tall,
        margins=margins,
        title=label,
        notes=tuple(notes),
        notes_left=0.7 * text - left,
    )
    return frame, wide


def _reach(rows: list[StripRow]) -> list[float]:
    """All values, and the ends of their intervals as far as they go beyond the values by no more than these span.

    One interval far wider than all else would press the others into a line; it is drawn to the edge instead.
    """
    values = [row.figure.value for row in rows if row.figure.value is not None]
    ends = [end for row in rows for end in row.interval]
    if not values or not ends:
        return values
    span = max(values) - min(values) or max(ends) - min(ends)
    if len(values) <= 2:  # no others whose differences would be pressed together
        span = max(span, *(abs(end - value) for value in values for end in ends))
    low, high = min(values) - span, max(values) + span
    if min(values) > 0.0:
        low = max(low, min(values) / 2.0)
    return values + [min(max(end, low), high) for end in ends]


def _scale_part(frame: Frame, rows: list[StripRow]) -> Part:
    """The common scale, light lines between versions, and a dotted line through the base."""
    palette, sizes = frame.look.palette, frame.look.sizes
    across = {"x": {"value": 0}, "x2": {"value": frame.width}, **place(frame, y="y")}
    steps = [{"y": float(i), "x": tidy(frame.x.low)} for i in range(1, len(rows))]
    high = 0.45 if _two_lines(frame) else 0.0
    base = [
        {"x": tidy(row.figure.value), "y": i + high, "y2": i + 1.0}
        for row in rows if row.base and row.figure.value is not None
        for i in range(len(rows))
    ]  # fmt: skip
    through = place(frame, x="x", y="y", y2="y2")
    return Part(
        layers=[
            layer("steps", "rule", across, color=palette.grid, strokeWidth=sizes.hair),
            layer("base", "rule", through, color=palette.ink, strokeWidth=sizes.hair, strokeDash=[1, 2]),
        ],
        data={"steps": steps, "base": base},
    )


def _points(frame: Frame, rows: list[StripRow]) -> Part:
    """Points, their intervals with end ticks, and for a bound a dotted line to the side it leaves open."""
    thick, thin = 0.8 * frame.look.sizes.curve, 0.5 * frame.look.sizes.curve
    line, fill = _point_colours(frame, rows)
    stroke, styles = by_curve("stroke", line), [frame.look.style(row.style) for row in rows]
    shape = {**by_curve("shape", [s.marker for s in styles]), **by_curve("fill", fill), **stroke}
    interval = {**place(frame, x="x", x2="x2", y="y"), **stroke}
    dots: dict[str, Any] = {"strokeWidth": thin, "strokeDash": [thick, 1.5 * thick]}
    marker = marker_layer(frame, "points", {**place(frame, x="x", y="y"), **shape})
    marker["mark"]["strokeWidth"] = thin
    shown = [(i, row, row.figure.value) for i, row in enumerate(rows) if row.figure.value is not None]
    return Part(
        layers=[
            layer("intervals", "rule", interval, strokeWidth=thick),
            layer("ends", "rule", {**place(frame, x="x", y="y", y2="y2"), **stroke}, strokeWidth=thin),
            layer("bounds", "rule", interval, **dots),
            marker,
        ],
        data={
            "points": [{"s": i, "x": tidy(value), "y": _down(frame, i)} for i, _, value in shown],
            "intervals": [_interval_row(frame, i, row.interval) for i, row, _ in shown if row.interval],
            "ends": [end for i, row, _ in shown for end in _end_rows(frame, i, row.interval)],
            "bounds": [
                {"s": i, "x": tidy(value), "x2": tidy(_open_side(frame, row)), "y": _down(frame, i)}
                for i, row, value in shown if row.figure.bound is not None
            ],
        },
    )  # fmt: skip


def _point_colours(frame: Frame, rows: list[StripRow]) -> tuple[list[str], list[str]]:
    """Colours of lines and of fillings: grey for what cannot be told apart, open for what was not measured."""
    palette, styles = frame.look.palette, [frame.look.style(row.style) for row in rows]
    line = [
        palette.grey if row.grey else palette.ink if style.cased else style.colour
        for row, style in zip(rows, styles, strict=True)
    ]
    fill = [
        palette.paper if row.source != "measured" else palette.grey if row.grey else style.colour
        for row, style in zip(rows, styles, strict=True)
    ]
    return line, fill


def _interval_row(frame: Frame, i: int, interval: Interval) -> Row:
    """The part of an interval that lies on the scale."""
    low, high = max(interval[0], frame.x.low), min(interval[1], frame.x.high)
    return {"s": i, "x": tidy(low), "x2": tidy(high), "y": _down(frame, i)}


def _end_rows(frame: Frame, i: int, interval: Interval | tuple[()]) -> list[Row]:
    """The ticks at those ends of an interval that lie on the scale; one drawn to the edge goes on."""
    half = 0.3 * frame.look.sizes.text
    ends = [end for end in interval if frame.x.low <= end <= frame.x.high]
    return [
        {"s": i, "x": tidy(end), "y": _down(frame, i, -half), "y2": _down(frame, i, half)} for end in ends
    ]


def _open_side(frame: Frame, row: StripRow) -> float:
    return frame.x.low if row.figure.bound == "upper" else frame.x.high


def _down(frame: Frame, i: int, more_px: float = 0.0) -> float:
    """Place of a version's point: mid row where a row is one line high, below the words where it is two."""
    return tidy(float(frame.y_at(_row_px(frame) * (i + (0.72 if _two_lines(frame) else 0.5)) + more_px)))


def _row_px(frame: Frame) -> float:
    return frame.height / frame.y.low


def _two_lines(frame: Frame) -> bool:
    return _row_px(frame) > 2.2 * frame.look.sizes.text


def _words(frame: Frame, rows: list[StripRow], *, wide: bool, names: bool) -> Part:
    """Names and values, and where there is room the difference to the base."""
    text, small = frame.look.sizes.text, frame.look.sizes.small
    palette, margins = frame.look.palette, frame.margins
    value_px = max((text_width(row.value_text, text) for row in rows), default=0.0)
    name_x = -margins.left + 0.7 * text if wide else 0.3 * text
    value_x = frame.width + 0.8 * text if wide else frame.width - 0.3 * text
    room = margins.left - text if wide else 0.6 * frame.width
    data = []
    for i, row in enumerate(rows):
        down = _row_px(frame) * (i + (0.5 if wide else 0.26))
        value = row.value_text if names else row.number_text
        made: Row = {
            "name": fitted(row.label, row.remark, room, text),
            "value": value,
            "more": row.difference_text,
            "grey": row.grey,
            "base": row.base,
        }
        made |= {"y": tidy(float(frame.y_at(down))), "nx": tidy(float(frame.x_at(name_x)))}
        made |= {
            "vx": tidy(float(frame.x_at(value_x))),
            "mx": tidy(float(frame.x_at(value_x + text + value_px))),
        }
        data.append(made)

    def write(field: str, x: str, where: str, colour: str, size: float, **look: Any) -> Layer:
        shade = {"condition": {"test": "datum.grey", "value": palette.grey}, "value": colour}
        encoding = {**place(frame, x=x, y="y"), "text": {"field": field}, "color": shade}
        return layer(
            "words", "text", encoding, where, **{"align": "left", **look}, baseline="middle", fontSize=size
        )

    layers = []
    if names:
        layers += [write("name", "nx", "!datum.base", palette.ink, text)]
        layers += [write("name", "nx", "datum.base", palette.ink, text, fontWeight=600)]
    layers += [write("value", "vx", "", palette.ink, text, align="left" if wide else "right")]
    layers += [write("more", "mx", "", palette.quiet, small)] if wide else []
    return Part(layers=layers, data={"words": data})
