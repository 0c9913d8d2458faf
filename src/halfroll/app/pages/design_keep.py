"""Keeping a design: saved into its version, as a new version, taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.draft import Draft
from halfroll.app.field import Field, button
from halfroll.app.typed import Errors, new_name
from halfroll.core.errors import ConflictError

UNSAVED = "Changed and not saved; what you change is kept as a draft."
SAVED = "As saved."

CONFLICT = (
    "Nothing was written. Go back to what is saved to see it, which can be undone, or save this design over the one that stands there; "
    "whatever else the record says stays. Or save it as a new version."
)


class DesignKeep:
    """The line over the drawing: what is saved, and the buttons."""

    def __init__(
        self, draft: Draft, on_replaced: Callable[[], Any], page_of: Callable[[str], str] = address.of_design
    ) -> None:
        self.draft, self._replaced, self._page_of = draft, on_replaced, page_of
        with el("section", cls="design-keep no-print", aria_label="Keeping the design"):
            with el("div", cls="actions"):
                self.save = button("Save", self._save, main=True).mark("save-design")
                self.undo = button("Undo", self._undo).mark("undo")
                self.revert = button("Back to what is saved", self._revert).mark("revert")
                self.state = el("span", cls="quiet", role="status").mark("design-state")
            with el("div", cls="block") as self.conflict:
                self.conflict_words = el("p", cls="alert prose", role="alert").mark("conflict")
                with el("div", cls="actions"):
                    button("Save this design over it", self._save_over).mark("save-over")
            self.conflict.set_visibility(False)
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
        try:
            self.draft.save()
        except ConflictError as fault:
            self._say_conflict(f"{fault.message}. {CONFLICT}")
            return
        self._saved()

    def _save_over(self) -> None:
        self.draft.save(over=True)
        self._saved()

    def _saved(self) -> None:
        self._say_conflict("")
        self._replaced()
        frame.say("The design is saved.")

    def _say_conflict(self, words: str) -> None:
        self.conflict_words.text = words
        self.conflict.set_visibility(bool(words))

    def _undo(self) -> None:
        self.draft.undo()
        self._replaced()

    def _revert(self) -> None:
        self.draft.revert()
        self._say_conflict("")
        self._replaced()

    def _save_as(self) -> None:
        driver = self.draft.version_id.split("/")[0]
        taken = [one.rpartition("/")[2] for one in self.draft.workshop.version_ids(driver)]
        errors: Errors = {}
        name = new_name(self.name.value, "version", "new-version", taken, errors)
        self.name.error(errors.get("new-version", ""))
        if not errors:
            ui.navigate.to(self._page_of(self.draft.save_as(name)))


def _enabled(element: Any, on: bool) -> None:
    element.put(disabled=None if on else "")
