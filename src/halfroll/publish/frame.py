"""The frame of a chart: where the plot stands inside the picture, and what is a pixel in the quantity's unit.

Every place is known before drawing, so that proportions hold exactly and labels can be kept apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.scales import Axis
from halfroll.publish.theme import Theme

LINE_HEIGHT = 1.35
"""Distance of text lines in text heights."""

_NARROW_LETTERS = frozenset("fijlrtI.,:;'|!()[] \u2009·")
_WIDE_LETTERS = frozenset("mwMWGOQD%@—±")


@dataclass(frozen=True, kw_only=True)
class Margins:
    """Space around the plot (px); `key_below` says that names stand under the plot instead of beside it."""

    left: float
    right: float
    top: float
    bottom: float
    key_below: bool = False


@dataclass(frozen=True, kw_only=True)
class Frame:
    """The plot area in the picture.

    Parameters
    ----------
    look
        Theme.
    x, y
        Axes.
    width, height
        Plot area (px).
    margins
        Space around it.
    title, notes, notes_left
        Heading, the lines under the plot, and where these begin (px from the plot's left edge).
    """

    look: Theme
    x: Axis
    y: Axis
    width: float
    height: float
    margins: Margins
    title: str = ""
    notes: tuple[str, ...] = ()
    notes_left: float = 0.0

    def x_px(self, value: FloatArray | float) -> FloatArray:
        """Pixels from the plot's left edge."""
        return np.asarray(self.x.fraction(value) * self.width)

    def y_px(self, value: FloatArray | float) -> FloatArray:
        """Pixels from the plot's top edge, downwards."""
        return np.asarray((1.0 - self.y.fraction(value)) * self.height)

    def x_at(self, px: FloatArray | float) -> FloatArray:
        """The quantity at so many pixels from the left edge."""
        return self.x.value(np.asarray(px) / self.width)

    def y_at(self, px: FloatArray | float) -> FloatArray:
        """The quantity at so many pixels below the top edge."""
        return self.y.value(1.0 - np.asarray(px) / self.height)


def plan(
    look: Theme,
    *,
    width_px: float,
    names: Sequence[str],
    room_for: Sequence[str] = (),
    notes: Sequence[str],
    title: str,
    x: Callable[[float], Axis],
    y: Axis,
    height: Callable[[float], float],
    tallest_px: float | None = None,
) -> Frame:
    """Lay a chart out in a picture `width_px` wide.

    `x` gives the horizontal axis for a plot width, `height` the plot height for it, both in px.  `room_for` are names
    that the space beside the plot must hold although they do not stand there.  Where the picture would be taller than
    `tallest_px` the plot becomes smaller in its proportions, and what that leaves beside it goes to the names.
    """
    text = look.sizes.text
    narrow = width_px < 36.0 * text
    beside = max((text_width(name, text) for name in (*names, *room_for)), default=0.0)
    right = 1.2 * text if narrow or not names else min(beside + 3.2 * text, 0.34 * width_px)
    left = text * (0.9 + 0.56 * max(3, *(len(f"{m:g}") for m in y.marks)))
    lines = wrapped(" · ".join(notes), width_px - left - 0.6 * text, look.sizes.small)
    key_lines = len(names) if narrow else 0
    top = (look.sizes.title * LINE_HEIGHT if title else 0.0) + 2.2 * text
    bottom = 2.9 * text + LINE_HEIGHT * (key_lines * text + len(lines) * look.sizes.small) + 0.4 * text
    plot = round(width_px - left - right)
    tall = height(plot)
    if tallest_px is not None and tall > (room := max(tallest_px - top - bottom, 2.0 * text)):
        plot = math.floor(plot * room / tall)
        tall, right = height(plot), width_px - left - plot
    bottom += math.ceil(top + tall + bottom) - (
        top + tall + bottom
    )  # whole pixels, so that rasters stay sharp
    return Frame(
        look=look,
        x=x(plot),
        y=y,
        width=plot,
        height=tall,
        margins=Margins(left=width_px - plot - right, right=right, top=top, bottom=bottom, key_below=narrow),
        title=title,
        notes=tuple(lines),
    )


def text_width(text: str, size_px: float) -> float:
    """About how wide a text is in the house font (px); errs to the wide side."""
    return size_px * sum(
        0.32 if c in _NARROW_LETTERS else 0.82 if c in _WIDE_LETTERS else 0.6 if c.isupper() else 0.53
        for c in text
    )


def fitted(title: str, remark: str, width_px: float, size_px: float) -> str:
    """The title and what is said behind it; where both are too wide the title is cut, and shows it."""
    if text_width(title + remark, size_px) <= width_px:
        return title + remark
    room = width_px - text_width(f"…{remark}", size_px)
    kept = next((n for n in range(len(title), 0, -1) if text_width(title[:n], size_px) <= room), 1)
    return f"{title[:kept].rstrip()}…{remark}"


def wrapped(text: str, width_px: float, size_px: float) -> list[str]:
    """The text broken at spaces into lines not wider than `width_px`."""
    lines: list[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size_px) <= width_px:
            lines[-1] = longer
        else:
            lines.append(word)
    return [line for line in (line.removeprefix("· ").removesuffix(" ·") for line in lines) if line]


def spread_out(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places nearest to those wanted (least squares) that are at least `gap` apart and within [low, high].

    Shared places grow into blocks which then lie about their mean (pool adjacent violators).  When there is not
    room enough the gap is made smaller.
    """
    count = len(wanted)
    if count == 0:
        return []
    gap = min(gap, (high - low) / max(count - 1, 1))
    order = sorted(range(count), key=lambda i: wanted[i])
    blocks: list[tuple[float, int]] = []
    for rank, i in enumerate(order):
        mean, size = wanted[i] - rank * gap, 1
        while blocks and blocks[-1][0] > mean:
            before, many = blocks.pop()
            mean = (before * many + mean * size) / (many + size)
            size += many
        blocks.append((mean, size))
    shifted = [mean for mean, size in blocks for _ in range(size)]
    limit = high - (count - 1) * gap
    places = [0.0] * count
    for rank, i in enumerate(order):
        places[i] = min(max(shifted[rank], low), limit) + rank * gap
    return places
