"""``/join/<driver>/<version>/<unit>``: bass of the near field and treble of the far field as one response, seen while it is chosen."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from fastapi import Request
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el, html
from halfroll.app.field import Field, button
from halfroll.app.front import front_drawing
from halfroll.app.job import work
from halfroll.app.pages.join_form import JoinForm
from halfroll.app.pages.join_saved import saved_list
from halfroll.app.pages.words import moment
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.text import format_value, join_words
from halfroll.figures.readings import read_take
from halfroll.figures.rules import RULES
from halfroll.measure.joining.join_types import Joined
from halfroll.publish.join import join_charts, recipe_words
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop, joined, paths
from halfroll.workshop.joined_record import JoinedRecord
from halfroll.workshop.runs import free_name, load_run, run_ids

WAIT_S = 0.4
"""So long after the last keystroke the response is joined anew."""

CHARTS = ("join", "mismatch", "baffle")


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/join/{driver}/{version}/{unit}", workshop_name=lambda: workshop.name)
    async def join_page(driver: str, version: str, unit: str, request: Request) -> None:
        unit_id = frame.need(workshop, f"{driver}/{version}/{unit}", "unit")
        title = workshop.driver(driver).record.title
        frame.title(f"Near and far field of {title} {version}, unit {unit}")
        name = request.query_params.get("run", "") or _newest(workshop, unit_id)
        record = _saved(workshop, unit_id, name) if name else None
        _head(unit_id, title, name, record)
        await _Bench(workshop, unit_id, record).show()
        await saved_list(workshop, unit_id)


def _newest(workshop: Workshop, unit_id: str) -> str:
    """The saved response that is in view when the address names none: the newest that counts, else the newest; "" without any."""
    saved = [(run_id, load_run(workshop, run_id).record) for run_id in run_ids(workshop, unit_id, "joined")]
    if not saved:
        return ""
    run_id, _ = max(saved, key=lambda one: (not one[1].leave_out, one[1].when.isoformat()))
    return run_id.rpartition("/")[2]


def _saved(workshop: Workshop, unit_id: str, name: str) -> JoinedRecord:
    there = [run_id.rpartition("/")[2] for run_id in run_ids(workshop, unit_id, "joined")]
    if name not in there:
        raise frame.NotHereError(f"There is no joined response {name} of this unit", found=name,
                                 allowed=there or "it has none yet")  # fmt: skip
    record: JoinedRecord = load_run(workshop, f"{unit_id}/joined/{name}").record
    return record


def _head(unit_id: str, driver_title: str, name: str, record: JoinedRecord | None) -> None:
    driver, version, unit = unit_id.split("/")
    show(
        "join_head.html",
        steps=[
            ("Drivers", "/"),
            (driver_title, f"/#{driver}"),
            (version, address.of_version(f"{driver}/{version}")),
            (f"unit {unit}", address.of_unit(unit_id)),
        ],
        name=f"Near and far field of {driver_title} {version}, unit {unit}",
        shown=name,
        line="" if record is None else ". ".join(filter(None, (moment(record.when), record.note))),
        left_out="" if record is None else record.leave_out,
    )


class _Bench:
    """Form, drawing and curves of one recipe; whatever is changed is seen at once."""

    def __init__(self, workshop: Workshop, unit_id: str, record: JoinedRecord | None) -> None:
        self._workshop, self._unit_id = workshop, unit_id
        self._form = JoinForm(workshop, unit_id, record, self._later)
        self._round = 0
        self._charts: dict[str, Chart] = {}
        self._figures: dict[str, Any] = {}
        self._recipe: JoinedRecord | None = None

    async def show(self) -> None:
        """Put it on the page, joined once."""
        if not self._form.possible:
            show("join_empty.html", near=bool(self._form.near), far=bool(self._form.far))
            return
        with el("section", cls="block no-print"):
            el("h2", "Takes, overlap and front")
            with el("div", cls="hero"):
                with el("div", cls="block"):
                    self._form.draw()
                self._drawing = el("figure", cls="front")
        self._said = el("div", cls="block", aria_live="polite").mark("join-said")
        with el("section", cls="block", aria_label="Curves"):
            self._curves = el("div", cls="charts main")
        self._foot = el("div", cls="block")
        self._save()
        await self._join()

    def _later(self) -> None:
        """Join anew once nothing more is typed for a moment."""
        self._round += 1
        mine = self._round

        async def when_quiet() -> None:
            if mine == self._round:
                await self._join()

        ui.timer(WAIT_S, frame.telling(when_quiet), once=True)

    async def _join(self) -> None:
        mine = self._round
        record = self._form.record()
        self._draw_front(record)
        if record is None:
            self._refuse()
            return
        try:
            with self._said:
                found, readings = await work("Joining", lambda progress: self._compute(record, progress))
        except CancelledError:
            raise
        except InputError as fault:
            if fault.place.key == "baffle" and record.baffle is None:
                self._want_front()
            else:
                self._refuse("" if self._form.fault(fault) else str(fault))
            return
        if mine == self._round:  # nothing was changed meanwhile
            self._recipe = record
            self._tell(found, readings)

    def _compute(self, record: JoinedRecord, progress: Any) -> tuple[Joined, dict[str, Any]]:
        found = joined.compute(self._workshop, self._unit_id, record, progress)
        version = self._workshop.version(paths.version_of(self._unit_id)).record
        return found, read_take(found.response, self._workshop.settings, version.rated_power_w)

    def _draw_front(self, record: JoinedRecord | None) -> None:
        self._drawing.clear()
        if record is not None and record.baffle is not None:
            with self._drawing:
                html(front_drawing(record.baffle.baffle(), self._form.radius_m()))
                el("figcaption", "To scale, cm. The circle is the effective diameter.", cls="quiet small")

    def _refuse(self, text: str = "") -> None:
        """Nothing is joined; what is wrong stands beside its field, or is said here."""
        self._nothing_new()
        with self._said:
            if text:
                el("p", text, cls="alert", role="alert")
            else:
                el("p", "What is marked above keeps near and far field from being joined.", cls="standing")
            self._of_before()

    def _want_front(self) -> None:
        """Nothing is wrong yet: the far take saw a front, and its size is still to be typed."""
        self._nothing_new()
        with self._said:
            with el("p", cls="standing"):
                el("strong", "One thing is still wanted: the front of the cabinet.")
            el("p", "A near field tells of half space, the far take was made elsewhere. Between the two lie up to 6\u202fdB in the bass, "
               "which the size of the front decides. Type its width and height and the driver's place in it above; the curves "
               "follow at once.", cls="prose")  # fmt: skip
            self._of_before()

    def _nothing_new(self) -> None:
        self._recipe = None
        self._said.clear()

    def _of_before(self) -> None:
        if self._charts:
            el("p", "The curves below are those of the last choice that could be joined.", cls="quiet small")

    def _tell(self, found: Joined, readings: dict[str, Any]) -> None:
        verdicts = sorted(found.response.verdicts, key=lambda v: -v.severity)
        self._said.clear()
        with self._said:
            show(
                "join_said.html", recipe=recipe_words(found), verdicts=verdicts, usable=found.response.usable
            )
        self._draw(found)
        self._foot.clear()
        with self._foot:
            show(
                "join_figures.html",
                readings=list(_rows(readings)),
                lacking=_not_given(readings),
                usable=found.response.usable,
            )

    def _draw(self, found: Joined) -> None:
        @lru_cache(maxsize=4)
        def made(look: str, width_px: int) -> dict[str, Any]:
            return join_charts(found, theme=theme(look), width_px=width_px)

        def maker(key: str) -> Callable[[Theme, int], dict[str, Any]]:
            return lambda look, width_px: made(look.name, width_px)[key]

        there = [key for key in CHARTS if key in made("light", 640)]
        if there == list(self._charts):
            for key, chart in self._charts.items():
                chart.renew(maker(key))
            return
        self._curves.clear()
        self._charts = {}
        with self._curves:
            for key in there:
                with el("figure"):
                    self._charts[key] = Chart(maker(key)).mark(f"chart-{key}")

    def _save(self) -> None:
        with el("section", cls="block no-print"):
            el("h2", "Keep it")
            el(
                "p",
                "Only the recipe is kept. A joined response that counts stands for the takes it was made of.",
                cls="quiet small",
            )
            with el("div", cls="fields"):
                name = Field("name", "Name", value="near-and-far")
                note = Field("note", "Note")

            def keep() -> None:
                if self._recipe is None:
                    raise InputError("There is nothing to keep yet", remedy="Mend what is marked above first")
                plain = paths.slug(name.value)
                name.error("" if plain else "A name is wanted, such as near-and-far.")
                if not plain:
                    name.focus()
                    return
                free = free_name(self._workshop, self._unit_id, "joined", plain)
                joined.save(self._workshop, self._unit_id, free, self._recipe.changed(note=note.value))
                ui.navigate.to(address.of_join(self._unit_id, free))

            with el("div", cls="actions"):
                button("Save the joined response", keep, main=True).mark("save-join")


def _rows(readings: dict[str, Any]) -> Any:
    """Label, text and remark of the figures that a joined response gives."""
    for rule in RULES:
        reading = readings.get(rule.key)
        if reading is not None and reading.value is not None:
            sign = {"upper": "≤ ", "lower": "≥ "}.get(reading.bound or "", "")
            yield (
                rule.label,
                sign + format_value(reading.value, reading.u, rule.unit),
                " ".join(reading.cautions),
            )


def _not_given(readings: dict[str, Any]) -> list[str]:
    """Which figures it does not give, gathered by the reason."""
    reasons: dict[str, list[str]] = {}
    for rule in RULES:
        reading = readings.get(rule.key)
        if reading is not None and reading.value is None and reading.missing:
            reasons.setdefault(reading.missing, []).append(rule.label)
    return [f"{join_words(labels)}: {reason}" for reason, labels in reasons.items()]
