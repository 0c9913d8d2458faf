"""A suspension part bent: its shapes over the travel laid over each other, to scale, r across and z up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import MINUS
from halfroll.publish.frame import spread_out, text_width, wrapped
from halfroll.publish.section_sheet import Inks, Sheet, inks_of
from halfroll.publish.theme import Theme
from halfroll.suspension.results import BentShape, PartResult

MOST_SHAPES = 7
"""So many shapes can be told apart over each other."""

TALLEST = 0.75
"""A drawing is at most so many times as tall as wide."""

_NOTES = (
    "displacement of the inner edge in mm, outwards +",
    "full: outwards, dashed: inwards",
    "thick: at rest",
)


def bent_svg(
    part: PartResult, *, theme: Theme, width_px: float, name: str = "", mark_m: float | None = None
) -> str:
    """SVG of a part's shapes over its travel: at rest thick, outwards full, inwards dashed, each with its x at the moved edge.

    `name` says whose part it is; the shape nearest to `mark_m` is drawn in the signal colour.
    """
    shapes = chosen(part.shapes)
    if not shapes:
        return only_words(theme, width_px, f"No bent shape is known of the {part.name}.")
    inks = inks_of(theme)
    labels = [said_x(shape.x_m) for shape in shapes]
    left = max(text_width(label, inks.text) for label in labels) + 3.2 * inks.text
    sheet = laid_out([shape.outline_m for shape in shapes], inks, width_px, left, 2.4 * inks.text)
    marked = None if mark_m is None else min(shapes, key=lambda shape: abs(shape.x_m - mark_m))
    drawn = [_shape(sheet, shape, shape is marked) for shape in sorted(shapes, key=_rest_last)]
    drawn += [_labels(sheet, shapes, labels, left), clamp(sheet, shapes)]
    notes, height = notes_under(sheet, _NOTES)
    said = f"{whose(part, name)} bent to {', '.join(labels)} mm, to scale."
    return svg(sheet, [*drawn, *notes], height, said, "bent")


# Which shapes, and where.


def chosen(shapes: Sequence[BentShape], most: int = MOST_SHAPES) -> list[BentShape]:
    """About so many shapes at most, evenly over the travel, with both ends and rest."""
    ordered = sorted(shapes, key=lambda shape: shape.x_m)
    if len(ordered) <= most:
        return ordered
    rest = min(range(len(ordered)), key=lambda k: abs(ordered[k].x_m))
    stride = math.ceil((len(ordered) - 1) / (most - 1))
    picked = {0, len(ordered) - 1, *range(rest, -1, -stride), *range(rest, len(ordered), stride)}
    return [ordered[k] for k in sorted(picked)]


def nearest(shapes: Sequence[BentShape], x_m: float) -> BentShape | None:
    """The shape nearest to a displacement."""
    return min(shapes, key=lambda shape: abs(shape.x_m - x_m), default=None)


def said_x(x_m: float) -> str:
    """A displacement in mm with its sign."""
    mm = round(1e3 * x_m, 2) + 0.0
    return f"{mm:+g}".replace("-", MINUS) if mm else "0"


def laid_out(
    outlines: Sequence[FloatArray],
    inks: Inks,
    width_px: float,
    left: float,
    right: float,
    *,
    foot: float = 1.6,
) -> Sheet:
    """The sheet that holds all outlines, as large as it may be; `foot` is the room below them in text heights."""
    points = np.concatenate(list(outlines))
    r_low, z_low = points.min(axis=0)
    r_high, z_high = points.max(axis=0)
    scale = min((width_px - left - right) / (r_high - r_low), TALLEST * width_px / (z_high - z_low))
    spare = width_px - left - right - scale * (r_high - r_low)
    edge = 1.6 * inks.text
    below = foot * inks.text
    return Sheet(
        inks=inks, width=width_px, height=round(edge + below + scale * (z_high - z_low), 1),
        axis_px=left + 0.5 * spare - scale * r_low, zero_px=edge + scale * z_high, scale=scale, view=(r_low, r_high, z_low, z_high),
    )  # fmt: skip


# What is drawn.


def _rest_last(shape: BentShape) -> tuple[bool, float]:
    return (abs(shape.x_m) < 1e-9, -abs(shape.x_m))


def _shape(sheet: Sheet, shape: BentShape, marked: bool) -> str:
    d = sheet.path(corners(shape.outline_m), closed=True)
    inks, rest = sheet.inks, abs(shape.x_m) < 1e-9
    ink = inks.accent if marked else inks.ink
    width = 1.1 * inks.thick if rest else (0.9 if marked else 0.45) * inks.thick
    dash = ' stroke-dasharray="5 2.5"' if shape.x_m < -1e-9 else ""
    fill = f'fill="{inks.paper}"' if rest else 'fill="none"'
    return (
        f'<path class="bent" data-x="{1e3 * shape.x_m:g}" d="{d}" {fill} fill-opacity=".6" stroke="{ink}" stroke-width="{width:g}" '
        f'stroke-linejoin="round"{dash}/>'
    )


def inner_edge(shape: BentShape) -> tuple[float, float]:
    """(r, z) of the middle of a shape's inner edge (m)."""
    at = shape.outline_m
    near = at[:, 0] <= at[:, 0].min() + 1e-5
    return float(at[near, 0].mean()), float(0.5 * (at[near, 1].min() + at[near, 1].max()))


