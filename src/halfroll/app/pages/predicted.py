"""``/predicted/<driver>/<version>``: what will it do? The driver a design makes, played and analysed like a built one."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any

from fastapi import Request
from markupsafe import Markup
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el, html
from halfroll.app.job import work
from halfroll.app.pages.both import groups_of, measured_of, predicted_of
from halfroll.app.pages.predicted_doubt import show_doubt
from halfroll.app.view import render, show
from halfroll.compare.recipe import against_measured
from halfroll.compare.runs import MOUNTINGS
from halfroll.compare.types import Comparison
from halfroll.core.conditions import radius_of_area
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress, part
from halfroll.core.text import format_band, format_stated, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.rules import HEADLINES, RULE
from halfroll.figures.types import FigureSettings
from halfroll.publish.comparison import comparison_charts
from halfroll.publish.outline import half_section
from halfroll.publish.theme import Theme, theme
from halfroll.publish.version_drawing import motor_drawings
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.virtual_takes import PredictedTake, foreseen, load_in, predicted_take

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver

CURVES = ("level", "thd", "impedance")
SINGLE = ("h2", "h3", "h4", "h5")

SECTIONS = (
    ("causes", "Which cause makes the distortion", "halfroll.app.pages.predicted_causes", "show_causes"),
    ("limits", "How loud, and what limits it", "halfroll.app.pages.predicted_limits", "show_limits"),
)
"""What else is told of a predicted driver on request: the word in the address, its name, who shows it."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What an address asks for; `errors` are what is wrong with a field, by key."""

    settings: FigureSettings
    cabinet: str | None
    show: str
    typed: Mapping[str, str]
    errors: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Foreseen:
    """What was worked out for the page."""

    driver: PredictedDriver
    take: PredictedTake
    comparison: Comparison
    load: AcousticLoad | None


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/predicted/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def predicted_page(driver: str, version: str, request: Request) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        record = workshop.version(version_id).record
        title = f"{workshop.driver(driver).record.title} {version}"
        frame.title(f"{title}, predicted")
        wanted = read(workshop, dict(request.query_params))
        _head(workshop, version_id, title, record)
        if not foreseen(record):
            show(
                "predicted_none.html",
                design=address.of_design(version_id),
                suspension=address.of_suspension(version_id),
            )
            return
        _form(workshop, version_id, wanted)
        if wanted.errors:
            return
        try:
            found = await work(f"Predicting {title}", partial(_found, workshop, version_id, wanted))
        except CancelledError:
            el("p", "Stopped. What was finished is kept; load the page again to go on.", cls="quiet")
            return
        except InputError as fault:
            show(
                "predicted_fault.html",
                fault=str(fault),
                design=address.of_design(version_id),
                suspension=address.of_suspension(version_id),
            )
            return
        _show(found, wanted)
        await _sections(workshop, version_id, found, wanted)
        if wanted.show:  # the place the address names came after the page was sent
            ui.run_javascript("if (location.hash) document.querySelector(location.hash)?.scrollIntoView()")


def read(workshop: Workshop, query: Mapping[str, str]) -> Asked:
    """Level and cabinet of an address, checked; what it leaves out is the workshop's level and an infinite baffle."""
    usual = workshop.settings
    typed = {"level": query.get("level", "") or f"{usual.level_w:g}", "cabinet": query.get("cabinet", "")}
    errors, level = {}, usual.level_w
    try:
        level = float(typed["level"].replace(",", "."))
    except ValueError:
        level = 0.0
    if not 0.0 < level <= 10_000.0:
        errors["level"] = f"The level must be a power above 0 W, at most 10000 W; found {typed['level']}."
    cabinet = typed["cabinet"] or None
    known = cabinets(workshop)
    if cabinet is not None and cabinet not in known:
        errors["cabinet"] = f"There is no cabinet {cabinet}. " + (
            f"There are {', '.join(known)}." if known else "There is none yet."
        )
    settings = usual if errors else replace(usual, level_w=level)
    return Asked(settings=settings, cabinet=cabinet, show=query.get("show", ""), typed=typed, errors=errors)


def cabinets(workshop: Workshop) -> list[str]:
    """Ids of the workshop's cabinets."""
    from halfroll.workshop.cabinets import cabinet_ids

    return list(cabinet_ids(workshop))


def _found(workshop: Workshop, version_id: str, wanted: Asked, progress: Progress) -> Foreseen:
    """The take from the index or computed, the driver behind it, and the comparison with what was measured."""
    from halfroll.workshop.prediction import driver_model

    take = predicted_take(
        workshop, version_id, part(progress, 0.0, 0.7), settings=wanted.settings, cabinet=wanted.cabinet
    )
    driver = driver_model(workshop, version_id, "auto", part(progress, 0.7, 0.8))
    comparison = against_measured(
        workshop, version_id, settings=wanted.settings, cabinet=wanted.cabinet, progress=part(progress, 0.8, 1.0)
    )  # fmt: skip
    return Foreseen(
        driver=driver, take=take, comparison=comparison, load=load_in(workshop, version_id, wanted.cabinet)
    )


