"""What makes predictions uncertain, as a picture and a table; and a figure's two intervals on one line."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfroll.core.text import THIN, format_value, join_words
from halfroll.figures.predicted import BREAK_UP_KEY, plain_key
from halfroll.figures.rules import RULE
from halfroll.figures.types import Figure, Reading
from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, fitted, text_width, wrapped
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.parts import Part, layer, place, words_around
from halfroll.publish.scales import Axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

SHOWN = 10
"""So many assumptions stand in the picture; the rest are told together in the table."""

FIGURES = (
    "sensitivity_db",
    "lower_limit_hz",
    "thd_mean_percent",
    "thd_worst_percent",
    "resonance_hz",
    "qts",
    "mms_g",
    "bl_n_per_a",
)
"""Figures whose uncertainty is taken apart."""

SHORT = {
    "sensitivity_db": "Sensitivity", "lower_limit_hz": "Lower limit", "thd_mean_percent": "Mean distortion", "thd_worst_percent": "Worst distortion",
    "resonance_hz": "Resonance", "qts": "Qts", "mms_g": "Mms", "bl_n_per_a": "Bl",
}  # fmt: skip

LOWER = {key: name if name in ("Qts", "Mms", "Bl") else name.lower() for key, name in SHORT.items()}
"""The same in the middle of a sentence; symbols stay as they are."""

_LEAST_SHOWN = 0.005
_NOTE = "area of a disc: share of the figure's variance · full: the figure rises with the assumption · open: it falls"


@dataclass(frozen=True, kw_only=True)
class Shares:
    """Shares of variance (1) of each assumption in each figure, signed by which way the figure goes.

    `assumptions` are (key, label), those that matter most first; `of` is by (assumption key, figure key).
    """

    assumptions: tuple[tuple[str, str], ...]
    figures: tuple[str, ...]
    of: Mapping[tuple[str, str], float]

    def summary(self) -> str:
        """The picture in words: what makes most of each figure's uncertainty."""
        said: dict[str, list[str]] = {}
        for figure in self.figures:
            most, label = max(self.assumptions, key=lambda one: abs(self.of.get((one[0], figure), 0.0)))
            share = abs(self.of.get((most, figure), 0.0))
            if share:
                said.setdefault(label, []).append(f"{LOWER[figure]} ({100 * share:.0f}{THIN}%)")
        parts = [f"{label} in {join_words(figures)}" for label, figures in said.items()]
        return (
            f"The largest part of the uncertainty comes from: {'; '.join(parts)}."
            if parts
            else "Nothing is assumed."
        )


def shares_of(readings: Mapping[str, Reading], labels: Mapping[str, str]) -> Shares:
    """What makes figures uncertain; `labels` are those of the assumptions by key."""
    of: dict[tuple[str, str], float] = {}
    figures = []
    for figure in FIGURES:
        reading = readings.get(figure)
        if reading is None or not reading.u or not reading.shares:
            continue
        figures.append(figure)
        for key, share in reading.shares:
            of[plain_key(key), figure] = math.copysign((share / reading.u) ** 2, share)
    total: dict[str, float] = {}
    for (key, _), share in of.items():
        total[key] = total.get(key, 0.0) + abs(share)
    order = sorted(total, key=lambda key: -total[key])
    names = {BREAK_UP_KEY: "cone: frequencies of its break-up", **labels}
    return Shares(
        assumptions=tuple((key, names.get(key, key)) for key in order), figures=tuple(figures), of=of
    )


def share_rows(shares: Shares, most: int | None = None) -> Rows:
    """The same as a table, in per cent; what is under half a per cent is left empty."""
    kept = [
        (key, label)
        for key, label in shares.assumptions
        if any(abs(shares.of.get((key, figure), 0.0)) >= _LEAST_SHOWN for figure in shares.figures)
    ]
    return Rows(
        head=("Assumption", *(f"{SHORT[figure]}, %" for figure in shares.figures)),
        rows=tuple(
            (label, *(_percent(shares.of.get((key, figure), 0.0)) for figure in shares.figures)) for key, label in kept[:most]
        ),
        notes=("Share of each figure's variance; + where the figure rises with the assumption, − where it falls.",),
    )  # fmt: skip


