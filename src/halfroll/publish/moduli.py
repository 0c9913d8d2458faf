"""Moduli of printing materials as points with their 95 % intervals on one common logarithmic scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.materials.calibrate.types import Estimate, interval
from halfroll.publish.calibrations import METHOD_WORDS, pascals, range_words
from halfroll.publish.curves import tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, text_width, wrapped
from halfroll.publish.named_rows import NamedRow, row_height, row_words
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

if TYPE_CHECKING:
    from halfroll.materials.types import Filament
    from halfroll.workshop.calibrated import Calibrated

MARKS_MPA = tuple(one * 10.0**power for power in range(5) for one in (1.0, 2.0, 5.0))


@dataclass(frozen=True, kw_only=True)
class ModulusRow:
    """A modulus (Pa) with its 95 % interval; `measured` ones are filled, others open, `grey` ones not used, `main` bold."""

    name: str
    modulus_pa: float
    interval_pa: tuple[float, float]
    measured: bool = False
    grey: bool = False
    main: bool = False

    @property
    def words(self) -> str:
        """The value in words."""
        return pascals(self.modulus_pa)


def filament_row(filament: Filament, name: str = "") -> ModulusRow:
    """A filament as a row."""
    limits = interval(filament.modulus_pa, filament.modulus_u_pa / filament.modulus_pa)
    return ModulusRow(
        name=name or filament.title,
        modulus_pa=filament.modulus_pa,
        interval_pa=limits,
        measured=bool(filament.calibrated),
    )


def history_of(found: Calibrated) -> list[ModulusRow]:
    """Starting value, each calibration of the modulus, and all together."""
    start = found.start
    rows = [
        ModulusRow(
            name="starting value", modulus_pa=start.modulus_pa, interval_pa=interval(start.modulus_pa, start.modulus_u_pa / start.modulus_pa),
            grey=bool(found.tables) and found.combined.start_weight == 0.0,
        )
    ]  # fmt: skip
    for number, (table, result) in enumerate(zip(found.tables, found.results, strict=True), 1):
        if isinstance(result, Estimate):
            name = f"{number} {METHOD_WORDS[table.method]}, {table.lines}"
            rows.append(
                ModulusRow(
                    name=name,
                    modulus_pa=result.modulus_pa,
                    interval_pa=result.interval_pa,
                    measured=True,
                    grey=not table.used,
                )
            )
    if len(rows) > 1:
        rows.append(ModulusRow(name=f"together, {found.filament.modulus_lines}", modulus_pa=found.filament.modulus_pa,
                               interval_pa=found.combined.interval_pa, measured=True, main=True))  # fmt: skip
    return rows


def moduli_chart(
    rows: Sequence[ModulusRow], *, theme: Theme, width_px: float, title: str = "Modulus in bending"
) -> Spec:
    """Rows from top to bottom on a common scale in MPa. Narrow pictures have the words over the points."""
    frame, wide = _frame(rows, theme, width_px, title)
    parts = [
        words_around(frame, "in MPa"),
        _scale(frame, len(rows)),
        _points(frame, rows, wide),
        _words(frame, rows, wide),
    ]
    return specification(frame, parts, summary=_summary(rows))


def _frame(rows: Sequence[ModulusRow], look: Theme, width_px: float, title: str) -> tuple[Frame, bool]:
    text, small = look.sizes.text, look.sizes.small
    names = min(max((text_width(row.name, text) for row in rows), default=0.0), 0.32 * width_px) + 2.4 * text
    values = max((text_width(row.words, text) for row in rows), default=0.0) + 1.5 * text
    wide = width_px - names - values > 16.0 * text
    left, right = (names, values) if wide else (0.7 * text, 0.7 * text)
    notes = wrapped(
        "line: 95 % interval · filled: calibrated · open: starting value · grey: not used",
        width_px - 1.4 * text,
        small,
    )
    top = look.sizes.title * LINE_HEIGHT + 2.2 * text
    bottom = 2.4 * text + LINE_HEIGHT * small * len(notes)
    tall = (1.7 if wide else 2.6) * text * len(rows)
    bottom += -(top + tall + bottom) % 1.0
    frame = Frame(
        look=look, x=_axis(rows, width_px - left - right, text), y=Axis(low=float(len(rows)), high=0.0, marks=(), title=""), width=width_px - left - right,
        height=tall, margins=Margins(left=left, right=right, top=top, bottom=bottom), title=title, notes=tuple(notes), notes_left=0.7 * text - left,
    )  # fmt: skip
    return frame, wide


def _axis(rows: Sequence[ModulusRow], width_px: float, text_px: float) -> Axis:
    """Over all values, and their intervals as far as they go beyond a fifth or five times of them."""
    values = [1e-6 * row.modulus_pa for row in rows]
    ends = [1e-6 * end for row in rows for end in row.interval_pa if math.isfinite(end)]
    low = max(min([*values, *ends]), 0.2 * min(values)) / 1.12
    high = min(max([*values, *ends]), 5.0 * max(values)) * 1.12
    marks = [mark for mark in MARKS_MPA if low <= mark <= high]
    if width_px / max(len(marks), 1) < 3.4 * text_px:
        marks = [mark for mark in marks if f"{mark:.0e}"[0] == "1"] or marks[:: max(1, len(marks) // 3)]
    if len(marks) < 2:
        step = 10 ** math.floor(math.log10(high - low)) / 2
        marks = [step * n for n in range(math.ceil(low / step), math.floor(high / step) + 1)]
        marks = marks[:: max(1, math.ceil(len(marks) * 3.4 * text_px / width_px))]
    return Axis(low=low, high=high, marks=tuple(marks), title="", log=True)


def _scale(frame: Frame, count: int) -> Part:
    across = {"x": {"value": 0}, "x2": {"value": frame.width}, **place(frame, y="y")}
    steps = [{"y": float(i), "x": tidy(frame.x.low)} for i in range(1, count)]
    return Part(
        layers=[
            layer("steps", "rule", across, color=frame.look.palette.grid, strokeWidth=frame.look.sizes.hair)
        ],
        data={"steps": steps},
    )


def _points(frame: Frame, rows: Sequence[ModulusRow], wide: bool) -> Part:
    palette, thick = frame.look.palette, 0.8 * frame.look.sizes.curve
    data = [
        {"x": tidy(1e-6 * row.modulus_pa), "y": tidy(row_height(i, wide=wide)), "grey": row.grey, "full": row.measured and not row.grey,
         "low": tidy(max(1e-6 * row.interval_pa[0], frame.x.low)), "high": tidy(min(1e-6 * row.interval_pa[1], frame.x.high))}
        for i, row in enumerate(rows)
    ]  # fmt: skip
    shade = {"condition": {"test": "datum.grey", "value": palette.grey}, "value": palette.ink}
    fill = {"condition": {"test": "datum.full", "value": palette.ink}, "value": palette.paper}
    marker = marker_layer(frame, "rows", {**place(frame, x="x", y="y"), "stroke": shade, "fill": fill})
    marker["mark"]["strokeWidth"] = 0.5 * frame.look.sizes.curve
    line = layer(
        "rows", "rule", {**place(frame, x="low", x2="high", y="y"), "color": shade}, strokeWidth=thick
    )
    return Part(layers=[line, marker], data={"rows": data})


def _words(frame: Frame, rows: Sequence[ModulusRow], wide: bool) -> Part:
    text = frame.look.sizes.text
    room = frame.margins.left - 2.2 * text if wide else 0.6 * frame.width
    named = [NamedRow(name=row.name, words=row.words, main=row.main, grey=row.grey) for row in rows]
    return row_words(frame, named, room, wide=wide)


def _summary(rows: Sequence[ModulusRow]) -> str:
    said = [f"{row.name}: {row.words}, {range_words(row.interval_pa)}" for row in rows]
    return "Modulus in bending on a logarithmic scale. " + "; ".join(said) + "."