def _head(workshop: Workshop, version_id: str, title: str, record: VersionRecord) -> None:
    drawing = motor_drawings(workshop, {version_id: record}, {version_id: title}, width_px=420).get(
        version_id
    )
    radius = None if record.effective_area_cm2 is None else radius_of_area(1e-4 * record.effective_area_cm2)
    show(
        "predicted_head.html",
        steps=[("Drivers", "/"), (title, address.of_version(version_id))],
        name=f"{title}, predicted",
        subtitle=record.title,
        drawing=Markup(drawing or half_section(radius, name=title)),
        pages=address.pages_of(version_id, "predicted", whole=foreseen(record)),
        designed=drawing is not None,
        compare=address.of_comparison([version_id, f"{version_id}@predicted"], base=version_id),
        has_measured=any(take for take in workshop.take_ids(version_id)),
    )


def _form(workshop: Workshop, version_id: str, wanted: Asked) -> None:
    html(
        render(
            "predicted_form.html",
            action=address.of_predicted(version_id),
            asked=wanted,
            cabinets=cabinets(workshop),
        )
    )


def _show(found: Foreseen, wanted: Asked) -> None:
    comparison = found.comparison
    measured = measured_of(comparison)
    where = "in an infinite baffle" if wanted.cabinet is None else f"in the cabinet {wanted.cabinet}"
    figures = predicted_of(comparison).figures
    said = _said(found, comparison)
    show(
        "predicted_numbers.html",
        numbers=[(RULE[key].label, figures[key]) for key in HEADLINES if figures[key].value is not None],
    )
    grave = [one for one in said if one.severity >= Severity.CAUTION]
    if grave:
        show("verdicts.html", verdicts=grave)
    _curves(found)
    drive = found.take.computed.response.conditions.drive_v or 0.0
    show(
        "both_figures.html",
        heading="Figures",
        groups=groups_of(comparison),
        measured=measured is not None,
        cautions=(),
        notes=[one for one in said if one.severity < Severity.CAUTION],
        says=f"Played {where}, heard at 1 m and 20 °C, driven with {format_value(drive, None, 'V')}: "
        f"{format_stated(wanted.settings.level_w, 'W')} into {format_stated(found.take.readings.conditions.rated_impedance_ohm or 0.0, 'ohm')}. "
        f"Distortion over {format_band(wanted.settings.distortion_band_hz)}.{_mounted(comparison)}",
        way=() if wanted.cabinet is None else ("To this cabinet", address.of_cabinet(wanted.cabinet)),
        rests={},
    )
    show_doubt(found.driver, found.take)


def _mounted(comparison: Comparison) -> str:
    """How the driver stands where its parameters are told."""
    column = predicted_of(comparison)
    used = {run.mounting for run in column.version.runs if run.take_id in set(column.runs_used)}
    return "".join(f" Parameters as {MOUNTINGS[mounting]}." for mounting in sorted(used))


def _said(found: Foreseen, comparison: Comparison) -> list[Verdict]:
    """What is said of the prediction, the gravest first; of the measurement only what is grave."""
    own = [*found.driver.verdicts, *found.take.readings.verdicts]
    lacking = [
        Verdict(
            code="stood-in",
            severity=Severity.CAUTION,
            text=text,
            remedy="Design it, and the prediction uses the design.",
        )
        for text in found.driver.missing
    ]
    column = measured_of(comparison)
    grave = [] if column is None else [v for v in column.cautions if v.severity >= Severity.CAUTION]
    every = {(v.code, v.text): v for v in [*lacking, *own, *comparison.cautions, *grave]}
    return sorted(every.values(), key=lambda v: -v.severity)


def _curves(found: Foreseen) -> None:
    @lru_cache(maxsize=4)
    def made(look: str, width_px: int) -> dict[str, Any]:
        return comparison_charts(found.comparison, theme=theme(look), width_px=width_px)

    def maker(key: str) -> Callable[[Theme, int], dict[str, Any]]:
        return lambda look, width_px: made(look.name, width_px)[key]

    there = made("light", 640)
    with el("section", cls="block", aria_label="Curves"):
        el("h2", "Curves", id="curves")
        el(
            "p",
            "Bands are 95 %: of the prediction by what was assumed, of the measurement by the scatter of the units.",
            cls="quiet small",
        )
        with el("div", cls="charts"):
            for key in CURVES:
                if key in there:
                    with el("figure"):
                        Chart(maker(key)).mark(f"chart-{key}")
        with el("details"):
            el("summary", "Single harmonics")
            with el("div", cls="charts"):
                for key in SINGLE:
                    if key in there:
                        with el("figure"):
                            Chart(maker(key)).mark(f"chart-{key}")


async def _sections(workshop: Workshop, version_id: str, found: Foreseen, wanted: Asked) -> None:
    """What others tell of the driver: each on request by the address, for it takes seconds."""
    for word, name, module, function in SECTIONS:
        if wanted.show in (word, "all"):
            shown = getattr(importlib.import_module(module), function)
            more = {"level_w": wanted.settings.level_w} if word == "causes" else {}
            await shown(workshop, version_id, found.driver, load=found.load, **more)
            continue
        with el("section", cls="block no-print", aria_label=name):
            el("h2", name)
            query = {"level": wanted.typed["level"], "cabinet": wanted.typed["cabinet"], "show": word}
            el(
                "a", "Work it out", cls="button", href=f"{address.of_predicted(version_id, **query)}#{word}"
            ).mark(f"show-{word}")
