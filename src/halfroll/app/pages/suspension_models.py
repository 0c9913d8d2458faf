"""Models to print: on their build plate, with what was found of them, filament, files of the saved version."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from halfroll.app.dom import Plain, el
from halfroll.app.field import button
from halfroll.app.job import Job, work
from halfroll.app.preview import downloads, preview
from halfroll.app.solver import solver
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_tables import Suspended
from halfroll.app.suspension_task import Models, models_for
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, HalfrollError
from halfroll.core.progress import Progress
from halfroll.core.verdicts import Severity
from halfroll.publish.printing.listing import model_rows
from halfroll.suspension.models.checks import PRINT_CAUTIONS
from halfroll.suspension.models.model import Model

NOT_SAVED = "Files are made of what is saved: save the version to take them away."


class ModelsToPrint:
    """The section; made again when the answer to a change is there, for whoever has opened it once."""

    def __init__(self, draft: SuspensionDraft) -> None:
        self.draft = draft
        self._job: Job | None = None
        self._of: Suspended | None = None
        self._coarse: Sequence[Model] = ()
        with el("section", cls="block", aria_labelledby="models") as self.section:
            el("h2", "Models to print", id="models")
            el(
                "p",
                "Closed solids in the position they are printed in, checked for walls, overhangs and the build volume.",
                cls="quiet prose",
            )
            self.panel = el("div", cls="no-print panel")
            self.fault = el("p", cls="alert", role="alert").mark("models-fault")
            with el("div", cls="actions no-print") as self._ask:
                button("Make the models", self._make).mark("make-models")
            self._box: Plain = el("div", cls="block")
            self._files: Plain = el("div", cls="block")

    @property
    def asked(self) -> bool:
        """Whether models were wanted on this page."""
        return self._of is not None

    def earlier(self) -> None:
        """What is shown is of earlier dimensions; what is being made is given up."""
        if self._job is not None:
            self._job.stop()
        self._job = None
        if self.asked:
            self._box.classes("earlier")

    async def again(self) -> None:
        """Make them again where they were asked for and are of earlier dimensions."""
        self._offer()
        if self.asked and self.draft.built is not None and self._of != self.draft.built:
            await self._make()

    async def _make(self) -> None:
        built = self.draft.built
        if built is None or self.draft.errors:
            return
        self._job = job = Job("Making the models")
        try:
            with self.panel:
                found = await work(job.what, partial(self._models, built), job=job)
        except CancelledError:
            return
        except HalfrollError as fault:
            self.fault.text = str(fault)
            return
        if job is self._job:
            self.fault.text = ""
            self._of = built
            self._ask.set_visibility(False)
            self._show(found)

    def _models(self, built: Suspended, progress: Progress) -> Models:
        found: Models = solver().run(
            models_for, self.draft.workshop.folder, self.draft.version_id, built.design, progress=progress
        )
        return found

    def _show(self, found: Models) -> None:
        self._box.classes(remove="earlier")
        self._box.clear()
        with self._box:
            with el("div", cls="two"):
                preview(found.coarse)
                with el("div", cls="block"):
                    said = [
                        verdict
                        for one in found.checked
                        for verdict in one.verdicts
                        if verdict.severity > Severity.GOOD
                    ]
                    show(
                        "design_said.html",
                        verdicts=sorted(
                            {v.text: v for v in (*said, PRINT_CAUTIONS)}.values(), key=lambda v: -v.severity
                        ),
                    )
            show("suspension_table.html", table=model_rows(found.checked))
        self._coarse = found.coarse
        self._offer()

    def _offer(self) -> None:
        """The files, where what is shown is what is saved."""
        if not self.asked:
            return
        self._files.clear()
        with self._files:
            if self.draft.changed:
                el("p", NOT_SAVED, cls="quiet no-print")
            else:
                downloads(self._coarse, self.draft.version_id)
