"""``/parameters/<driver>/<version>/<unit>``: impedance and fit of a unit, its parameters, and what is still missing."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from nicegui import ui

from halfroll.app import address, fit_asked, frame, impedance_intake
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.job import work
from halfroll.app.pages.parameter_form import ImpedanceForm
from halfroll.app.pages.words import moment
from halfroll.app.run_standing import run_standing
from halfroll.app.view import show
from halfroll.core.text import THIN, format_stated
from halfroll.core.verdicts import Severity
from halfroll.publish.parameter_rows import (
    candidate_rows,
    fit_rows,
    method_rows,
    parameter_rows,
    remark_lines,
    run_words,
)
from halfroll.publish.parameters import fit_charts, pair_charts
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop
from halfroll.workshop.fitted import FittedRun, UnitParameters
from halfroll.workshop.parameters import unit_parameters

Charts = Callable[[str, int], dict[str, Any]]


def register(workshop: Workshop) -> None:
    """Add the page and the route files are sent to."""
    impedance_intake.register(workshop)

    @frame.page("/parameters/{driver}/{version}/{unit}", workshop_name=lambda: workshop.name)
    async def parameters_page(driver: str, version: str, unit: str) -> None:
        unit_id = f"{driver}/{version}/{unit}"
        frame.need(workshop, unit_id, "unit")
        query = ui.context.client.request.query_params
        wanted = fit_asked.read(query)
        found = await work(
            "Fitting the impedance",
            lambda progress: unit_parameters(workshop, unit_id, wanted.settings, progress=progress),
        )
        run = _chosen(found, query.get("run", ""))
        title = workshop.driver(driver).record.title
        frame.title(f"Parameters of {title} {version}, unit {unit}")
        _head(unit_id, title, found, run)
        if run is not None:
            _curves(found, run)
            show(
                "parameters_fit.html",
                asked=wanted,
                action=address.of_parameters(unit_id),
                run=query.get("run", ""),
                coils=fit_asked.COILS.items(),
                creeps=fit_asked.CREEPS.items(),
            )
        _tables(found, run)
        if run is not None and not run.unread:
            run_standing(workshop, run)
        last = next(
            (r.record.mounting for r in reversed(found.runs) if r.record.mounting != "closed-box"), "free-air"
        )
        ImpedanceForm(workshop, unit_id, last)


def _chosen(found: UnitParameters, name: str) -> FittedRun | None:
    """The run that is in view: the one the address names, else the one the parameters come from, else the newest."""
    if name:
        named = next((run for run in found.runs if run.name == name), None)
        if named is None:
            raise frame.NotHereError(f"There is no impedance run {name} of this unit", found=name,
                                     allowed=[run.name for run in found.runs] or "it has none yet")  # fmt: skip
        return named
    return found.free or (found.runs[-1] if found.runs else None)


def _head(unit_id: str, driver_title: str, found: UnitParameters, run: FittedRun | None) -> None:
    driver, version, unit = unit_id.split("/")
    rows = {row[0]: row[1] for row in parameter_rows(found).rows}
    verdicts = [] if found.parameters is None else list(found.parameters.verdicts)
    show(
        "parameters_head.html",
        steps=[
            ("Drivers", "/"),
            (driver_title, f"/#{driver}"),
            (version, address.of_version(f"{driver}/{version}")),
            (f"unit {unit}", address.of_unit(unit_id)),
        ],
        name=f"Parameters of {driver_title} {version}, unit {unit}",
        numbers=[
            (symbol, *_big_and_small(rows[symbol]))
            for symbol in ("Re", "fs", "Qts", "Mms", "Bl", "Vas")
            if symbol in rows
        ],
        missing=found.missing,
        verdicts=sorted(verdicts, key=lambda v: -v.severity),
        shown=None if run is None else _shown(run),
    )


def _big_and_small(text: str) -> tuple[str, str]:
    """A value in words, cut behind the number: what stands large, and its interval and unit."""
    number, sign, rest = text.partition(f"{THIN}±")
    return (number, sign.strip() + rest) if sign else tuple(text.partition(THIN)[::2])  # type: ignore[return-value]


def _shown(run: FittedRun) -> dict[str, Any]:
    """The run in view, in words."""
    record = run.record
    about = [run_words(run), "" if run.when is None else moment(run.when)]
    about += [format_stated(record.drive_v, "V")] if record.drive_v is not None else []
    about += [run.curve.source] if run.curve is not None and run.curve.source else []
    return {
        "name": run.name,
        "about": ", ".join(filter(None, about)),
        "note": record.note,
        "left_out": record.leave_out,
        "verdicts": sorted(run.verdicts, key=lambda v: -v.severity),
    }


def _curves(found: UnitParameters, run: FittedRun) -> None:
    if run.fit is None:
        return
    fit = run.fit

    @lru_cache(maxsize=4)
    def made(look: str, width_px: int) -> dict[str, Any]:
        return fit_charts(fit, theme=theme(look), width_px=width_px)

    @lru_cache(maxsize=4)
    def pairs(look: str, width_px: int) -> dict[str, Any]:
        return pair_charts(found, theme=theme(look), width_px=width_px)

    with el("section", cls="block", aria_label="Impedance and fit"):
        with el("div", cls="charts main"):
            for key in made("light", 640):
                _place(made, key)
        there = list(pairs("light", 640))
        if there:
            el("h2", "How sure the pairs are")
            el("p", "Each ellipse holds both values together with 95 %. Ellipses of repeats that do not meet show more than noise: "
               "a suspension that warmed up, another level, another day.", cls="quiet prose")  # fmt: skip
            with el("div", cls="charts pairs"):
                for key in there:
                    _place(pairs, key)


def _place(charts: Charts, key: str) -> None:
    def make(look: Theme, width_px: int) -> dict[str, Any]:
        return charts(look.name, width_px)[key]  # type: ignore[no-any-return]

    with el("figure"):
        Chart(make).mark(f"chart-{key}")


def _tables(found: UnitParameters, run: FittedRun | None) -> None:
    runs = fit_rows(found)
    show(
        "parameters_tables.html",
        parameters=parameter_rows(found),
        methods=method_rows(found),
        remarks=remark_lines(found),
        runs=runs,
        links=[address.of_parameters(found.unit_id, r.name) for r in found.runs],
        states=[_state(r) for r in found.runs],
        models=None if run is None else candidate_rows(run),
        shown="" if run is None else run.name,
    )


def _state(run: FittedRun) -> tuple[str, bool]:
    """The gravest word about a run, and whether it needs a look."""
    if run.record.leave_out:
        return f"Left out: {run.record.leave_out}", False
    grave = max(run.verdicts, key=lambda v: v.severity, default=None)
    if grave is None or grave.severity < Severity.CAUTION:
        return "Nothing speaks against it.", False
    return grave.text, True
