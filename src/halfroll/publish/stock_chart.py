"""What there was of a part over time: steps from movement to movement, counts marked."""

from __future__ import annotations

import datetime as dt

from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, wrapped
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis, linear_axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme
from halfroll.workshop.standing import Standing, amount_text

NOTE = "filled: counted · open: bought, used or spoiled"


def stock_chart(standing: Standing, *, theme: Theme, width_px: float) -> Spec:
    """The history of one part that has one."""
    frame = _frame(standing, theme, width_px)
    first, last = standing.lines[0].movement.date, standing.lines[-1].movement.date
    said = ", ".join(
        f"{line.movement.date.isoformat()} {amount_text(line.balance, standing.unit)}"
        for line in standing.lines
    )
    parts = [words_around(frame, standing.unit), _days(frame, standing, first, last), _steps(frame, standing)]
    return specification(frame, parts, summary=f"Stock of {standing.part_id} after each movement: {said}.")


def _frame(standing: Standing, theme: Theme, width_px: float) -> Frame:
    text, small = theme.sizes.text, theme.sizes.small
    amounts = [standing.opening or 0.0, 0.0, *(line.balance for line in standing.lines)]
    late = float(_day(standing, standing.lines[-1].movement.date))
    air = max(0.04 * late, 3.0)
    left, right = 4.2 * text, 1.2 * text
    top, height = theme.sizes.title * LINE_HEIGHT + 2.2 * text, 13.0 * text
    notes = wrapped(NOTE, width_px - 1.4 * text, small)
    bottom = 2.4 * text + LINE_HEIGHT * small * len(notes)
    return Frame(
        look=theme, x=Axis(low=-air, high=late + air, marks=(), title=""), y=linear_axis(min(amounts), max(amounts), title=""),
        width=width_px - left - right, height=height, title=f"{standing.part_id} in stock",
        margins=Margins(left=left, right=right, top=top, bottom=bottom - (top + height + bottom) % 1.0), notes=tuple(notes),
        notes_left=0.7 * text - left,
    )  # fmt: skip


def _day(standing: Standing, day: dt.date) -> int:
    """Days since the first movement."""
    return (day - standing.lines[0].movement.date).days


def _days(frame: Frame, standing: Standing, first: dt.date, last: dt.date) -> Part:
    """Words under the axis: months where there are several, else the first and the last day."""
    marks = _months(first, last, most=max(2, int(frame.width / (6.0 * frame.look.sizes.text))))
    data: list[Row] = [
        {"x": tidy(float(_day(standing, day))), "words": words, "y": tidy(frame.y.low)}
        for day, words in marks
    ]
    encoding = {
        **place(frame, x="x"),
        "y": {"value": frame.height + 0.5 * frame.look.sizes.text},
        "text": {"field": "words"},
    }
    write = layer(
        "days",
        "text",
        encoding,
        baseline="top",
        align="center",
        fontSize=frame.look.sizes.small,
        color=frame.look.palette.quiet,
    )
    return Part(layers=[write], data={"days": data})


def _months(first: dt.date, last: dt.date, *, most: int) -> list[tuple[dt.date, str]]:
    months = []
    day = first.replace(day=1)
    while day <= last:
        if day >= first:
            months.append(day)
        day = (day + dt.timedelta(days=32)).replace(day=1)
    step = -(-len(months) // most) or 1
    if len(months) < 2:
        return [(one, one.isoformat()) for one in dict.fromkeys((first, last))][:most]
    return [(one, f"{one.year}-{one.month:02}") for one in months[::step]]


def _steps(frame: Frame, standing: Standing) -> Part:
    look = frame.look
    line: list[Row] = [{"x": tidy(frame.x.low), "y": tidy(standing.opening or 0.0), "i": 0}]
    points: list[Row] = []
    for one in standing.lines:
        x = float(_day(standing, one.movement.date))
        line.append({"x": tidy(x), "y": tidy(one.balance), "i": len(line)})
        points.append(
            {
                "x": tidy(x),
                "y": tidy(one.balance),
                "full": one.movement.what == "counted",
                "low": one.balance < 0,
            }
        )
    line.append({"x": tidy(frame.x.high), "y": tidy(standing.lines[-1].balance), "i": len(line)})
    steps = layer(
        "stock", "line", {**place(frame, x="x", y="y"), "order": {"field": "i", "type": "quantitative"}}, interpolate="step-after",
        color=look.palette.ink, strokeWidth=0.7 * look.sizes.curve,
    )  # fmt: skip
    shade = {"condition": {"test": "datum.low", "value": look.palette.accent}, "value": look.palette.ink}
    fill = {"condition": {"test": "datum.full", "value": look.palette.ink}, "value": look.palette.paper}
    marker = marker_layer(frame, "movements", {**place(frame, x="x", y="y"), "stroke": shade, "fill": fill})
    marker["mark"]["strokeWidth"] = 0.5 * look.sizes.curve
    return Part(layers=[steps, marker], data={"stock": line, "movements": points})
