"""What the results of a draft share: how they stand to the dimensions in the form, why there are none, and charts drawn anew in their places."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import Any

from halfroll.app.chart import Chart
from halfroll.app.dom import Plain, el
from halfroll.app.field import button
from halfroll.publish.theme import Theme

EARLIER = "These results are of the earlier dimensions; the new ones are not computed yet."

Draw = Callable[[Theme, int], dict[str, Any]]


class DraftResults(ABC):
    """The parts of a page under its drawing."""

    def __init__(self, again: Callable[[], Any]) -> None:
        self.mark = el("p", cls="earlier-note", role="status").mark("earlier")
        with el("div", cls="fault-and-again"):
            self.fault = el("p", cls="alert", role="alert").mark("solver-fault")
            with el("div", cls="actions no-print") as self._again:
                button("Compute it again", again).mark("compute-again")
        self._again.set_visibility(False)
        self.panel = el("div", cls="no-print panel")
        self.numbers = el("div")
        self.said = el("div")
        self.charts: dict[str, Chart] = {}

    @property
    @abstractmethod
    def boxes(self) -> tuple[Plain, ...]:
        """All that grows pale when it is of earlier dimensions."""

    def earlier(self, is_earlier: bool) -> None:
        """Mark what is shown as of earlier dimensions, or no longer."""
        self.mark.text = EARLIER if is_earlier else ""
        for box in self.boxes:
            pale(box, is_earlier)

    def failed(self, words: str) -> None:
        """Say why there is no answer, with a way to ask again; no words when there is nothing to say."""
        self.fault.text = words
        self._again.set_visibility(bool(words))

    def renew(self, box: Plain, draws: dict[str, Draw]) -> None:
        """Draw charts in their places, which are made where they are new."""
        for key, draw in draws.items():
            if key in self.charts:
                self.charts[key].renew(draw)
                continue
            with box, el("figure"):
                self.charts[key] = Chart(draw).mark(f"chart-{key}")


def pale(box: Plain, is_pale: bool) -> None:
    """Show a box as of earlier dimensions, or no longer."""
    box.classes("earlier") if is_pale else box.classes(remove="earlier")