def _percent(share: float) -> str:
    if abs(share) < _LEAST_SHOWN:
        return ""
    return f"{'+' if share > 0 else '−'}{100 * abs(share):.0f}"


def share_chart(
    shares: Shares, *, theme: Theme, width_px: float, title: str = "What makes the figures uncertain"
) -> Spec:
    """Discs: one row an assumption, one column a figure, the area the share of the figure's variance."""
    kept = [
        one
        for one in shares.assumptions[:SHOWN]
        if any(abs(shares.of.get((one[0], figure), 0.0)) >= _LEAST_SHOWN for figure in shares.figures)
    ]
    frame = _frame(kept, shares.figures, theme, width_px, title)
    parts = [
        words_around(frame, ""),
        _grid(frame, len(kept), len(shares.figures)),
        _discs(frame, kept, shares),
        _names(frame, kept, shares),
    ]
    return specification(frame, parts, summary=shares.summary())


def _narrow(theme: Theme, width_px: float) -> bool:
    return width_px < 40.0 * theme.sizes.text


def _frame(
    kept: Sequence[tuple[str, str]], figures: Sequence[str], theme: Theme, width_px: float, title: str
) -> Frame:
    text, small = theme.sizes.text, theme.sizes.small
    narrow = _narrow(theme, width_px)
    longest = max((text_width(label, small) for _, label in kept), default=0.0)
    left = 0.7 * text if narrow else min(longest, 0.42 * width_px) + 1.4 * text
    right = 0.7 * text
    plot = width_px - left - right
    cell = plot / max(len(figures), 1)
    row = min(max(2.2 * text, min(cell, 3.2 * text)), 3.4 * text) + (1.3 * small if narrow else 0.0)
    head = 4.6 * text if narrow else 2.0 * text
    notes = wrapped(_NOTE, width_px - 1.4 * text, small)
    top = theme.sizes.title * LINE_HEIGHT + head + text
    bottom = 1.0 * text + LINE_HEIGHT * small * len(notes)
    tall = row * max(len(kept), 1)
    bottom += -(top + tall + bottom) % 1.0
    return Frame(
        look=theme, x=Axis(low=0.0, high=float(max(len(figures), 1)), marks=(), title=""),
        y=Axis(low=float(max(len(kept), 1)), high=0.0, marks=(), title=""), width=plot, height=tall,
        margins=Margins(left=left, right=right, top=top, bottom=bottom, key_below=narrow), title=title, notes=tuple(notes),
        notes_left=0.7 * text - left,
    )  # fmt: skip


def _grid(frame: Frame, rows: int, columns: int) -> Part:
    """Thin lines between the assumptions."""
    lines = [{"x": 0.0, "x2": float(columns), "y": float(i)} for i in range(1, rows)]
    encoding = place(frame, x="x", x2="x2", y="y")
    return Part(
        layers=[layer("lines", "rule", encoding, color=frame.look.palette.grid, strokeWidth=frame.look.sizes.hair)],
        data={"lines": lines},
    )  # fmt: skip


def _discs(frame: Frame, kept: Sequence[tuple[str, str]], shares: Shares) -> Part:
    palette = frame.look.palette
    drop = 0.66 if frame.margins.key_below else 0.5
    row_px = frame.height / max(len(kept), 1)
    room = min(frame.width / max(len(shares.figures), 1), row_px * (0.62 if frame.margins.key_below else 1.0))
    rows: list[Row] = []
    for i, (key, _) in enumerate(kept):
        for j, figure in enumerate(shares.figures):
            share = shares.of.get((key, figure), 0.0)
            if abs(share) >= _LEAST_SHOWN:
                rows.append({
                    "x": j + 0.5, "y": i + drop, "size": tidy(0.78 * (0.92 * room) ** 2 * abs(share)), "up": share > 0,
                    "t": f"{100 * abs(share):.0f}" if abs(share) >= 0.2 else "",
                })  # fmt: skip
    encoding = {
        **place(frame, x="x", y="y"),
        "size": {"field": "size", "type": "quantitative", "scale": None, "legend": None},
    }
    words = {**place(frame, x="x", y="y"), "text": {"field": "t"}}
    look = {"baseline": "middle", "align": "center", "fontSize": frame.look.sizes.small}
    return Part(
        layers=[
            layer("discs", "point", encoding, "datum.up", filled=True, opacity=1, color=palette.quiet),
            layer("discs", "point", encoding, "!datum.up", filled=True, opacity=1, color=palette.paper, stroke=palette.quiet, strokeWidth=1.5),
            layer("discs", "text", words, "datum.up", color=palette.paper, **look),
            layer("discs", "text", words, "!datum.up", color=palette.ink, **look),
        ],
        data={"discs": rows},
    )  # fmt: skip


