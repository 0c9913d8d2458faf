"""Moving parts through their travel on a page: pictures in one drawing, a slider, and a button to play and pause."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfroll.app.drawing import Make, Picture
from halfroll.app.frame import telling


class Motion(Picture, component="static/motion.js"):
    """A drawing of frames (``g.frame`` with ``data-x`` in mm), one of them shown.

    Parameters
    ----------
    make
        Makes the SVG for a look and a width (px).
    words
        What it shows, in words.
    on_chosen
        Told the displacement (mm) that was chosen with the slider or at which it was paused.
    start_mm
        The displacement (mm) shown first.
    """

    def __init__(
        self, make: Make, words: str, on_chosen: Callable[[float], Any] | None = None, start_mm: float = 0.0
    ) -> None:
        super().__init__(make, words)
        self._props["start"] = start_mm
        if on_chosen is not None:
            self.on("chosen", telling(lambda event: on_chosen(float(event.args["x"]))))

    def renew(self, make: Make, words: str) -> None:
        """Draw other parts; the displacement in view stays."""
        self.make, self.words = make, words
        self.again()
