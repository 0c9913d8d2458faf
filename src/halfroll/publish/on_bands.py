"""Named rows on one scale, and the band they are held against: its edges stand at -1 and 1, whatever the rows are of."""

from __future__ import annotations

from collections.abc import Sequence

from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, text_width, wrapped
from halfroll.publish.named_rows import NamedRow
from halfroll.publish.parts import Part, layer, place
from halfroll.publish.scales import Axis
from halfroll.publish.theme import Theme

REACH = 4.0
"""What lies further out, in half widths of the band, is drawn at the edge."""

SURE = 1.96
"""Standard uncertainties of a 95 % interval."""


def band_axis(title: str) -> Axis:
    """The scale in half widths of the band from its middle."""
    return Axis(low=-REACH, high=REACH, marks=tuple(range(-4, 5)), title=title)


def rows_frame(
    names: Sequence[NamedRow], axis: Axis, look: Theme, width_px: float, note: str, *,
    heights: tuple[float, float] = (1.7, 2.6), names_share: float = 1.0,
) -> tuple[Frame, bool]:  # fmt: skip
    """The frame of rows with their names left and their words right, and whether it is wide enough for that; else they stand above.

    `heights` are those of a row in heights of the text, wide and narrow; names take `names_share` of the width at most.
    """
    text, small = look.sizes.text, look.sizes.small
    left = min(max(text_width(one.name, text) for one in names), names_share * width_px) + 1.6 * text
    right = max(text_width(one.words, text) for one in names) + 1.5 * text
    wide = width_px - left - right > 16.0 * text
    if not wide:
        left = right = 0.9 * text
    notes = wrapped(note, width_px - 1.4 * text, small)
    top, bottom = 1.2 * text, 3.4 * text + LINE_HEIGHT * small * len(notes)
    tall = heights[0 if wide else 1] * text * len(names)
    bottom += -(top + tall + bottom) % 1.0
    frame = Frame(
        look=look, x=axis, y=Axis(low=float(len(names)), high=0.0, marks=(), title=""), width=width_px - left - right, height=tall,
        margins=Margins(left=left, right=right, top=top, bottom=bottom), notes=tuple(notes), notes_left=0.7 * text - left,
    )  # fmt: skip
    return frame, wide


def band_part(frame: Frame) -> Part:
    """The band of every row, one shaded strip from -1 to 1, and a line in its middle."""
    rows = [{"a": -1.0, "b": 1.0, "m": 0.0, "y": 0.0, "y2": frame.y.low}]
    palette, hair = frame.look.palette, frame.look.sizes.hair
    across = place(frame, x="a", x2="b", y="y", y2="y2")
    shade = layer("band", "rect", across, color=palette.grid, opacity=0.7)
    middle = layer("band", "rule", place(frame, x="m", y="y", y2="y2"), color=palette.line, strokeWidth=hair)
    return Part(layers=[shade, middle], data={"band": rows})
