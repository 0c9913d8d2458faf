"""``/import``: bring a recording into the workshop. What is typed is kept as a draft until it is a take."""

from __future__ import annotations

from nicegui import ui

from halfroll.app import address, frame, intake, taking
from halfroll.app.dom import Plain, el
from halfroll.app.field import button
from halfroll.app.job import work
from halfroll.app.pages.import_draft import Draft, Recordings
from halfroll.app.pages.import_fields import Fields
from halfroll.app.typed import Errors
from halfroll.app.view import show
from halfroll.core.errors import HalfrollError
from halfroll.core.text import count
from halfroll.workshop import Workshop


def register(workshop: Workshop) -> None:
    """Add the page and the route files are sent to."""
    intake.register(workshop)

    @frame.page("/import", workshop_name=lambda: workshop.name)
    def import_page() -> None:
        frame.title("Add a take")
        show("import_head.html")
        Form(Draft(workshop, dict(ui.context.client.request.query_params)))


class Form:
    """The whole form, put on the page."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.fields = Fields(draft)
        with el("form", cls="stack", novalidate="") as form:
            form.on("submit", lambda: None, js_handler="(event) => event.preventDefault()")
            with _section("The recording"):
                self.recordings = Recordings(draft)
            with _section("What was measured"):
                self.fields.subject()
            with _section("How it was measured"):
                self.fields.setup()
            with _section("The sweep that was played"):
                self.recordings.sweep_fields = self.fields.sweep()
            with el("section", cls="block"):
                self.summary = el("div", role="alert", cls="alert")
                self.panel = el("div")
                with el("div", cls="actions") as self.actions:
                    button("Add the take", self._add, main=True).mark("add")

    async def _add(self) -> None:
        checked = taking.check_typed(self.draft.workshop, self.draft.typed, self.draft.files)
        self._say(checked.errors)
        if checked.errors:
            return
        workshop, typed = self.draft.workshop, self.draft.typed
        self.actions.set_visibility(False)
        try:
            with self.panel:
                takes = await work(
                    "Adding the take", lambda progress: taking.make(workshop, checked.plan, typed, progress)
                )
        except HalfrollError as error:
            self.draft.keep()  # what was made on the way is chosen now
            self.actions.set_visibility(True)
            with self.summary:
                el("p", str(error))
            return
        self.draft.forget()
        version_id = "/".join(takes[0].split("/")[:2])
        ui.navigate.to(address.of_take(takes[0]) if len(takes) == 1 else address.of_version(version_id))

    def _say(self, errors: Errors) -> None:
        """Say each error at its place, and those without one at the end."""
        placed = self.fields.say(errors) | self.recordings.say(errors)
        self.summary.clear()
        if not errors:
            return
        with self.summary:
            need = "needs" if len(errors) == 1 else "need"
            el("p", f"Nothing was added: {count(len(errors), 'field')} above {need} a look.")
            for key in errors.keys() - placed:
                el("p", f"{key}: {errors[key]}")


def _section(title: str) -> Plain:
    with el("section", cls="block") as box:
        el("h2", title)
    return box
