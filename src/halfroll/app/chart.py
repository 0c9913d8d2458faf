"""A curve one can point at: a chart specification drawn in the page by the served chart library.

The page asks for the specification once it knows its own width and look, and again when either changes, so that a
phone, a wide window and a dark page each get the drawing made for them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from halfroll.app.assets import charts_url
from halfroll.publish.render import EMBED_OPTIONS
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import Theme, theme

Spec = dict[str, Any]
Make = Callable[[Theme, int], Spec]

NARROWEST_PX, WIDEST_PX = 280, 1400
_FIRST_PX = 640
"""Width for which the text alternative is computed before the page has said its own."""


class Chart(ui.element, component="static/chart.js"):
    """A drawn chart.

    Parameters
    ----------
    make
        Makes the specification for a look and a width (px).
    """

    def __init__(self, make: Make) -> None:
        super().__init__()
        self.make = make
        self.summary = chart_summary(make(theme("light"), _FIRST_PX))
        self.spec: Spec | None = None
        self._asked: GenericEventArguments | None = None
        self.classes("chart")
        self.props.update({
            "library": charts_url(), "options": EMBED_OPTIONS, "label": self.summary,
        })  # fmt: skip
        self.on("measure", self._draw)

    def renew(self, make: Make) -> None:
        """Draw another curve in the same place, without a flicker."""
        self.make = make
        self.summary = chart_summary(make(theme("light"), _FIRST_PX))
        self.props["label"] = self.summary
        if self._asked is not None:
            self._draw(self._asked)

    def _draw(self, event: GenericEventArguments) -> None:
        self._asked = event
        width = min(max(int(event.args["width"]), NARROWEST_PX), WIDEST_PX)
        look = "dark" if event.args["dark"] else "light"
        self.spec = self.make(theme(look), width)
        self.run_method("draw", self.spec)

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), self.summary]
