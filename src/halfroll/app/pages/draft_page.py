"""What the pages of a draft share: typed or dragged, the drawing and the faults follow at once, the results when they are computed."""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from typing import Any, ClassVar

from nicegui import ui

from halfroll.app.dom import Plain, el
from halfroll.app.draft import Draft
from halfroll.app.pages.design_keep import DesignKeep

FAULT_AFTER_S = 0.6
"""A fault is said when nothing was typed for so long."""

ONE_STEP_S = 2.0
"""What is typed into one field with shorter breaks than this is one step to be undone."""

NOTHING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 40" data-px-per-mm="1" data-axis="0" data-zero="0" data-view="0 0 0 0"/>'


class DraftPage(ABC):
    """A page over one draft, with its head, its fields, and the line that says what is wrong."""

    rebuilding: ClassVar[tuple[str, ...]] = ()
    """Fields after which there are others; last words of their keys."""

    draft: Draft
    head: DesignKeep
    fields: Any
    fault: Plain
    panel: Any

    def __init__(self) -> None:
        self._later: ui.timer | None = None
        self._typing = ("", 0.0)

    @abstractmethod
    def own_address(self) -> str:
        """Where the page is, for when all is gone and it begins anew."""

    @abstractmethod
    def redraw(self) -> None:
        """Draw the last state that could be built."""

    @abstractmethod
    def schedule(self, at_once: bool = False) -> None:
        """Have the present state computed; what is shown is of earlier dimensions until then."""

    def named(self, key: str, text: str) -> str:
        """A fault as it is said away from the field of its key."""
        return text

    def again(self) -> None:
        """Have it computed once more."""
        self.schedule(at_once=True)

    def typed(self, key: str, text: str) -> None:
        """Something was typed into the field of a key."""
        before, at = self._typing
        self._typing = (key, time.monotonic())
        self.draft.put(key, text, remember=key != before or time.monotonic() - at > ONE_STEP_S)
        if key.rpartition(".")[2] in self.rebuilding:
            self.fields.build()
        self.refresh(but=key)

    def moved(self, key: str, value: float, first: bool, done: bool) -> None:
        """A handle of the drawing was moved."""
        self.draft.put(key, f"{value:g}", remember=first)
        self.refresh()

    def after_parts(self) -> None:
        """After parts came, went or changed places, or all was replaced."""
        if self.draft.empty:
            ui.navigate.to(self.own_address())
            return
        self.fields.build()
        self.refresh()

    def refresh(self, but: str = "") -> None:
        """Show the present state everywhere, `but` in the field of a key that is being typed into."""
        self.fields.refresh(but)
        self.head.refresh()
        self.redraw()
        if self._later is not None:
            self._later.cancel()
        if but and self.draft.errors:  # half a number is no fault yet
            with self.panel:
                self._later = ui.timer(FAULT_AFTER_S, self._say_faults, once=True)
        else:
            self._say_faults()
        self.schedule()

    def _say_faults(self) -> None:
        self.fields.say()
        self.fault.clear()
        faults = list(dict.fromkeys(self.named(key, text) for key, text in self.draft.errors.items()))
        with self.fault:
            for text in faults:
                el("p", text)
            if faults and self.draft.built is not None:
                el("p", "The drawing shows the last state that could be built.", cls="quiet small")
