"""Where the dimensions of a part stand about its drawing, and how they are drawn (in the manner of ISO 129-1).

Diameters stand in rows below, heights in columns beside, widths and notes in rows above. Lengths here are px.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from halfroll.publish.frame import text_width
from halfroll.publish.profile_dimensions import Dimension
from halfroll.publish.section_sheet import Sheet

ROW = 1.9
"""Distance of dimension lines in text heights."""

BESIDE_M = 5e-6


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Dimensions in their rows or columns, counted from the drawing outwards."""

    below: tuple[tuple[Dimension, int], ...]
    beside: tuple[tuple[Dimension, int], ...]
    above: tuple[tuple[Dimension, int], ...]

    @staticmethod
    def _many(places: Sequence[tuple[Dimension, int]]) -> int:
        return 1 + max((row for _, row in places), default=-1)

    def room(self, text: float) -> tuple[float, float, float]:
        """What they need below, beside and above (px)."""
        row = ROW * text
        below, beside, above = (
            row * (count + 0.7) if count else 0.0
            for count in map(self._many, (self.below, self.beside, self.above))
        )
        return below, beside, above


def rows_of(dimensions: Sequence[Dimension], scale: float, text: float) -> Rows:
    """Dimensions in rows in which none lies over another, at a scale (px to the metre) and text height (px)."""
    diameters = sorted((d for d in dimensions if d.kind == "diameter"), key=lambda d: d.value_m)
    heights = sorted((d for d in dimensions if d.kind == "height"), key=lambda d: d.value_m)
    columns: list[tuple[Dimension, int]] = []
    for one in heights:
        column = 0
        while any(n == column and _crowd(one, other, scale, text) for other, n in columns):
            column += 1
        columns.append((one, column))
    above: list[tuple[Dimension, int]] = []
    taken: list[list[tuple[float, float]]] = []
    for one in sorted((d for d in dimensions if d.kind in ("width", "note")), key=lambda d: (d.kind != "width", -d.low[0])):  # fmt: skip
        span = _span(one, scale, text)
        row = next((n for n, spans in enumerate(taken) if all(span[1] < a or span[0] > b for a, b in spans)), len(taken))  # fmt: skip
        if row == len(taken):
            taken.append([])
        taken[row].append(span)
        above.append((one, row))
    return Rows(
        below=tuple((d, n) for n, d in enumerate(diameters)), beside=tuple(columns), above=tuple(above)
    )


def _crowd(one: Dimension, other: Dimension, scale: float, text: float) -> bool:
    """Whether two heights do not fit one over the other: short ones need room for their number outside the arrows."""
    reach = 4.0 * text / scale
    spans = []
    for d in (one, other):
        more = reach if d.value_m * scale < 2.4 * text else BESIDE_M
        spans.append((d.low[1], d.high[1] + (more if more > BESIDE_M else -BESIDE_M)))
    return spans[0][0] < spans[1][1] and spans[1][0] < spans[0][1]


def _span(one: Dimension, scale: float, text: float) -> tuple[float, float]:
    """What a width or a note takes of its row (px from the axis)."""
    wide = text_width(one.text, text) + text
    if one.kind == "note":
        return scale * one.low[0] - 0.6 * text - wide, scale * one.low[0] + 0.6 * text + wide
    return scale * one.low[0] - 2.0 * text, scale * one.high[0] + 1.2 * text + wide


def marks(
    sheet: Sheet, rows: Rows, box: tuple[float, float, float, float], *, mirrored: bool, live: bool
) -> str:
    """SVG of all dimensions about a drawing whose edges are `box` (left, right, top, bottom; px).

    `live` marks them for a page: key, value in mm and words of each that is a key of the record.
    """
    _, right, top, bottom = box
    row = ROW * sheet.inks.text
    drawn = [_below(sheet, one, bottom + row * (n + 0.9), mirrored, live) for one, n in rows.below]
    drawn += [_beside(sheet, one, right + row * (n + 0.8), live) for one, n in rows.beside]
    for one, n in rows.above:
        y = top - row * (n + 0.5)
        drawn.append(_note(sheet, one, y, live, right) if one.kind == "note" else _over(sheet, one, y, live))
    return "".join(drawn)


