"""``/suspension/<driver>/<version>``: what moves, what holds it, and what becomes of both over the travel."""

from __future__ import annotations

from nicegui import run, ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.pages.design_keep import DesignKeep
from halfroll.app.pages.draft_page import NOTHING, DraftPage
from halfroll.app.pages.suspension_fields import SuspensionFields, at_its_field
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
from halfroll.workshop.virtual_takes import foreseen

COMING = "Resonance, stiffness and symmetry are being computed; they will stand here."


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
            pages=address.pages_of(
                version_id, "suspension", whole=foreseen(workshop.version(version_id).record)
            ),
        )
        if draft.empty:
            choose_parts(draft)
        else:
            SuspensionPage(workshop, draft, title)


class SuspensionPage(DraftPage):
    """The page of moving parts: one draft, its drawing, its fields, and the results last computed."""

    rebuilding = ("family", "shape")
    draft: SuspensionDraft

    def __init__(self, workshop: Workshop, draft: SuspensionDraft, title: str) -> None:
        super().__init__()
        self.workshop, self.draft, self.title = workshop, draft, title
        self.motor = around(draft.record, draft.catalogue)
        self.head = DesignKeep(draft, self.after_parts, address.of_suspension)
        with el("div", cls="design"):
            with el("section", cls="design-drawing", aria_label="Half-section"):
                lead = el("p", COMING, cls="lead prose", role="status").mark("lead")
                self.view = SuspensionView(self.redraw, motor=self.motor.assembly is not None)
                self.drawing = Drawing(self._svg, "", self.moved).mark("drawing")
                self.fault = el("div", cls="alert", role="alert").mark("design-fault")
                self.results = SuspensionResults(title, self.again, lead)
            with el("section", cls="design-side no-print", aria_label="Dimensions"):
                self.fields = SuspensionFields(draft, self.typed, self.after_parts)
        self.panel = self.results.panel
        self.solving = SuspensionSolving(workshop, draft, self)
        self.results.below()
        self.models = ModelsToPrint(draft)
        self.results.last()
        with self.panel:
            ui.timer(0.05, self._open, once=True)
        self.refresh()

    async def _open(self) -> None:
        """Once the page stands: start the solver."""
        await run.io_bound(solver().warm)
        self.schedule(at_once=True)

    # What follows from the draft.

    def own_address(self) -> str:
        """See `DraftPage.own_address`."""
        return address.of_suspension(self.draft.version_id)

    def named(self, key: str, text: str) -> str:
        """See `DraftPage.named`."""
        return at_its_field(key, text)

    def redraw(self) -> None:
        """See `DraftPage.redraw`."""
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

    def schedule(self, at_once: bool = False) -> None:
        """See `DraftPage.schedule`."""
        self.results.failed("")
        self.results.earlier(self.results.shown is not None)
        self.models.earlier()
        self.solving.schedule(at_once=at_once)

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
