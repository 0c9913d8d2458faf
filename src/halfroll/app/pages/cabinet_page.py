"""``/cabinets/<id>``: one cabinet, its drawing, its fields, and what its driver does in it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from nicegui import run, ui

from halfroll.app import address
from halfroll.app.cabinet_draft import NEW, CabinetDraft
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.pages.cabinet_fields import CabinetFields
from halfroll.app.pages.cabinet_suggest import CabinetSuggest
from halfroll.app.typed import number_or_text, without_place
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, HalfrollError, InputError
from halfroll.driver.boxed_suggest import Suggestion
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.publish.cabinet import cabinet_charts
from halfroll.publish.cabinet_drawing import cabinet_svg, cabinet_words, drawn_inside
from halfroll.publish.cabinet_rows import cabinet_figures
from halfroll.publish.motor_figures import changes
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop
from halfroll.workshop.cabinet_report import CabinetReport, cabinet_report
from halfroll.workshop.cabinets import suggested_data, wall_m
from halfroll.workshop.prediction import SOURCES, Source, driver_model

NOTHING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 40" data-px-per-mm="1" data-axis="0" data-zero="0" data-view="0 0 0 0"/>'
WAIT_S = 0.15
NOTE = "After ±: half the 95 % interval, from what is not sure of the driver; small signals, half space, 1 m."
SOURCE_WORDS = (
    ("auto", "what is known best"),
    ("predicted", "predicted"),
    ("measured", "measured"),
    ("entered", "entered"),
)


class CabinetPage:
    """One draft with its drawing, fields and results."""

    def __init__(self, workshop: Workshop, draft: CabinetDraft) -> None:
        self.workshop, self.draft = workshop, draft
        self.report: CabinetReport | None = None
        self._models: dict[tuple[str, Source], PredictedDriver] = {}
        self._charts: dict[str, Chart] = {}
        self._later: ui.timer | None = None
        self._turn = 0
        self._asking: asyncio.Lock | None = None
        self._keep()
        with el("div", cls="design"):
            with el("section", cls="design-drawing", aria_label="Cabinet"):
                self.drawing = Drawing(self._svg, "").mark("drawing")
                self.below = el("p", cls="quiet small")
                self.fault = el("div", cls="alert", role="alert").mark("cabinet-fault")
                self.panel = el("div", cls="panel")
                self.numbers, self.said = (
                    el("div", cls="block").mark("figures"),
                    el("div", cls="block").mark("verdicts"),
                )
            with el("section", cls="design-side no-print", aria_label="Sizes"):
                self._ask_drive()
                self.fields = CabinetFields(draft, workshop.version_ids(), self.typed)
        self.curves = el("div", cls="charts halves").mark("curves")
        self.suggestions = CabinetSuggest(self._model, self._taken, self._take, self._litres())
        with self.panel:
            ui.timer(0.05, self._compute, once=True)
        self.refresh()

    # Head: saving.

    def _keep(self) -> None:
        new = self.draft.id == NEW
        with el("div", cls="design-keep no-print"):
            with el("div", cls="actions"):
                if not new:
                    self.save_button = button("Save", self._save, main=True).mark("save")
                self.undo_button = button("Undo", self._undo).mark("undo")
                self.name = Field(
                    "name",
                    "Save as a new cabinet" if not new else "Name of the cabinet",
                    hint="small letters, digits, hyphens",
                )
                button("Save as new" if not new else "Save", self._save_as, main=new).mark("save-as")
            self.kept = el("p", cls="quiet small", role="status").mark("kept")

    def _save(self) -> None:
        self.draft.save()
        self.kept.text = "Saved."
        self._standing()

    def _save_as(self) -> None:
        name = self.name.value
        if not name:
            self.name.error("The new cabinet needs a name.")
            return
        try:
            ui.navigate.to(address.of_cabinet(self.draft.save_as(name)))
        except InputError as fault:
            self.name.error(without_place(fault))

    def _undo(self) -> None:
        self.draft.undo()
        self.fields.build()
        self.refresh()

    def _standing(self) -> None:
        self.undo_button.put(disabled=None if self.draft.can_undo else "disabled")
        if self.draft.id != NEW:
            self.save_button.put(
                disabled=None if self.draft.changed and self.draft.record is not None else "disabled"
            )
        if self.draft.changed:
            self.kept.text = (
                "Not saved yet; what you typed is kept." if self.draft.id != NEW else "Not saved yet."
            )

    # What follows from the draft.

    def typed(self, key: str, text: str) -> None:
        """Something was typed into the field of a key."""
        self.draft.put(key, text)
        if key in self.fields.rebuilding:
            self.fields.build()
        self.refresh(but=key)

    def refresh(self, but: str = "") -> None:
        """Show the present state everywhere."""
        self.fields.refresh(but)
        self.fields.say()
        self._standing()
        self.fault.clear()
        with self.fault:
            for key, text in self.draft.errors.items():
                el("p", text if key in self.fields.fields else f"{key}: {text}" if key else text)
            if self.draft.errors and self.draft.built is not None:
                el("p", "The drawing shows the last state that could be built.", cls="quiet small")
        if self.draft.built is not None:
            cabinet, body = self.draft.built
            self.drawing.renew(cabinet_words(cabinet, body), [])
            self.below.text = " · ".join(
                ("Seen from above, the listener at the top; inside sizes in mm", *drawn_inside(cabinet))
            )
        self.schedule()

    def schedule(self) -> None:
        """Work it out when nothing was typed for a moment."""
        if self._later is not None:
            self._later.cancel()
        if self.draft.built is not None and not self.draft.errors:
            with self.panel:
                self._later = ui.timer(WAIT_S, self._compute, once=True)

    def _svg(self, look: Theme, width_px: int) -> str:
        if self.draft.built is None:
            return NOTHING
        cabinet, body = self.draft.built
        record = self.draft.record
        known = self._models.get(self._driver_key())
        return cabinet_svg(cabinet, body, wall_m=3e-3 if record is None else wall_m(record), cone_radius_m=None if known is None else known.model.radius,
                           theme=look, width_px=min(width_px, 620), name=self.draft.value("title") or self.draft.id)  # fmt: skip

    # The driver in it.

    def _ask_drive(self) -> None:
        with el("fieldset", cls="part-fields"):
            el("legend", "Played")
            with el("div", cls="fields tight"):
                self.volts = Field(
                    "volts",
                    "at V r.m.s.",
                    value="2.83",
                    hint="travel, air, level",
                    inputmode="decimal",
                    on_change=lambda _: self.schedule(),
                )
                self.source = Field(
                    "source",
                    "The driver as",
                    tag="select",
                    value="auto",
                    choices=SOURCE_WORDS,
                    on_change=lambda _: self.schedule(),
                )

    def _driver_key(self) -> tuple[str, Source]:
        source = next(one for one in SOURCES if one == self.source.value)
        return str(self.draft.value("driver") or ""), source

    async def _predicted(self) -> PredictedDriver | None:
        """The driver in it, worked out once; None for none."""
        self._asking = self._asking or asyncio.Lock()
        async with self._asking:
            version_id, source = key = self._driver_key()
            if not version_id:
                return None
            if key not in self._models:
                with self.panel:
                    self._models[key] = await work(
                        f"Working out {version_id}",
                        lambda progress: driver_model(self.workshop, version_id, source, progress),
                    )
            return self._models[key]

    async def _model(self) -> DriverModel | None:
        found = await self._predicted()
        return None if found is None else found.model

    def _taken(self) -> float:
        built = self.draft.built
        return 0.0 if built is None else built[0].taken_m3

    def _litres(self) -> float:
        built = self.draft.built
        return 2.0 if built is None else 1e3 * built[0].gross_m3

    def _take(self, one: Suggestion) -> None:
        data = suggested_data(one, None)
        data.pop("driver_l", None)
        self.draft.replace(data)
        self.fields.build()
        self.refresh()
        self.kept.text = "Taken: its volume and port. Choose the sizes of the inside next. Undo brings back what was there."

    # Results.

    async def _compute(self) -> None:
        self._turn = turn = self._turn + 1
        built, record = self.draft.built, self.draft.record
        if built is None or record is None:
            return
        volts = number_or_text(self.volts.value)
        self.volts.error("")
        try:
            if not isinstance(volts, int | float):
                raise InputError(
                    "The voltage must be a number above 0", key="volts", found=self.volts.value or "nothing"
                )
            if (
                self._driver_key()[0] and self._driver_key() not in self._models
            ):  # a first prediction takes seconds
                self._show(cabinet_report(built[0], None, used_to_hz=record.used_to_hz), waiting=True)
            driver = await self._predicted()
            if turn != self._turn:
                return
            report = await run.io_bound(
                cabinet_report,
                built[0],
                driver,
                self._driver_key()[0],
                volts=float(volts),
                used_to_hz=record.used_to_hz,
            )
        except CancelledError:
            return
        except HalfrollError as fault:
            if turn != self._turn or ui.context.client.is_deleted:
                return
            if isinstance(fault, InputError) and fault.place.key == "volts":
                self.volts.error(without_place(fault))
            else:
                self._failed(without_place(fault) if isinstance(fault, InputError) else str(fault))
            return
        if turn == self._turn and report is not None and not ui.context.client.is_deleted:
            self.report = report
            self._show(report)
            self.drawing.again()

    def _failed(self, words: str) -> None:
        self.fault.clear()
        with self.fault:
            el("p", words)

    def _show(self, report: CabinetReport, *, waiting: bool = False) -> None:
        for box in (self.numbers, self.said):
            box.clear()
        with self.numbers:
            without = "The driver is being worked out." if waiting else "No driver in it: choose one."
            show(
                "design_figures.html",
                changes=changes(cabinet_figures(report), ()),
                note=without if report.found is None else NOTE,
            )
            self._ways()
        with self.said:
            show("design_said.html", verdicts=sorted(report.verdicts, key=lambda one: -one.severity))
        self._draw(report)

    def _ways(self) -> None:
        """Where to go on: to the driver, to its prediction in this cabinet, to a second driver beside it."""
        version_id = self._driver_key()[0]
        if not version_id:
            return
        with el("nav", cls="ways no-print", aria_label="From here"):
            el("a", f"All about {version_id}", href=address.of_version(version_id))
            if self.draft.id != NEW:
                el(
                    "a",
                    "Distortion and limits in this cabinet, as saved",
                    href=address.of_predicted(version_id, cabinet=self.draft.id),
                )
            el("a", "Join it with a second driver", href="/crossovers")

    def _draw(self, report: CabinetReport) -> None:
        @lru_cache(maxsize=4)
        def made(look: str, width_px: int) -> dict[str, Any]:
            return cabinet_charts(report, theme=theme(look), width_px=width_px)

        def maker(key: str) -> Callable[[Theme, int], dict[str, Any]]:
            return lambda look, width_px: made(look.name, width_px)[key]

        names = list(made("light", 640))
        if names != list(self._charts):
            self.curves.clear()
            with self.curves:
                for key in names:
                    with el("figure"):
                        self._charts[key] = Chart(maker(key)).mark(f"chart-{key}")
            self._charts = {key: self._charts[key] for key in names}
        else:
            for key in names:
                self._charts[key].renew(maker(key))