def outer_edge(shape: BentShape) -> tuple[float, float]:
    """(r, z) of the middle of a shape's outer edge (m)."""
    at = shape.outline_m
    near = at[:, 0] >= at[:, 0].max() - 1e-5
    return float(at[near, 0].mean()), float(0.5 * (at[near, 1].min() + at[near, 1].max()))


def _labels(sheet: Sheet, shapes: Sequence[BentShape], labels: Sequence[str], left: float) -> str:
    text = sheet.inks.text
    edges = [inner_edge(shape) for shape in shapes]
    ends = [(sheet.x(r), sheet.y(z)) for r, z in edges]
    places = spread_out([y for _, y in ends], 1.15 * text, 0.6 * text, sheet.height - 0.6 * text)
    right = min(x for x, _ in ends) - 2.0 * text
    drawn = []
    for (x, y), level, label in zip(ends, places, labels, strict=True):
        drawn.append(
            sheet.stroke(
                f"M{right + 0.3 * text:.1f} {level:.1f}L{x - 2.0:.1f} {y:.1f}",
                cls="thread",
                width=0.6 * sheet.inks.thin,
            )
        )
        drawn.append(sheet.word(right, level + 0.35 * text, label, anchor="end", cls="x"))
    return "".join(drawn)


def clamp(sheet: Sheet, shapes: Sequence[BentShape]) -> str:
    """The outer clamp as a wall with short strokes behind it, which holds fast."""
    rest = nearest(shapes, 0.0)
    if rest is None:
        return ""
    r, z = outer_edge(rest)
    at = rest.outline_m[rest.outline_m[:, 0] >= r - 1e-5]
    text = sheet.inks.text
    half = max(0.5 * sheet.scale * float(np.ptp(at[:, 1])) + 0.5 * text, 0.9 * text)
    x, y = sheet.x(r), sheet.y(z)
    strokes = "".join(
        f"M{x:.1f} {y - half + step:.1f}l{0.5 * text:.1f} {-0.5 * text:.1f}"
        for step in np.arange(0.3 * text, 2 * half + 1, 0.5 * text)
    )
    wall = f"M{x:.1f} {y - half:.1f}V{y + half:.1f}"
    return sheet.stroke(wall, cls="clamp", width=0.8 * sheet.inks.thick) + sheet.stroke(strokes, cls="clamp")


# Words and frame.


def corners(line: FloatArray) -> list[tuple[float, float]]:
    """Points (n, 2) as pairs."""
    return [(float(r), float(z)) for r, z in line]


def whose(part: PartResult, name: str) -> str:
    """Which part it is, and of whom where that is said."""
    return f"{part.name.capitalize()} of {name}" if name else part.name.capitalize()


def notes_under(sheet: Sheet, notes: Sequence[str], y: float | None = None) -> tuple[list[str], float]:
    """Lines of remarks under a drawing or under `y`, and where they end (px)."""
    text = sheet.inks.text
    y = sheet.height if y is None else y
    drawn = []
    for line in wrapped(" · ".join(notes), sheet.width - text, text):
        y += 1.35 * text
        drawn.append(sheet.word(0.4 * text, y, line, anchor="start", cls="note", quiet=True))
    return drawn, round(y + 0.6 * text, 1)


def only_words(theme: Theme, width_px: float, words: str) -> str:
    """A picture that says why there is none."""
    inks = inks_of(theme)
    sheet = Sheet(
        inks=inks, width=width_px, height=0.0, axis_px=0.0, zero_px=0.0, scale=1.0, view=(0.0, 0.0, 0.0, 0.0)
    )
    notes, height = notes_under(sheet, [words], 0.0)
    return svg(sheet, notes, height, words, "bent")


def svg(sheet: Sheet, lines: Sequence[str], height: float, words: str, cls: str) -> str:
    """The whole picture with what it shows in words."""
    low, high, bottom, top = sheet.view
    return (
        f'<svg class="half-section {cls}" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.width:g} {height:g}" '
        f'width="{sheet.width:g}" height="{height:g}" role="img" aria-label="{escape(words)}" '
        f'data-px-per-mm="{sheet.scale / 1e3:.6g}" data-axis="{sheet.axis_px:.6g}" data-zero="{sheet.zero_px:.6g}" '
        f'data-view="{sheet.x(low):.1f} {sheet.x(high):.1f} {sheet.y(top):.1f} {sheet.y(bottom):.1f}">{"".join(lines)}</svg>'
    )
