"""``/tones/<driver>/<version>/<unit>/<name>``: what steady tones say, level by level."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from fastapi import Request
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.pages.words import moment, space
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import format_stated, format_value
from halfroll.measure.analysis.distortion import Distortion, ThdReference
from halfroll.measure.stepped.tone_results import ToneResults
from halfroll.publish.theme import Theme, theme
from halfroll.publish.tones import tone_charts
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.levels import tone_results
from halfroll.workshop.runs import load_run
from halfroll.workshop.tones_record import TonesRecord

REFERENCES: dict[ThdReference, str] = {"total": "the total pressure", "fundamental": "the fundamental"}


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/tones/{driver}/{version}/{unit}/{name}", workshop_name=lambda: workshop.name)
    async def tones_page(driver: str, version: str, unit: str, name: str, request: Request) -> None:
        unit_id = f"{driver}/{version}/{unit}"
        frame.need(workshop, unit_id, "unit")
        loaded = need_run(workshop, f"{unit_id}/tones/{name}")
        title = workshop.driver(driver).record.title
        frame.title(f"Tones {name} of {title} {version}, unit {unit}")
        results = await work("Analysing the tones", lambda progress: tone_results(workshop, loaded.id))
        _head(unit_id, title, loaded, results)
        _curves(workshop, results, request.query_params.get("at", ""))
        _foot(workshop, loaded, results)
        _leave_out(workshop, loaded)


def need_run(workshop: Workshop, run_id: str) -> Loaded[Any]:
    """A run from an address; one that is not there is said as a page that is not there."""
    try:
        return load_run(workshop, run_id)
    except InputError as error:
        if error.message.startswith("There is no run"):
            raise frame.NotHereError(error.message, allowed=error.allowed) from error
        raise


def steps_of(unit_id: str, driver_title: str) -> list[tuple[str, str]]:
    """The way to a unit."""
    driver, version, unit = unit_id.split("/")
    return [
        ("Drivers", "/"),
        (driver_title, f"/#{driver}"),
        (version, address.of_version(f"{driver}/{version}")),
        (f"unit {unit}", address.of_unit(unit_id)),
    ]


def _head(unit_id: str, title: str, loaded: Loaded[TonesRecord], results: ToneResults) -> None:
    record = loaded.record
    frequencies = sorted({tone.nominal_hz for tone in results.tones})
    levels = sorted({tone.level_v for tone in results.tones})
    rated = results.conditions.rated_impedance_ohm
    show(
        "tones_head.html",
        steps=steps_of(unit_id, title),
        name=f"Tones {loaded.id.rpartition('/')[2]}",
        line=". ".join(filter(None, (moment(record.when), record.note))),
        standing=f"Left out of the figures: {record.leave_out}" if record.leave_out else "",
        numbers=[
            ("Tones", str(len(results.tones))),
            ("From", format_stated(frequencies[0], "Hz")),
            ("To", format_stated(frequencies[-1], "Hz")),
            ("Levels", str(len(levels))),
            ("Lowest", drive(levels[0], rated)),
            ("Highest", drive(levels[-1], rated)),
        ],
        ended=record.ended,
        verdicts=sorted([*results.verdicts, *loaded.notes], key=lambda v: -v.severity),
        levels=f"/levels/{unit_id}",
    )


def drive(level_v: float, rated_ohm: float | None) -> str:
    """A drive as power into the rated impedance, or as voltage where that is not stated."""
    if rated_ohm is None:
        return format_value(level_v, None, "V")
    return format_stated(float(f"{level_v**2 / rated_ohm:.2g}"), "W")


def _curves(workshop: Workshop, results: ToneResults, at: str) -> None:
    reference = workshop.settings.thd_reference
    levels = sorted({tone.level_v for tone in results.tones})
    rated = results.conditions.rated_impedance_ohm
    chosen = int(at) if at.isdigit() and int(at) < len(levels) else len(levels) - 1

    @lru_cache(maxsize=2)
    def drawn(look: str, width_px: int) -> dict[str, Any]:
        return tone_charts(
            results, theme=theme(look), width_px=width_px, reference=reference, level_v=levels[chosen]
        )

    def maker(key: str) -> Callable[[Theme, int], dict[str, Any]]:
        return lambda look, width_px: drawn(look.name, width_px)[key]

    with el("section", cls="block", aria_label="Curves"):
        el("h2", "Curves")
        with el("p", cls="no-print quiet"):
            el("span", "Harmonics at ")
            for number, level in enumerate(levels):
                el("span", " · ") if number else None
                link = el("a", drive(level, rated), href=f"?at={number}")
                if number == chosen:
                    link.put(aria_current="true").classes("here")
        with el("div", cls="charts halves"):
            for key in drawn("light", 640):
                with el("figure"):
                    Chart(maker(key)).mark(f"chart-{key}")


def _foot(workshop: Workshop, loaded: Loaded[TonesRecord], results: ToneResults) -> None:
    record = loaded.record
    reference = workshop.settings.thd_reference
    levels = sorted({tone.level_v for tone in results.tones})
    distortion = results.distortion(reference)
    rows = [
        (format_stated(f, "Hz"), [_cell(results, distortion, f, level) for level in levels])
        for f in sorted({tone.nominal_hz for tone in results.tones})
    ]
    audio = ", ".join(f"{one.file}: " + ", ".join(one.roles) for one in record.audio)
    show(
        "tones_foot.html",
        reference=REFERENCES[reference],
        heads=[drive(level, results.conditions.rated_impedance_ohm) for level in levels],
        rows=rows,
        conditions=[
            ("Distance", format_stated(record.distance_m, "m")),
            ("Space", space(record.space)),
            ("Air", "" if record.temperature_c is None else format_stated(record.temperature_c, "degC")),
            ("Limit", format_stated(float(f"{record.limit_v:.3g}"), "V")),
            ("Averaged", f"{results.seconds.min():.2f} to {results.seconds.max():.2f} s a tone"),
            ("Rig", record.rig),
            ("Recording", audio),
            ("Record", str(loaded.path.relative_to(workshop.folder))),
        ],
    )


def _cell(results: ToneResults, distortion: Distortion, nominal_hz: float, level_v: float) -> str:
    for i, tone in enumerate(results.tones):
        if not tone.closing and (tone.nominal_hz, tone.level_v) == (nominal_hz, level_v):
            value = 100 * float(distortion.thd[i])
            if value != value:
                return "–"
            return ("≤ " if distortion.is_bound[i] else "") + format_value(value, None, "%")
    return "–"


def _leave_out(workshop: Workshop, loaded: Loaded[Any]) -> None:
    """Whether the series counts; saved only if nobody changed its record since the page was opened."""

    def save(text: str) -> None:
        workshop.save(loaded, loaded.record.changed(leave_out=text))
        ui.navigate.reload()

    with el("section", cls="block no-print"):
        el("h2", "Counting it")
        if loaded.record.leave_out:
            el("p", f"Left out: {loaded.record.leave_out}")
            with el("div", cls="actions"):
                button("Take it in again", lambda: save("")).mark("take-in")
            return
        reason = Field("reason", "Reason to leave it out of the figures",
                       hint="Can be undone. The recording stays; the reason stands beside the figures.")  # fmt: skip

        def leave_out() -> None:
            if not reason.value:
                reason.error("Say why, in a few words.")
                reason.focus()
                return
            save(reason.value)

        with el("div", cls="actions"):
            button("Leave it out", leave_out).mark("leave-out")
