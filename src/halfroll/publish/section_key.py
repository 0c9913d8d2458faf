"""What stands under a motor's drawing: the key of the hatching, the scale of colour, notes."""

from __future__ import annotations

from halfroll.core.text import THIN
from halfroll.motor.types import Assembly
from halfroll.publish.frame import text_width, wrapped
from halfroll.publish.section_field import FULL_T, Seen, scale_bar
from halfroll.publish.section_hatch import WORDS, Hatch, hatching, kind_of
from halfroll.publish.section_sheet import Inks, Sheet, joined_words
from halfroll.publish.theme import Theme


def under(
    sheet: Sheet, assembly: Assembly, notes: list[str], seen: Seen | None, theme: Theme | None
) -> tuple[list[str], float]:
    """Key of the hatching, colour scale, notes; and where the picture ends (px)."""
    ink, text = sheet.inks, sheet.inks.text
    left, y, drawn = 0.4 * text, sheet.height + 0.5 * text, []
    for row in _key_rows(ink, assembly, sheet.width):
        for kind, x in row:
            drawn.append(_swatch(sheet, kind, left + x, y))
            drawn.append(
                sheet.word(
                    left + x + 2.7 * text, y + 0.95 * text, WORDS[kind], anchor="start", cls="key", quiet=True
                )
            )
        y += 1.5 * text
    y += 0.4 * text
    if seen is not None and theme is not None:
        drawn.append(
            scale_bar(
                sheet,
                seen,
                theme.palette.paper,
                left + 0.6 * text,
                y,
                min(sheet.width - 4.0 * text, 22.0 * text),
            )
        )
        y += 2.6 * text
        full = " and ".join(f"{level:g}" for level in FULL_T)
        notes = [
            *notes,
            "colour: flux density, above the scale as at its end",
            f"orange lines: steel at {full}{THIN}T",
        ]
    for line in wrapped(joined_words(notes), sheet.width - text, text):
        y += 1.35 * text
        drawn.append(sheet.word(left, y, line, anchor="start", cls="note", quiet=True))
    return drawn, round(y + 0.6 * text, 1)


def _key_rows(inks: Inks, assembly: Assembly, width: float) -> list[list[tuple[str, float]]]:
    """Kinds of matter that occur, in rows that fit, each with its place from the left."""
    kinds = [kind for kind in WORDS if kind in {kind_of(b) for b in assembly.bodies}]
    rows: list[list[tuple[str, float]]] = [[]]
    x = 0.0
    for kind in kinds:
        wide = 3.0 * inks.text + text_width(WORDS[kind], inks.text) + 1.2 * inks.text
        if rows[-1] and x + wide > width - inks.text:
            rows.append([])
            x = 0.0
        rows[-1].append((kind, x))
        x += wide
    return rows


def _swatch(sheet: Sheet, kind: str, x: float, y: float) -> str:
    """A piece of the hatching of a kind of matter."""
    text = sheet.inks.text
    r = (x - sheet.axis_px) / sheet.scale
    z = (sheet.zero_px - y) / sheet.scale
    wide, tall = 2.2 * text / sheet.scale, 1.1 * text / sheet.scale
    box = ((r, z - tall), (r + wide, z - tall), (r + wide, z), (r, z))
    return hatching(sheet, box, Hatch(kind, 1, 0.6)) + sheet.stroke(
        sheet.path(box, closed=True), cls="swatch"
    )
