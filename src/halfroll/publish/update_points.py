"""How far each assumption moved: points with their intervals before and after, on one scale of standard deviations."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfroll.core.text import format_percent
from halfroll.driver.update.types import Cause, Update
from halfroll.publish.curves import tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, text_width, wrapped
from halfroll.publish.named_rows import NamedRow, row_height, row_words
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

MOST_ROWS = 14
INTERVAL = 1.96
"""Standard deviations of a 95 % interval."""
NOTE = "broad line: 95 % as assumed · thin line: 95 % with what was measured · filled: moved · open: stays"


def shown_causes(found: Update, most: int = MOST_ROWS) -> list[Cause]:
    """Those that moved, then those the data say most of."""
    moved = [one for one in found.causes if one.moved]
    rest = sorted((one for one in found.causes if not one.moved), key=lambda one: one.u)
    return [*moved, *rest][: max(most, len(moved))]


def points_chart(found: Update, *, theme: Theme, width_px: float) -> Spec:
    """One row an assumption: its prior interval, its posterior interval and point, in standard deviations of what was assumed."""
    rows = shown_causes(found)
    frame, wide = _frame(rows, theme, width_px)
    parts = [words_around(frame, ""), _scale(frame), _rows(frame, rows, wide), _words(frame, rows, wide)]
    return specification(frame, parts, summary=_summary(rows))


def _at(one: Cause) -> tuple[float, float]:
    return (one.z_few, one.u_few) if one.moved else (one.z, one.u)


def change_words(one: Cause) -> str:
    """How far the value moved: a percentage, or in its unit."""
    if not one.assumption.by_ratio:
        return f"{_at(one)[0]:+.1f} sd".replace("-", "−")
    change = one.value / one.assumption.value - 1.0
    return format_percent(change if abs(change) >= 5e-4 else 0.0, sign=True)


def _frame(rows: Sequence[Cause], look: Theme, width_px: float) -> tuple[Frame, bool]:
    text, small = look.sizes.text, look.sizes.small
    names = (
        min(max((text_width(one.assumption.label, text) for one in rows), default=0.0), 0.42 * width_px)
        + 1.6 * text
    )
    values = max((text_width(change_words(one), text) for one in rows), default=0.0) + 1.5 * text
    wide = width_px - names - values > 16.0 * text
    left, right = (names, values) if wide else (0.7 * text, 0.7 * text)
    notes = wrapped(NOTE, width_px - 1.4 * text, small)
    top = look.sizes.title * LINE_HEIGHT + 2.2 * text
    bottom = 3.4 * text + LINE_HEIGHT * small * len(notes)
    tall = (1.7 if wide else 2.6) * text * max(len(rows), 1)
    bottom += -(top + tall + bottom) % 1.0
    reach = max([3.0, *(abs(z) + INTERVAL * u for z, u in map(_at, rows))])
    reach = float(math.ceil(min(reach, 12.0)))
    step = 1.0 if reach <= 5.0 else 2.0 if reach <= 8.0 else 4.0
    marks = tuple(step * n for n in range(-int(reach // step), int(reach // step) + 1))
    frame = Frame(
        look=look, x=Axis(low=-reach, high=reach, marks=marks, title="Standard deviations from what was assumed"),
        y=Axis(low=float(max(len(rows), 1)), high=0.0, marks=(), title=""), width=width_px - left - right, height=tall,
        margins=Margins(left=left, right=right, top=top, bottom=bottom), title="What moved", notes=tuple(notes), notes_left=0.7 * text - left,
    )  # fmt: skip
    return frame, wide


def _scale(frame: Frame) -> Part:
    """A line at what was assumed."""
    zero = [{"x": 0.0, "y": frame.y.low, "y2": frame.y.high}]
    encoding = place(frame, x="x", y="y", y2="y2")
    line = layer(
        "zero", "rule", encoding, color=frame.look.palette.line, strokeWidth=2.0 * frame.look.sizes.hair
    )
    return Part(layers=[line], data={"zero": zero})


def _rows(frame: Frame, rows: Sequence[Cause], wide: bool) -> Part:
    palette, sizes = frame.look.palette, frame.look.sizes
    data = []
    for i, one in enumerate(rows):
        z, u = _at(one)
        data.append({
            "x": tidy(max(min(z, frame.x.high), frame.x.low)), "y": tidy(row_height(i, wide=wide)), "full": one.moved,
            "low": tidy(max(z - INTERVAL * u, frame.x.low)), "high": tidy(min(z + INTERVAL * u, frame.x.high)), "p": -INTERVAL, "q": INTERVAL,
        })  # fmt: skip
    fill = {"condition": {"test": "datum.full", "value": palette.ink}, "value": palette.paper}
    marker = marker_layer(
        frame, "rows", {**place(frame, x="x", y="y"), "stroke": {"value": palette.ink}, "fill": fill}
    )
    marker["mark"]["strokeWidth"] = 0.5 * sizes.curve
    before = layer(
        "rows", "rule", place(frame, x="p", x2="q", y="y"), color=palette.grid, strokeWidth=3.2 * sizes.curve
    )
    after = layer(
        "rows",
        "rule",
        place(frame, x="low", x2="high", y="y"),
        color=palette.ink,
        strokeWidth=0.8 * sizes.curve,
    )
    return Part(layers=[before, after, marker], data={"rows": data})


def _words(frame: Frame, rows: Sequence[Cause], wide: bool) -> Part:
    text = frame.look.sizes.text
    room = frame.margins.left - 1.6 * text if wide else 0.78 * frame.width
    named = [NamedRow(name=one.assumption.label, words=change_words(one), main=one.moved) for one in rows]
    return row_words(frame, named, room, wide=wide)


def _summary(rows: Sequence[Cause]) -> str:
    said = [
        f"{one.assumption.label}: {z:+.1f}, {z - INTERVAL * u:+.1f} to {z + INTERVAL * u:+.1f}"
        for one in rows
        for z, u in [_at(one)]
    ]
    return "How far assumptions moved, in standard deviations, with 95 % intervals. " + "; ".join(said) + "."
