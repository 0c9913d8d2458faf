"""The one-page sheet of a comparison: findings, figures with their intervals, curves, conditions, and how to read it."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from halfroll.compare.types import Column, Comparison
from halfroll.core.errors import RefusedError
from halfroll.publish.comparison import curve_chart
from halfroll.publish.curves import remark_of
from halfroll.publish.frame import fitted
from halfroll.publish.render import OutputFormat, page_count, to_svg, typeset
from halfroll.publish.sheetwords import (
    SheetWords,
    first_of,
    sheet_words,
    shortened,
    version_note,
)
from halfroll.publish.spec import Spec, chart_summary, picture_size
from halfroll.publish.striprows import version_labels
from halfroll.publish.strips import strip_chart
from halfroll.publish.theme import Theme, theme

MOST_VERSIONS = 8
SHEET_FIGURES = (
    "sensitivity_db", "max_level_db", "lower_limit_hz", "upper_limit_hz", "thd_mean_percent", "thd_worst_percent",
)  # fmt: skip
"""The figures in the sheet's table, from left to right."""

PAGE_PX = 186.0 / 25.4 * 96.0
"""Width between the margins of the A4 page (px)."""

STRIP_PX = 94.0
NAME_PX, NOTE_PX = 11.0, 8.6
"""Text heights of names and notes in the table (8 and 6.3 points, and a little for the semibold)."""

A4_WIDTH_PT = 210.0 / 25.4 * 72.0


@dataclass(frozen=True, kw_only=True)
class Density:
    """How tightly the sheet is set.

    Parameters
    ----------
    scale
        Size of its text.
    findings, cautions, changes, conditions
        The most lines of each list.
    level_db
        Decibels as long as a decade on the level chart.
    chart_width
        Width of the charts as a share of the text's.
    """

    scale: float
    findings: int
    cautions: int
    changes: int
    conditions: int
    level_db: float
    chart_width: float = 1.0


DENSITIES = (
    Density(scale=1.0, findings=8, cautions=5, changes=9, conditions=6, level_db=25.0),
    Density(scale=1.0, findings=8, cautions=5, changes=9, conditions=6, level_db=50.0),
    Density(scale=0.97, findings=8, cautions=5, changes=8, conditions=5, level_db=50.0, chart_width=0.94),
    Density(scale=0.94, findings=8, cautions=4, changes=8, conditions=5, level_db=50.0, chart_width=0.88),
    Density(scale=0.92, findings=7, cautions=4, changes=7, conditions=4, level_db=50.0, chart_width=0.82),
    Density(scale=0.9, findings=6, cautions=4, changes=6, conditions=4, level_db=50.0, chart_width=0.76),
    Density(scale=0.88, findings=5, cautions=3, changes=5, conditions=3, level_db=50.0, chart_width=0.7),
    Density(scale=0.86, findings=4, cautions=3, changes=3, conditions=3, level_db=50.0, chart_width=0.65),
    Density(scale=0.8, findings=3, cautions=2, changes=2, conditions=2, level_db=50.0, chart_width=0.6),
)
"""Tried one after the other until the sheet is one page; what does not fit is counted, not hidden."""


def sheet_pdf(comparison: Comparison, *, title: str, date: str) -> bytes:
    """The sheet as a PDF of one A4 page.

    Parameters
    ----------
    comparison
        One to eight versions.
    title
        Head of the sheet; any text.
    date
        Printed as given; the sheet itself looks at no clock.

    Raises
    ------
    RefusedError
        More than eight versions, or more words than a page can hold.
    """
    return _sheet(comparison, title, date, "pdf")


def sheet_svg(comparison: Comparison, *, title: str, date: str) -> str:
    """The same page as SVG."""
    return _sheet(comparison, title, date, "svg").decode()


def sheet_png(comparison: Comparison, *, title: str, date: str, width_px: int = 1240) -> bytes:
    """The same page as PNG, `width_px` wide."""
    return _sheet(comparison, title, date, "png", ppi=width_px / A4_WIDTH_PT * 72.0)


