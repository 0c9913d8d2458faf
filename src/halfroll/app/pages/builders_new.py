"""``/builders/new``: what a builder read, typed in, and the answer while it is typed."""

from __future__ import annotations

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.job import Job, work
from halfroll.app.pages.builders_answer import draw_answer
from halfroll.app.pages.builders_form import CheckForm, section
from halfroll.app.pages.builders_intake import PAGE
from halfroll.app.typed import said_at_field
from halfroll.builds.checks import Checked, Known, check_unit, known_of
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress, part
from halfroll.workshop import Workshop, clear_draft
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.builders import add_check, free_name

WAIT_S = 0.6
"""So long after the last keystroke it is worked out anew."""

WAITING = "The answer appears here as soon as something was read."


class NewCheck:
    """The form and its answer."""

    def __init__(self, workshop: Workshop, version_id: str) -> None:
        self.workshop = workshop
        self.form = CheckForm(workshop, version_id, self._later)
        self._known: Known | None = None
        self._job: Job | None = None
        self._asked = ""
        self._turn = 0

    def draw(self) -> None:
        """Put it on the page."""
        self.form.draw()
        with el("section", cls="block", aria_label="Answer", aria_live="polite"):
            self._fault = el("p", cls="alert", role="alert").mark("check-fault")
            self._panel = el("div")
            self._answer = el("div", cls="block").mark("answer")
            with self._answer:
                el("p", WAITING, cls="quiet")
        with section("Keep it"):
            with el("div", cls="fields"):
                self.form.add_name()
            with el("div", cls="actions"):
                button("Keep the check", self._keep, main=True).mark("keep-check")
                button("Empty the form", self._forget).mark("empty-check")
        if self.form.begun:
            self._later()

    def _later(self) -> None:
        """Work out anew once nothing more is typed for a moment."""
        self._turn += 1
        mine = self._turn
        if self._job is not None and self._asked != self.form.fields["version"].value:
            self._job.stop()  # what is being worked out is of another version

        async def when_quiet() -> None:
            if mine == self._turn and self._job is None:
                await self._work()

        with self._panel:
            ui.timer(WAIT_S, when_quiet, once=True)

    async def _work(self) -> None:
        """Work out an answer; once more when something was typed meanwhile."""
        mine = 0
        while mine != self._turn:
            mine = self._turn
            await self._work_once(mine)

    async def _work_once(self, mine: int) -> None:
        record = self._record()
        if record is None:
            return
        self._job, self._asked = Job("Looking for faults"), record.version
        try:
            with self._panel:
                found = await work(
                    "Looking for faults", lambda progress: self._find(record, progress), job=self._job
                )
        except CancelledError:
            if mine == self._turn:
                self._fault.text = "Stopped. Change a value to go on."
            return
        except InputError as fault:
            if mine == self._turn:
                self.form.say(fault)
                self._fault.text = self.form.fault
            return
        finally:
            self._job = None
        if mine == self._turn:
            self._answer.clear()
            with self._answer:
                draw_answer(found, whole=False)

    def _find(self, record: BuilderRecord, progress: Progress) -> Checked:
        new = self.form.new_recordings()
        distance = new["recording"].distance_cm if "recording" in new else None
        self._known = known_of(
            self.workshop, record, part(progress, 0.0, 0.8), self._known, distance_cm=distance
        )
        return check_unit(self.workshop, record, new, part(progress, 0.8, 1.0), known=self._known)

    def _record(self) -> BuilderRecord | None:
        """What the form says; None where something is wrong or nothing was read yet, and the answer is taken off."""
        record = self.form.record()
        self._fault.text = self.form.fault
        if record is None:
            self._answer.clear()
            with self._answer:
                el("p", WAITING, cls="quiet")
        return record

    async def _keep(self) -> None:
        record = self._record()
        if record is None:
            self._fault.text = (
                self.form.fault
                or "Nothing was kept: something was not read yet, or a field above needs a look."
            )
            return
        name = self.form.fields["name"]
        wish = record.builder or record.version.replace("/", "-")
        try:
            loaded = add_check(
                self.workshop,
                name.value or free_name(self.workshop, wish),
                record,
                self.form.new_recordings(),
            )
        except InputError as fault:
            name.error(said_at_field(fault))
            return
        clear_draft(self.workshop, PAGE)
        ui.navigate.to(address.of_check(loaded.id))

    def _forget(self) -> None:
        clear_draft(self.workshop, PAGE)
        ui.navigate.to(address.of_new_check())
