"""``/design/<driver>/<version>``: what if? The half-section with live dimensions, its field, and what follows from both."""

from __future__ import annotations

from typing import Any

from nicegui import run, ui

from halfroll.app import address, frame
from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_handles import handles
from halfroll.app.design_tables import Built
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.pages.design_fields import DesignFields
from halfroll.app.pages.design_index import index_page
from halfroll.app.pages.design_keep import DesignKeep
from halfroll.app.pages.design_measured import measured_bl
from halfroll.app.pages.design_more import DesignMore
from halfroll.app.pages.design_results import DesignResults
from halfroll.app.pages.design_solving import Solving
from halfroll.app.pages.design_stack import AddPart
from halfroll.app.pages.design_start import choose_start
from halfroll.app.pages.design_view import DesignView
from halfroll.app.pages.design_warm import WarmMagnets
from halfroll.app.pages.draft_page import NOTHING, DraftPage
from halfroll.app.solver import solver
from halfroll.app.view import show
from halfroll.core.progress import Progress
from halfroll.motor.results import MotorResult
from halfroll.publish.section import section_svg, section_words
from halfroll.publish.theme import Theme
from halfroll.publish.version_drawing import moving_parts
from halfroll.suspension.design import MovingDesign
from halfroll.workshop import Workshop
from halfroll.workshop.motor_report import MotorReport
from halfroll.workshop.motor_studies import Want
from halfroll.workshop.virtual_takes import foreseen


def register(workshop: Workshop) -> None:
    """Add the pages."""

    @frame.page("/design", workshop_name=lambda: workshop.name)
    def all_designs() -> None:
        index_page(workshop)

    @frame.page("/design/{driver}/{version}", workshop_name=lambda: workshop.name)
    def design_page(driver: str, version: str) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        title = f"{workshop.driver(driver).record.title} {version}"
        frame.title(f"Design of {title}")
        draft = DesignDraft(workshop, version_id)
        steps = [
            ("Drivers", "/"),
            (workshop.driver(driver).record.title, f"/#{driver}"),
            (version, address.of_version(version_id)),
        ]
        pages = address.pages_of(version_id, "design", whole=foreseen(workshop.version(version_id).record))
        show("design_head.html", steps=steps, name=f"Design of {title}", empty=draft.empty, pages=pages)
        if draft.empty:
            choose_start(draft)
        else:
            DesignPage(workshop, draft, title)


class DesignPage(DraftPage):
    """The page of a design: one draft, its drawing, its fields, and the results last computed."""

    rebuilding = ("part", "shape", "material")
    draft: DesignDraft

    def __init__(self, workshop: Workshop, draft: DesignDraft, title: str) -> None:
        super().__init__()
        self.workshop, self.draft, self.title = workshop, draft, title
        self.solved: tuple[Built, MotorResult] | None = None
        self.report: MotorReport | None = None
        self.head = DesignKeep(draft, self.after_parts)
        with el("div", cls="design"):
            with el("section", cls="design-drawing", aria_label="Half-section"):
                self.moving = moving_parts(workshop, draft.version_id, draft.record, draft.catalogue)
                self.view = DesignView(self.redraw, moving=self.moving is not None)
                self.drawing = Drawing(self._svg, "", self.moved).mark("drawing")
                self.fault = el("div", cls="alert", role="alert").mark("design-fault")
                self.results = DesignResults(self._use_offset, self.again)
            with el("section", cls="design-side no-print", aria_label="Dimensions"):
                self.fields = DesignFields(draft, self.typed, self.after_parts)
                AddPart(draft, self.after_parts)
        self.panel = self.results.panel
        self.solving = Solving(workshop, draft, self)
        self.results.below()
        self.warm = WarmMagnets(self.solving.at_temperature)
        self.more = DesignMore(self, draft)
        with self.panel:
            ui.timer(0.05, self._open, once=True)
        self.refresh()

    async def _open(self) -> None:
        """Once the page stands: start the solver, and read what was measured."""
        self.schedule(at_once=True)
        await run.io_bound(solver().warm)
        self.results.measured = await run.io_bound(measured_bl, self.workshop, self.draft.version_id)
        if self.results.measured is not None and self.solving.done and self.report is not None:
            self.results.show(self.report)

    # What changes the draft.

    def typed(self, key: str, text: str) -> None:
        """Something was typed into the field of a key, or a name."""
        if key.startswith("rename "):
            self.draft.rename(int(key.split()[1]), text)
            self.refresh(but=f"motor.parts[{int(key.split()[1]) + 1}].name")
            return
        super().typed(key, text)

    def _use_offset(self, offset_mm: float) -> None:
        self.draft.put("coil.offset_mm", f"{offset_mm:g}")
        self.refresh()

    # What follows from it.

    def own_address(self) -> str:
        """See `DraftPage.own_address`."""
        return address.of_design(self.draft.version_id)

    def redraw(self) -> None:
        """See `DraftPage.redraw`."""
        built = self.draft.built
        if built is not None:
            motor = None if self.solved is None else self.solved[1]
            self.drawing.renew(
                section_words(built.assembly, motor, self.title, self._moving_shown()), handles(built)
            )

    def _svg(self, look: Theme, width_px: int) -> str:
        built = self.draft.built
        if built is None:
            return NOTHING
        solved = self.solved
        return section_svg(
            built.assembly, coil=built.coil, result=None if solved is None else solved[1], show=self.view.shown, theme=look,
            width_px=width_px, dimensions=self.view.dimensions, name=self.title, solved=None if solved is None else solved[0].assembly,
            detail=self.view.detail, moving=self._moving_shown(),
        )  # fmt: skip

    def _moving_shown(self) -> MovingDesign | None:
        return self.moving if self.view.moving and not self.view.detail else None

    def schedule(self, at_once: bool = False) -> None:
        """See `DraftPage.schedule`."""
        self.results.failed("")
        self.results.earlier(self.solved is not None)
        self.warm.earlier()
        self.more.earlier()
        self.solving.schedule(at_once=at_once)

    # What the computation tells.

    def sketched(self, built: Built, report: MotorReport) -> None:
        """A first answer: the field in the drawing, and the figures."""
        self._take(built, report)
        self.results.show_figures(report)

    def found(self, built: Built, report: MotorReport) -> None:
        """The whole answer."""
        self._take(built, report)
        self.results.show(report)
        self.results.earlier(False)
        with self.warm.panel:
            ui.timer(0.01, lambda: self.warm.show(built, report), once=True)

    def compare_with(self, report: MotorReport) -> None:
        """What the saved design gives."""
        self.results.compare_with(report)

    def failed(self, words: str) -> None:
        """No answer; what was shown stays, pale."""
        self.results.failed(words)

    def without_field(self, report: MotorReport) -> None:
        """What is known of the coil, where no field was ever computed."""
        if self.solved is None:
            self.results.show_coil(report)

    def _take(self, built: Built, report: MotorReport) -> None:
        assert report.solved.motor is not None
        self.solved, self.report = (built, report.solved.motor), report
        self.redraw()

    def study(self, want: Want, built: Built, progress: Progress) -> Any:
        """One study of a design in the solver's process; runs in a thread."""
        return self.solving.study(want, built, progress)
