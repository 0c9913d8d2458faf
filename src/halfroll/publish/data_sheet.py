"""The data sheet of a version as paper: PDF of two A4 pages where it fits, the same pages as SVG or PNG.

::

    sheet = data_sheet_rows.data_sheet(workshop, "avocet/v8", progress=...)
    data_sheet_pdf(sheet, date="2026-05-02") -> bytes;  data_sheet_pages(sheet, date=, format="svg") -> [bytes, ...]
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from halfroll.publish.comparison import curve_chart
from halfroll.publish.data_sheet_rows import CAUTIONS, CURVES, HEADS, DataSheet, SheetCell
from halfroll.publish.paper import Picture, SetPaper, set_up
from halfroll.publish.render import to_svg
from halfroll.publish.sheetwords import shortened
from halfroll.publish.spec import Spec, chart_summary, picture_size
from halfroll.publish.theme import theme
from halfroll.publish.version_drawing import version_picture
from halfroll.workshop import Workshop

WIDE_PX = 182.0 / 25.4 * 96.0
"""Between the margins of the page (px)."""

HALF_PX = 0.5 * WIDE_PX - 8.0
PX_PER_MM = 1.15 * 96.0 / 25.4
"""The drawing is made a little larger than it is printed, so that its dimensions have room."""

A4_WIDTH_PT = 210.0 / 25.4 * 72.0

MOST_PAGES = 2
LONGEST_TITLE = 90

SIGNS = (
    "±: half of the 95 % interval, coverage by Student's t (JCGM 100:2008, G.4). ≤ and ≥: a bound, not a value. Shaded in curves: 95 % band. "
    "Predicted: computed from the design before or beside any measurement; ± then is what its assumptions leave open. "
    "The mark beside a number leads to the takes, settings and calibrations behind it: halfroll mark MARK, or the page /mark."
)


@dataclass(frozen=True, kw_only=True)
class Density:
    """How tightly the sheet is set: size of its text, width of the drawing (mm), whether the level chart is drawn flat, changes told."""

    scale: float
    drawing_mm: float
    level_db: float
    most: int


DENSITIES = (
    Density(scale=1.0, drawing_mm=98.0, level_db=25.0, most=12),
    Density(scale=1.0, drawing_mm=90.0, level_db=50.0, most=10),
    Density(scale=0.95, drawing_mm=84.0, level_db=50.0, most=8),
    Density(scale=0.9, drawing_mm=80.0, level_db=50.0, most=7),
    Density(scale=0.86, drawing_mm=76.0, level_db=50.0, most=6),
    Density(scale=0.82, drawing_mm=72.0, level_db=50.0, most=5),
)
"""Tried one after the other until the sheet has two pages; one that says more takes a third, and loses nothing."""


def data_sheet_pdf(sheet: DataSheet, workshop: Workshop, *, date: str) -> bytes:
    """The sheet as a PDF; the same sheet and date give the same bytes."""
    return _set(sheet, workshop, date).pages("pdf")[0]


def data_sheet_pages(
    sheet: DataSheet, workshop: Workshop, *, date: str, format: Literal["svg", "png"], width_px: int = 1240
) -> list[bytes]:
    """Its pages one by one as SVG, or as PNG `width_px` wide."""
    return _set(sheet, workshop, date).pages(format, ppi=width_px / A4_WIDTH_PT * 72.0)


def _set(sheet: DataSheet, workshop: Workshop, date: str) -> SetPaper:
    look = theme("print")
    charts: dict[float, dict[str, Picture]] = {}
    for density in DENSITIES:
        if density.level_db not in charts:
            charts[density.level_db] = _charts(sheet, density.level_db)
        drawing = version_picture(
            workshop, sheet.version_id, theme=look, width_px=density.drawing_mm * PX_PER_MM, name=sheet.title
        )
        pictures = {"drawing": drawing, **charts[density.level_db]}
        made = set_up(
            "data_sheet",
            _data(sheet, density, list(charts[density.level_db]), drawing),
            title=shortened(sheet.title, LONGEST_TITLE),
            date=date,
            subtitle=f"Data sheet of {sheet.version_id}, {shortened(sheet.workshop, LONGEST_TITLE)}",
            foot=f"{shortened(sheet.workshop, 60)} · {sheet.version_id} · {date}",
            pictures=pictures,
        )
        if made.length() <= MOST_PAGES:
            return made
    return made


def _charts(sheet: DataSheet, level_db: float) -> dict[str, Picture]:
    """Level over the whole width; impedance and distortion beside each other, or over the whole width alone."""
    look = theme("print")
    there = [name for name, _ in CURVES if any(name in column.curves for column in sheet.comparison.columns)]
    narrow = [name for name in there if name != "level"]
    made: dict[str, Picture] = {}
    for name in there:
        width = HALF_PX if name in narrow and len(narrow) > 1 else WIDE_PX
        more: dict[str, Any] = {"ratio_db_per_decade": level_db} if name == "level" else {"ratio": None}
        spec = curve_chart(sheet.comparison, name, theme=look, width_px=width, **more)
        if spec is not None:
            made[name] = _picture(spec)
    return made


def _picture(spec: Spec) -> Picture:
    return Picture(svg=to_svg(spec), size=picture_size(spec), alt=chart_summary(spec))


def _data(sheet: DataSheet, density: Density, charts: list[str], drawing: Picture) -> dict[str, Any]:
    narrow = [name for name in charts if name != "level"]
    head = ["Figure"]
    columns = ["*"]
    for source in sheet.sources:
        head += [HEADS[source], "Rests on", "Mark"] if source == "measured" else [HEADS[source], "Mark"]
        columns += ["36", "27", "18"] if source == "measured" else ["36", "18"]
    return {
        "scale": density.scale,
        "drawing_mm": drawing.size[0] / PX_PER_MM,
        "summary": shortened(sheet.summary, 400),
        "facts": [list(one) for one in sheet.facts],
        "conditions": list(sheet.conditions),
        "changes": _first(sheet.changes, density.most),
        "head": head,
        "columns": columns,
        "groups": [
            {"heading": heading, "rows": [_row(row.label, row.cells, sheet.sources) for row in rows]}
            for heading, rows in sheet.groups
        ],
        "charts": [one for one in ([c for c in charts if c == "level"], narrow) if one],
        "limits": list(sheet.limits),
        "cabinets": _first(sheet.cabinets, density.most),
        "unknown": list(sheet.unknown),
        "cautions": list(CAUTIONS),
        "said": _first(sheet.said, density.most),
        "signs": SIGNS,
        "rules": [[row.label, row.rule] for row in sheet.rows],
    }


def _row(label: str, cells: tuple[SheetCell | None, ...], sources: tuple[str, ...]) -> list[dict[str, str]]:
    row = [{"kind": "label", "text": label}]
    for cell, source in zip(cells, sources, strict=True):
        row.append({"kind": "value", "text": "–" if cell is None else cell.text})
        if source == "measured":
            row.append({"kind": "basis", "text": "" if cell is None else cell.basis})
        row.append({"kind": "mark", "text": "" if cell is None else cell.mark})
    return row


def _first(sentences: tuple[str, ...], most: int) -> list[str]:
    """The first sentences, long ones cut; what is left out is counted."""
    told = [shortened(one, 260) for one in sentences]
    if len(told) <= most:
        return told
    return [*told[: most - 1], f"And {len(told) - most + 1} more on the page of the version."]
