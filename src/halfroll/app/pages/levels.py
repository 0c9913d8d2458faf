"""``/levels/<driver>/<version>/<unit>``: how distortion grows with level, and how loud the unit gets before it is too much."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from fastapi import Request

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.job import work
from halfroll.app.pages.tone_form import ToneForm
from halfroll.app.pages.tones import steps_of
from halfroll.app.view import show
from halfroll.core.text import THIN, format_band
from halfroll.measure.stepped.highest_level import HighestLevel
from halfroll.measure.stepped.level_series import LevelSeries
from halfroll.publish.level_rows import cautions_of, drive_words, highest_words, level_rows, level_words
from halfroll.publish.levels import level_charts
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop
from halfroll.workshop.levels import SWEEPS, UnitLevels, unit_levels

LIMITS = (0.03, 0.10)


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/levels/{driver}/{version}/{unit}", workshop_name=lambda: workshop.name)
    async def levels_page(driver: str, version: str, unit: str, request: Request) -> None:
        unit_id = f"{driver}/{version}/{unit}"
        frame.need(workshop, unit_id, "unit")
        title = workshop.driver(driver).record.title
        frame.title(f"Distortion against level, {title} {version}, unit {unit}")
        found = await work("Reading tones and takes",
                           lambda progress: unit_levels(workshop, unit_id, progress=progress))  # fmt: skip
        found = _first(found, request.query_params.get("source", ""))
        _head(workshop, title, found)
        if found.series:
            _curves(workshop, found)
            _table(workshop, found)
        ToneForm(workshop, unit_id)


def _first(found: UnitLevels, source: str) -> UnitLevels:
    """The same with the source the address names in the first place."""
    if not source:
        return found
    if source not in found.series:
        raise frame.NotHereError("There is no such source of this unit", found=source, allowed=list(found.series) or "it has none yet")  # fmt: skip
    series = {source: found.series[source], **{k: v for k, v in found.series.items() if k != source}}
    return UnitLevels(unit_id=found.unit_id, series=series, missing=found.missing)


def _head(workshop: Workshop, title: str, found: UnitLevels) -> None:
    _, version, unit = found.unit_id.split("/")
    band = workshop.settings.distortion_band_hz
    numbers: list[tuple[str, str, str]] = []
    cautions: list[str] = []
    source = next(iter(found.series), "")
    if source:
        series = found.series[source]
        rows = level_rows(series, band, LIMITS)
        cautions = cautions_of(series, rows)
        if rows and rows[0].curve.band_hz is not None:
            numbers = [_number(limit, one) for limit, one in zip(LIMITS, rows[0].highest, strict=True)]
    show(
        "levels_head.html",
        steps=steps_of(found.unit_id, title),
        name=f"Distortion against level: {title} {version}, unit {unit}",
        numbers=numbers,
        band=format_band(band),
        source=_name(source),
        cautions=cautions,
        empty=not found.series,
        missing=[(_name(name), why) for name, why in found.missing.items()],
    )


def _number(limit: float, found: HighestLevel | str) -> tuple[str, str, str]:
    """A limit, the level under it as a large number, and the drive."""
    label = f"Under {100 * limit:g}{THIN}%"
    if isinstance(found, str):
        return label, "–", found
    sign = {"lower": f"≥{THIN}", "upper": f"≤{THIN}", None: ""}[found.bound]
    if found.spl_db is None:
        return label, sign + drive_words(found), ""
    return label, sign + level_words(found), f"at 1{THIN}m, {drive_words(found)}"


def _name(source: str) -> str:
    return "sweeps" if source == SWEEPS else f"the tones {source}"


def _curves(workshop: Workshop, found: UnitLevels) -> None:
    band = workshop.settings.distortion_band_hz

    @lru_cache(maxsize=2)
    def made(look: str, width_px: int) -> dict[str, Any]:
        return level_charts(
            found.series, theme=theme(look), width_px=width_px, band_hz=band, limit=LIMITS[-1]
        )

    def maker(key: str) -> Callable[[Theme, int], dict[str, Any]]:
        return lambda look, width_px: made(look.name, width_px)[key]

    with el("section", cls="block", aria_label="Curves"):
        el("h2", "Curves")
        with el("div", cls="charts halves"):
            for key in made("light", 640):
                with el("figure"):
                    Chart(maker(key)).mark(f"chart-{key}")


def _table(workshop: Workshop, found: UnitLevels) -> None:
    source, series = next(iter(found.series.items()))
    links = [
        (f"Look at {_name(name)}", _link(found.unit_id, name, other))
        for name, other in found.series.items()
        if name != source or other.source == "tones"
    ]
    rows = level_rows(series, workshop.settings.distortion_band_hz, LIMITS)
    show(
        "levels_table.html",
        source=_name(source),
        limits=[f"{100 * limit:g}{THIN}%" for limit in LIMITS],
        rows=[(row.curve.name, [highest_words(one) for one in row.highest]) for row in rows],
        links=links,
    )


def _link(unit_id: str, name: str, series: LevelSeries) -> str:
    return (
        address.of_run(f"{unit_id}/tones/{name}")
        if series.source == "tones"
        else f"/levels/{unit_id}?source={name}"
    )
