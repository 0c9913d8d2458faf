"""``/unit/new``: a built copy, and its version and driver if these are new too, so that it can be measured."""

from __future__ import annotations

from nicegui import ui

from halfroll.app import address, frame, taking
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.pages.import_draft import Draft
from halfroll.app.pages.import_fields import Fields
from halfroll.app.taking import NEW
from halfroll.app.view import show
from halfroll.workshop import Workshop


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/unit/new", workshop_name=lambda: workshop.name)
    def new_unit_page() -> None:
        frame.title("A new unit")
        show("unit_new.html")
        draft = Draft(workshop, dict(ui.context.client.request.query_params))
        draft.typed["unit"] = NEW
        _form(draft)


def _form(draft: Draft) -> None:
    fields = Fields(draft)

    def make() -> None:
        checked = taking.check_subject(draft.workshop, draft.typed)
        fields.say(checked.errors)
        if checked.errors:
            return
        try:
            taking.make_subject(draft.workshop, checked.plan, draft.typed)
        finally:
            draft.keep()  # what was made is chosen now
        draft.forget_new()
        ui.navigate.to(address.of_unit(checked.plan.unit_id))

    with el("section", cls="block"):
        fields.subject()
        with el("div", cls="actions"):
            button("Make it", make, main=True).mark("make-unit")
