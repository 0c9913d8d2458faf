"""``/suspension/<driver>/<version>``: what moves, what holds it, and what becomes of both over the travel."""

from __future__ import annotations

import time

from nicegui import run, ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.pages.design_keep import DesignKeep
from halfroll.app.pages.suspension_fields import SuspensionFields
from halfroll.app.pages.suspension_index import index_page
from halfroll.app.pages.suspension_models import ModelsToPrint
from halfroll.app.pages.suspension_results import SuspensionResults
from halfroll.app.pages.suspension_solving import SuspensionSolving
from halfroll.app.pages.suspension_start import choose_parts
from halfroll.app.pages.suspension_view import SuspensionView
from halfroll.app.solver import solver
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_handles import handles
from halfroll.app.suspension_section import around, section, words
from halfroll.app.suspension_start import former_mm
from halfroll.app.suspension_tables import Suspended
from halfroll.app.view import show
from halfroll.publish.profile_drawing import profile_svg
from halfroll.publish.theme import Theme
from halfroll.suspension.results import PartResult
from halfroll.workshop import Workshop
from halfroll.workshop.suspension_report import SuspensionReport

FAULT_AFTER_S = 0.6
"""A fault is said when nothing was typed for so long."""

ONE_STEP_S = 2.0
"""What is typed into one field with shorter breaks than this is one step to be undone."""

NOTHING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 40" data-px-per-mm="1" data-axis="0" data-zero="0" data-view="0 0 0 0"/>'


def register(workshop: Workshop) -> None:
    """Add the pages."""

    @frame.page("/suspension", workshop_name=lambda: workshop.name)
    def all_suspensions() -> None:
        index_page(workshop)

    @frame.page("/suspension/{driver}/{version}", workshop_name=lambda: workshop.name)
    def suspension_page(driver: str, version: str) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        name = workshop.driver(driver).record.title
        title = f"{name} {version}"
        frame.title(f"Suspension of {title}")
        draft = SuspensionDraft(workshop, version_id)
        show(
            "suspension_head.html",
            steps=[("Drivers", "/"), (name, f"/#{driver}"), (version, address.of_version(version_id))],
            name=f"Suspension of {title}",
            empty=draft.empty,
            former="" if draft.record.coil is None else f"{former_mm(draft.record):g}",
            design=address.of_design(version_id),
            version=address.of_version(version_id),
        )
        if draft.empty:
            choose_parts(draft)
        else:
            SuspensionPage(workshop, draft, title)


class SuspensionPage:
    """The page of moving parts: one draft, its drawing, its fields, and the results last computed."""

    def __init__(self, workshop: Workshop, draft: SuspensionDraft, title: str) -> None:
        self.workshop, self.draft, self.title = workshop, draft, title
        self._later: ui.timer | None = None
        self._typing = ("", 0.0)
        self.motor = around(draft.record, draft.catalogue)
        self.head = DesignKeep(draft, self.after_parts, address.of_suspension)
        with el("div", cls="design"):
            with el("section", cls="design-drawing", aria_label="Half-section"):
                self.view = SuspensionView(self._redraw, motor=self.motor.assembly is not None)
                self.drawing = Drawing(self._svg, "", self._moved).mark("drawing")
                self.fault = el("div", cls="alert", role="alert").mark("design-fault")
                self.results = SuspensionResults(title, self._again)
            with el("section", cls="design-side no-print", aria_label="Dimensions"):
                self.fields = SuspensionFields(draft, self._typed, self.after_parts)
        self.panel = self.results.panel
        self.solving = SuspensionSolving(workshop, draft, self)
        self.results.below()
        self.models = ModelsToPrint(draft)
        self.results.last()
        with self.panel:
            ui.timer(0.05, self._open, once=True)
        self._refresh()

    async def _open(self) -> None:
        """Once the page stands: start the solver."""
        await run.io_bound(solver().warm)
        self._schedule(at_once=True)

    # What changes the draft.

    def _typed(self, key: str, text: str) -> None:
        before, at = self._typing
        self._typing = (key, time.monotonic())
        self.draft.put(key, text, remember=key != before or time.monotonic() - at > ONE_STEP_S)
        if key.rpartition(".")[2] in ("family", "shape"):
            self.fields.build()
        self._refresh(but=key)

    def _moved(self, key: str, value: float, first: bool, done: bool) -> None:
        self.draft.put(key, f"{value:g}", remember=first)
        self._refresh()

    def after_parts(self) -> None:
        """After parts came or went, or all was replaced."""
        if self.draft.empty:
            ui.navigate.to(address.of_suspension(self.draft.version_id))
            return
        self.fields.build()
        self._refresh()

    # What follows from it.

    def _refresh(self, but: str = "") -> None:
        self.fields.refresh(but)
        self.head.refresh()
        self._redraw()
        if self._later is not None:
            self._later.cancel()
        if but and self.draft.errors:  # half a number is no fault yet
            with self.results.panel:
                self._later = ui.timer(FAULT_AFTER_S, self._say_faults, once=True)
        else:
            self._say_faults()
        self._schedule()

    def _say_faults(self) -> None:
        self.fields.say()
        self.fault.clear()
        faults = list(self.draft.errors.values())
        with self.fault:
            for text in faults:
                el("p", text)
            if faults and self.draft.built is not None:
                el("p", "The drawing shows the last state that could be built.", cls="quiet small")

    def _redraw(self) -> None:
        built = self.draft.built
        if built is not None:
            self.drawing.renew(words(built.design, self.title), handles(built.design))

    def _svg(self, look: Theme, width_px: int) -> str:
        built = self.draft.built
        if built is None:
            return NOTHING
        if self.view.motor:
            return section(built.design, self.motor, theme=look, width_px=width_px, name=self.title)
        return profile_svg(
            built.design, theme=look, width_px=width_px, name=self.title, dimensions=self.view.dimensions
        )

    def _schedule(self, at_once: bool = False) -> None:
        """Have the present parts computed; what is shown is of earlier dimensions until then."""
        self.results.failed("")
        self.results.earlier(self.results.shown is not None)
        self.models.earlier()
        self.solving.schedule(at_once=at_once)

    def _again(self) -> None:
        self._schedule(at_once=True)

    # What the computation tells.

    def bent(self, built: Suspended, part: PartResult) -> None:
        """One part bent."""
        self.results.part(built, part)

    def together(self, built: Suspended, report: SuspensionReport) -> None:
        """What the parts do together."""
        self.results.together(built, report)

    def broken_up(self, built: Suspended, report: SuspensionReport) -> None:
        """Where the diaphragm stops moving as one piece."""
        self.results.broken_up(built, report)

    def found(self, built: Suspended, report: SuspensionReport) -> None:
        """The whole answer."""
        self.results.found(built, report)
        with self.models.panel:
            ui.timer(0.01, self.models.again, once=True)

    def compare_with(self, report: SuspensionReport) -> None:
        """What the saved parts give."""
        built = self.draft.built
        if built is not None:
            self.results.compare_with(report, built)

    def failed(self, words: str) -> None:
        """No answer; what was shown stays, pale."""
        self.results.failed(words)
