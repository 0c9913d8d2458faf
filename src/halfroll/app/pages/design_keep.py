"""Keeping a design: saved into its version, as a new version, taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.design_draft import DesignDraft
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import Errors, new_name

UNSAVED = "Changed and not saved; what you change is kept as a draft."
SAVED = "As saved."


class DesignKeep:
    """The line over the drawing: what is saved, and the buttons."""

    def __init__(self, draft: DesignDraft, on_replaced: Callable[[], Any]) -> None:
        self.draft, self._replaced = draft, on_replaced
        with el("section", cls="design-keep no-print", aria_label="Keeping the design"):
            with el("div", cls="actions"):
                self.save = button("Save", self._save, main=True).mark("save-design")
                self.undo = button("Undo", self._undo).mark("undo")
                self.revert = button("Back to what is saved", self._revert).mark("revert")
                self.state = el("span", cls="quiet", role="status").mark("design-state")
            with el("details"):
                el("summary", "Save as a new version")
                with el("div", cls="fields"):
                    self.name = Field("new-version", "Its name", hint="its parent will be this version")
                with el("div", cls="actions"):
                    button("Make the new version", self._save_as).mark("save-as")

    def refresh(self) -> None:
        """Say how the draft stands."""
        changed = self.draft.changed
        self.state.text = UNSAVED if changed else SAVED
        _enabled(self.save, changed and not self.draft.errors)
        _enabled(self.undo, self.draft.can_undo)
        _enabled(self.revert, changed)

    def _save(self) -> None:
        self.draft.save()
        self._replaced()
        frame.say("The design is saved.")

    def _undo(self) -> None:
        self.draft.undo()
        self._replaced()

    def _revert(self) -> None:
        self.draft.revert()
        self._replaced()

    def _save_as(self) -> None:
        driver = self.draft.version_id.split("/")[0]
        taken = [one.rpartition("/")[2] for one in self.draft.workshop.version_ids(driver)]
        errors: Errors = {}
        name = new_name(self.name.value, "version", "new-version", taken, errors)
        self.name.error(errors.get("new-version", ""))
        if not errors:
            ui.navigate.to(address.of_design(self.draft.save_as(name)))


def _enabled(element: Any, on: bool) -> None:
    element.put(disabled=None if on else "")