def _names(frame: Frame, kept: Sequence[tuple[str, str]], shares: Shares) -> Part:
    """Assumptions beside their rows (above them where it is narrow), figures above their columns."""
    text, small = frame.look.sizes.text, frame.look.sizes.small
    narrow = frame.margins.key_below
    room = frame.width if narrow else frame.margins.left - 1.4 * text
    row_px = frame.height / max(len(kept), 1)
    left = 0.4 * text if narrow else 0.7 * text - frame.margins.left
    names = [
        {
            "n": fitted(label, "", room, small), "x": tidy(float(frame.x_at(left))),
            "y": tidy(float(frame.y_at((i + (0.0 if narrow else 0.5)) * row_px + (0.8 * small if narrow else 0.0)))),
        }
        for i, (_, label) in enumerate(kept)
    ]  # fmt: skip
    heads = [
        {"n": SHORT[figure], "x": j + 0.5, "y": tidy(float(frame.y_at(-0.5 * text)))}
        for j, figure in enumerate(shares.figures)
    ]
    words = {**place(frame, x="x", y="y"), "text": {"field": "n"}}
    turned = (
        {"angle": -90, "align": "left", "baseline": "middle"}
        if narrow
        else {"align": "center", "baseline": "bottom"}
    )
    return Part(
        layers=[
            layer("names", "text", words, align="left", baseline="middle", fontSize=small, color=frame.look.palette.ink),
            layer("heads", "text", words, fontSize=small, color=frame.look.palette.quiet, **turned),
        ],
        data={"names": names, "heads": heads},
    )  # fmt: skip


def intervals_svg(measured: Figure, predicted: Figure, *, width: int = 150, height: int = 26) -> str:
    """Measured (full point, above) and predicted (open point, below) of one figure with their 95 % intervals on one scale, as a small drawing.

    Empty where one has no value. The drawing takes the colour of the text round it.
    """
    ends = [_ends(measured), _ends(predicted)]
    if measured.value is None or predicted.value is None:
        return ""
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    span = (high - low) or abs(high) or 1.0
    low, high = low - 0.06 * span, high + 0.06 * span

    def at(value: float) -> float:
        return round(6 + (width - 12) * (value - low) / (high - low), 1)

    marks = []
    for (a, b), figure, y, fill in zip(
        ends, (measured, predicted), (8, height - 8), ("currentColor", "none"), strict=True
    ):
        middle = at(figure.value or 0.0)
        left, right = at(a), at(b)
        gap = 3.2 if fill == "none" else 0.0  # an open point stays open where its interval passes
        for x1, x2 in ((left, middle - gap), (middle + gap, right)):
            if x2 > x1:
                marks.append(f'<path d="M{x1} {y}H{x2:.1f}" stroke="currentColor" stroke-width="1.6"/>')
        marks += [
            f'<path d="M{x} {y - 3}v6" stroke="currentColor" stroke-width="1"/>'
            for x in (left, right)
            if abs(x - middle) > 3.5
        ]
        marks.append(
            f'<circle cx="{middle}" cy="{y}" r="3.2" fill="{fill}" stroke="currentColor" stroke-width="1.4"/>'
        )
    label = f"measured {_words(measured)}, predicted {_words(predicted)}"
    return f'<svg class="pair" role="img" aria-label="{label}" width="{width}" height="{height}" viewBox="0 0 {width} {height}">{"".join(marks)}</svg>'


def _ends(figure: Figure) -> tuple[float, float]:
    value, half = figure.value or 0.0, 0.0 if figure.bound else (figure.expanded or 0.0)
    return value - half, value + half


def _words(figure: Figure) -> str:
    assert figure.value is not None
    half = None if figure.bound else figure.expanded
    unit = RULE[figure.key].unit if figure.key in RULE else figure.unit
    value = format_value(figure.value, half, unit)
    return value if half is None else f"{value}, half the 95 % interval {format_value(half, half, unit)}"
