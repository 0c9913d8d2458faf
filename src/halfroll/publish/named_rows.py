"""Rows of a chart, each with a name and words: on both sides of it where there is room, above it where there is not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.publish.curves import tidy
from halfroll.publish.frame import Frame, fitted
from halfroll.publish.parts import Part, layer, place


@dataclass(frozen=True, kw_only=True)
class NamedRow:
    """What stands at a row: its name, the words beside it, whether it is a main one, and whether it is told in grey."""

    name: str
    words: str
    main: bool
    grey: bool = False


def row_words(frame: Frame, rows: Sequence[NamedRow], room_px: float, *, wide: bool) -> Part:
    """Names and words of rows one below the other, names no wider than `room_px`; main ones in bold."""
    text, palette = frame.look.sizes.text, frame.look.palette
    data = [
        {"name": fitted(row.name, "", room_px, text), "value": row.words, "grey": row.grey, "main": row.main, "y": tidy(i + (0.5 if wide else 0.28)),
         "nx": tidy(float(frame.x_at(-frame.margins.left + 0.7 * text if wide else 0.3 * text))),
         "vx": tidy(float(frame.x_at(frame.width + 0.8 * text if wide else frame.width - 0.3 * text)))}
        for i, row in enumerate(rows)
    ]  # fmt: skip
    shade = {"condition": {"test": "datum.grey", "value": palette.grey}, "value": palette.ink}
    layers = []
    for which, weight in (("!datum.main", 400), ("datum.main", 600)):
        for field, x, align in (("name", "nx", "left"), ("value", "vx", "left" if wide else "right")):
            encoding = {**place(frame, x=x, y="y"), "text": {"field": field}, "color": shade}
            layers.append(
                layer(
                    "words",
                    "text",
                    encoding,
                    which,
                    align=align,
                    baseline="middle",
                    fontSize=text,
                    fontWeight=weight,
                )
            )
    return Part(layers=layers, data={"words": data})


def row_height(i: int, *, wide: bool) -> float:
    """How far down, in rows, the marks of row `i` stand."""
    return i + (0.5 if wide else 0.74)
