"""A dimensioned drawing of one part on A4, to scale: SVG, or PDF with a page for every part.

Line widths 0.5 and 0.25 mm (ISO 128-2), scales of ISO 5455, a frame 20 mm from the left and 10 mm from the other edges (as ISO 5457
has it), a title block of 180 mm (as ISO 7200 has it). Dimensions are in mm and without tolerances.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from html import escape

from halfroll.publish.frame import wrapped
from halfroll.publish.part_views import PX_PER_M, Piece, View, scale_words, views_of
from halfroll.publish.render import typeset
from halfroll.publish.section_sheet import Inks, inks_of
from halfroll.publish.theme import theme

MM = PX_PER_M / 1e3
"""CSS pixels to the millimetre."""

PAGE = (210.0, 297.0)
FRAME = (20.0, 10.0, 10.0, 10.0)
"""Left, right, top, bottom (mm)."""

BLOCK_MM = 34.0
"""Height of the title block."""

WIDE_MM, NARROW_MM = 0.5, 0.25
TEXT_MM, TITLE_MM = 2.8, 4.5


def part_sheet_svg(piece: Piece, *, date: str) -> str:
    """One part on an A4 page, true to scale when printed at 100 %; `date` is printed as given."""
    inks = _inks()
    left, right, top, bottom = (MM * one for one in FRAME)
    width, height = (MM * one for one in PAGE)
    field = (width - left - right - 8 * MM, height - top - bottom - MM * BLOCK_MM - 8 * MM)
    views = views_of(piece, inks, field[0], field[1] - len(views_captions(piece)) * 2 * inks.text)
    drawn, y = [], top + 4 * MM
    spare = max(0.0, field[1] - sum(view.height + 2 * inks.text for view in views)) / (len(views) + 1)
    for view in views:
        y += spare
        x = left + 4 * MM + 0.5 * (field[0] - view.width)
        drawn.append(
            f'<g class="view" data-scale="{view.scale:g}" transform="translate({x:.2f} {y:.2f})">{view.svg}</g>'
        )
        y += view.height + 1.3 * inks.text
        caption = f"{view.caption} {scale_words(view.scale)}"
        drawn.append(_text(inks, left + 4 * MM + 0.5 * field[0], y, caption, inks.text, anchor="middle"))
        y += 0.7 * inks.text
    drawn += [_frame(inks), *_block(inks, piece, views, date)]
    # The standard's sign for diameters is not in the house font, and numbers beside it would be set in another one.
    drawn = [one.replace("⌀", "Ø") for one in drawn]
    words = f"Drawing of {piece.title}: {', '.join(f'{v.caption} {scale_words(v.scale)}' for v in views)}. Dimensions in mm."
    return (
        f'<svg class="part-sheet" xmlns="http://www.w3.org/2000/svg" width="{PAGE[0]:g}mm" height="{PAGE[1]:g}mm" '
        f'viewBox="0 0 {width:.3f} {height:.3f}" role="img" aria-label="{escape(words)}">'
        f'<rect width="100%" height="100%" fill="{inks.paper}"/>{"".join(drawn)}</svg>'
    )


def views_captions(piece: Piece) -> tuple[str, ...]:
    """As many captions as a part has views at most."""
    return ("plan", "section") if piece.plan is not None else ("section", "wall")


def part_sheets_pdf(pieces: Sequence[Piece], *, date: str) -> bytes:
    """A PDF with an A4 page for every part, true to scale."""
    inputs = {f"sheet{n}": part_sheet_svg(piece, date=date) for n, piece in enumerate(pieces)}
    inputs |= {f"alt{n}": f"Drawing of {piece.title}" for n, piece in enumerate(pieces)}
    template = (
        "#set document(date: none)\n"
        '#set page(paper: "a4", margin: 0pt)\n'
        f"#for n in range({len(pieces)}) {{\n"
        '  image(bytes(sys.inputs.at("sheet" + str(n))), format: "svg", width: 210mm, height: 297mm, alt: sys.inputs.at("alt" + str(n)))\n'
        "}\n"
    )
    return typeset(template, inputs, "pdf")


def _inks() -> Inks:
    """Black on white, line widths and text heights of a drawing on paper (px)."""
    inks = inks_of(theme("print"))
    return replace(
        inks, ink="#000000", hatch="#000000", quiet="#000000", paper="#ffffff", text=TEXT_MM / 0.7 * MM, thick=WIDE_MM * MM,
        thin=NARROW_MM * MM / 0.75, gap=1.6 * MM,
    )  # fmt: skip


def _frame(inks: Inks) -> str:
    left, right, top, bottom = FRAME
    return (
        f'<rect class="frame" x="{MM * left:.2f}" y="{MM * top:.2f}" width="{MM * (PAGE[0] - left - right):.2f}" '
        f'height="{MM * (PAGE[1] - top - bottom):.2f}" fill="none" stroke="{inks.ink}" stroke-width="{0.7 * MM:.2f}"/>'
    )


def _block(inks: Inks, piece: Piece, views: Sequence[View], date: str) -> list[str]:
    """The title block: name, facts, scales, date, unit."""
    left, right, _, bottom = FRAME
    x0, x1 = MM * left, MM * (PAGE[0] - right)
    y0, y1 = MM * (PAGE[1] - bottom - BLOCK_MM), MM * (PAGE[1] - bottom)
    split = x1 - 46 * MM
    head = y0 + 9 * MM
    lines = f"M{x0:.2f} {y0:.2f}H{x1:.2f}M{split:.2f} {y0:.2f}V{y1:.2f}M{x0:.2f} {head:.2f}H{split:.2f}"
    drawn = [
        f'<path class="block" d="{lines}" fill="none" stroke="{inks.ink}" stroke-width="{inks.thick:.2f}"/>'
    ]
    title = wrapped(piece.title, split - x0 - 4 * MM, TITLE_MM / 0.7 * MM)[0]
    drawn.append(_text(inks, x0 + 2 * MM, head - 2.6 * MM, title, TITLE_MM / 0.7 * MM, weight=600))
    small, step = 0.8 * inks.text, 4.2 * MM
    y = head + 4.4 * MM
    for words, value in piece.facts:
        drawn.append(_text(inks, x0 + 2 * MM, y, words, small))
        for line in wrapped(value, split - x0 - 26 * MM, small)[:2]:
            drawn.append(_text(inks, x0 + 22 * MM, y, line, small, cls="fact"))
            y += step
    for note in piece.notes:
        if y < y1 - MM:
            drawn.append(_text(inks, x0 + 2 * MM, y, note, small, cls="note"))
            y += step
    scales = ", ".join(dict.fromkeys(scale_words(view.scale) for view in views))
    y = y0 + 5.5 * MM
    for words, value in (("Scale", scales), ("Unit", "mm"), ("Date", date), ("Size", "A4")):
        drawn.append(_text(inks, split + 2 * MM, y, words, small))
        drawn.append(_text(inks, split + 14 * MM, y, value, inks.text if words == "Scale" else small))
        y += 6.5 * MM
    return drawn


def _text(
    inks: Inks, x: float, y: float, text: str, size: float, *, anchor: str = "start", weight: int = 400, cls: str = "word"
) -> str:  # fmt: skip
    return (
        f'<text class="{cls}" x="{x:.2f}" y="{y:.2f}" text-anchor="{anchor}" font-size="{size:.2f}" font-weight="{weight}" '
        f'font-family="{inks.family}" fill="{inks.ink}">{escape(text)}</text>'
    )