def _sheet(
    comparison: Comparison, title: str, date: str, format: OutputFormat, *, ppi: float = 72.0
) -> bytes:
    if len(comparison.columns) > MOST_VERSIONS:
        raise RefusedError(
            "A sheet of one page must have 8 versions or fewer",
            found=f"{len(comparison.columns)} versions",
            remedy="Choose the versions that matter and make a second sheet for the others",
        )
    look = theme("print")
    strips = _strips(comparison, look)
    words = sheet_words(comparison, SHEET_FIGURES)
    grain = ppi / 72.0 if format == "png" else 0.0
    for density in DENSITIES:
        charts = _charts(comparison, look, density)
        data = _data(comparison, look, words, density, strips, charts)
        inputs = {"title": title, "date": date, "grain": f"{grain}", "sheet": data}
        pictures = {**strips, **charts}
        blanks = {name: _blank(spec) for name, spec in pictures.items()}
        if page_count(_template(), {**inputs, **blanks}) == 1:
            break
    else:
        raise RefusedError(
            "A sheet must fit on one page; this one says too much even in the smallest print",
            remedy="Choose fewer versions",
        )
    drawn = {name: to_svg(spec) for name, spec in pictures.items()}
    return typeset(_template(), {**inputs, **drawn}, format, ppi=ppi)


def _strips(comparison: Comparison, look: Theme) -> dict[str, Spec]:
    """The table's columns: a strip without names for every figure that some version has."""
    had = [
        key for key in SHEET_FIGURES
        if any(key in c.figures and c.figures[key].value is not None for c in comparison.columns)
    ]  # fmt: skip
    return {key: strip_chart(comparison, key, theme=look, width_px=STRIP_PX, names=False) for key in had}


def _charts(comparison: Comparison, look: Theme, density: Density) -> dict[str, Spec]:
    width = round(density.chart_width * PAGE_PX)
    made = {
        "level": curve_chart(
            comparison, "level", theme=look, width_px=width, ratio_db_per_decade=density.level_db
        ),
        "thd": curve_chart(comparison, "thd", theme=look, width_px=width),
    }
    return {name: chart for name, chart in made.items() if chart is not None}


def _data(
    comparison: Comparison,
    look: Theme,
    words: SheetWords,
    density: Density,
    strips: dict[str, Spec],
    charts: dict[str, Spec],
) -> str:
    pictures = {**strips, **charts}
    name_px = PAGE_PX - STRIP_PX * len(strips)
    some = next(iter(strips.values()), None)
    sheet: dict[str, Any] = {
        "look": {**asdict(look.palette), "family": look.family},
        "scale": density.scale,
        "subtitle": words.subtitle,
        "findings": first_of(words.findings, density.findings),
        "cautions": first_of(words.cautions, density.cautions),
        "conditions": first_of(words.conditions, density.conditions),
        "changes": first_of(words.changes, density.changes),
        "signs": words.signs,
        "rules": words.rules,
        "versions": [_version(comparison, column, name_px) for column in comparison.columns],
        "strips": list(strips),
        "charts": list(charts),
        "size": {name: picture_size(spec) for name, spec in pictures.items()},
        "top_px": some["padding"]["top"] if some else 0.0,
        "row_px": some["height"] / len(comparison.columns) if some else 2.6 * look.sizes.text,
        "alt": {name: chart_summary(spec) for name, spec in pictures.items()},
    }
    return json.dumps(sheet)


def _version(comparison: Comparison, column: Column, width_px: float) -> dict[str, Any]:
    label = version_labels(comparison)[column.version.version_id]
    base = column.version.version_id == comparison.base_id and comparison.base_mode != "parent"
    name = fitted(shortened(label), remark_of(base=base, source="measured"), width_px, NAME_PX)
    return {"name": name, "note": fitted(version_note(column), "", width_px, NOTE_PX), "base": base}


def _blank(spec: Spec) -> str:
    """An empty picture of a chart's size: enough to see whether the sheet is one page."""
    width, height = picture_size(spec)
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}"></svg>'


@cache
def _template() -> str:
    return files("halfroll.publish").joinpath("sheet.typ").read_text(encoding="utf-8")
