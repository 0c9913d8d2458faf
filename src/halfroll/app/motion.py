"""Moving parts through their travel on a page: pictures in one drawing, a slider, and a button to play and pause."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from halfroll.app.drawing import NARROWEST_PX, WIDEST_PX, Make
from halfroll.app.frame import telling
from halfroll.publish.theme import theme


class Motion(ui.element, component="static/motion.js"):
    """A drawing of frames (``g.frame`` with ``data-x`` in mm), one of them shown.

    Parameters
    ----------
    make
        Makes the SVG for a look and a width (px).
    words
        What it shows, in words.
    on_chosen
        Told the displacement (mm) that was chosen with the slider or at which it was paused.
    """

    def __init__(self, make: Make, words: str, on_chosen: Callable[[float], Any] | None = None) -> None:
        super().__init__()
        self.make, self.words = make, words
        self.svg = ""
        self._asked: GenericEventArguments | None = None
        self.on("measure", self._measured)
        if on_chosen is not None:
            self.on("chosen", telling(lambda event: on_chosen(float(event.args["x"]))))

    def renew(self, make: Make, words: str) -> None:
        """Draw other parts; the displacement in view stays."""
        self.make, self.words = make, words
        if self._asked is not None:
            self._measured(self._asked)

    def _measured(self, event: GenericEventArguments) -> None:
        self._asked = event
        width = min(max(int(event.args["width"]), NARROWEST_PX), WIDEST_PX)
        self.svg = self.make(theme("dark" if event.args["dark"] else "light"), width)
        self.run_method("draw", self.svg)

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), self.words]