def _below(sheet: Sheet, one: Dimension, y: float, mirrored: bool, live: bool) -> str:
    (r, z), text = one.high, sheet.inks.text
    x, over = sheet.x(r), 0.3 * text
    lines = f"M{x:.1f} {sheet.y(z) + 0.2 * text:.1f}V{y + over:.1f}"
    arrows = sheet.arrow(x, y, (1.0, 0.0))
    start = max(sheet.axis_px - 1.2 * text, 1.0)
    if mirrored:
        start = sheet.x(-r)
        lines += f"M{start:.1f} {sheet.y(z) + 0.2 * text:.1f}V{y + over:.1f}"
        arrows += sheet.arrow(start, y, (-1.0, 0.0))
    lines += f"M{start:.1f} {y:.1f}H{x:.1f}"
    middle = sheet.axis_px if mirrored else 0.5 * (start + x)
    if x - start < text_width(one.text, text) + 1.2 * text:
        lines += f"M{x:.1f} {y:.1f}h{0.5 * text + text_width(one.text, text):.1f}"
        word = sheet.word(x + 0.4 * text, y - 0.25 * text, one.text, anchor="start")
    else:
        word = sheet.word(middle, y - 0.25 * text, one.text)
    return _group(sheet, one, lines, arrows, word, live)


def _beside(sheet: Sheet, one: Dimension, x: float, live: bool) -> str:
    low, high, text = sheet.y(one.low[1]), sheet.y(one.high[1]), sheet.inks.text
    over = 0.3 * text
    lines = f"M{sheet.x(one.low[0]) + 0.2 * text:.1f} {low:.1f}H{x + over:.1f}M{sheet.x(one.high[0]) + 0.2 * text:.1f} {high:.1f}H{x + over:.1f}"
    outside = low - high < 2.4 * text
    reach = 1.3 * text if outside else 0.0
    lines += f"M{x:.1f} {low + reach:.1f}V{high - reach:.1f}"
    way = -1.0 if outside else 1.0
    arrows = sheet.arrow(x, low, (0.0, way)) + sheet.arrow(x, high, (0.0, -way))
    if outside:
        word = sheet.word(x - 0.25 * text, high - reach, one.text, anchor="start", turned=True)
    else:
        word = sheet.word(x - 0.25 * text, 0.5 * (low + high), one.text, turned=True)
    return _group(sheet, one, lines, arrows, word, live)


def _over(sheet: Sheet, one: Dimension, y: float, live: bool) -> str:
    left, right, text = sheet.x(one.low[0]), sheet.x(one.high[0]), sheet.inks.text
    foot = sheet.y(one.low[1]) - 0.2 * text
    lines = f"M{left:.1f} {foot:.1f}V{y - 0.3 * text:.1f}M{right:.1f} {foot:.1f}V{y - 0.3 * text:.1f}"
    inside = right - left > text_width(one.text, text) + 2.2 * text
    reach = 0.0 if inside else 1.5 * text
    lines += f"M{left - reach:.1f} {y:.1f}H{right + reach:.1f}"
    way = 1.0 if inside else -1.0
    arrows = sheet.arrow(left, y, (-way, 0.0)) + sheet.arrow(right, y, (way, 0.0))
    if inside:
        word = sheet.word(0.5 * (left + right), y - 0.25 * text, one.text)
    else:
        word = sheet.word(right + 0.9 * text, y - 0.25 * text, one.text, anchor="start")
    return _group(sheet, one, lines, arrows, word, live)


def _note(sheet: Sheet, one: Dimension, y: float, live: bool, right: float) -> str:
    """Words over a short line, and the leader down to the wall, where a dot ends it (ISO 129-1: leaders end in a dot inside a body)."""
    x, foot, text = sheet.x(one.low[0]), sheet.y(one.low[1]), sheet.inks.text
    wide = text_width(one.text, text)
    way = -1.0 if x + text + wide > right else 1.0
    lines = f"M{x:.1f} {foot:.1f}V{y:.1f}h{way * (0.6 * text + wide):.1f}"
    dot = 0.16 * text
    arrows = f"M{x - dot:.1f} {foot:.1f}a{dot:.1f} {dot:.1f} 0 1 0 {2 * dot:.1f} 0a{dot:.1f} {dot:.1f} 0 1 0 {-2 * dot:.1f} 0"
    word = sheet.word(x + way * 0.4 * text, y - 0.25 * text, one.text, anchor="start" if way > 0 else "end")
    return _group(sheet, one, lines, arrows, word, live)


def _group(sheet: Sheet, one: Dimension, lines: str, arrows: str, word: str, live: bool) -> str:
    marked = ""
    if live and one.key:
        marked = f' class="live" data-key="{escape(one.key)}" data-value="{1e3 * one.value_m:.6g}" data-unit="mm" data-words="{escape(one.words)}"'
    ink = sheet.inks
    return (
        f'<g data-dimension="{escape(one.key or one.words)}"{marked}><title>{escape(one.words)}</title>'
        f"{sheet.stroke(lines, cls='narrow', width=0.75 * ink.thin)}"
        f'<path class="arrow" d="{arrows}" fill="{ink.ink}"/>{word}</g>'
    )
