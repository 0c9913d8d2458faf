"""The half-section on a page: drawn for its width and look, with handles for its dimensions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from halfroll.app.frame import telling
from halfroll.publish.theme import Theme, theme

NARROWEST_PX, WIDEST_PX = 280, 1100

Make = Callable[[Theme, int], str]


@dataclass(frozen=True, kw_only=True)
class Handle:
    """A dimension that is moved in the drawing.

    Parameters
    ----------
    key, label, value, unit
        Dotted key of the record, words, and the present value in the unit.
    r, z
        Where the handle stands, in mm.
    axis
        ``r`` or ``z``: which way it moves.
    factor
        Change of the value per mm of movement outwards or up.
    least, most, grain
        Limits of the value and its steps.
    """

    key: str
    label: str
    value: float
    unit: str
    r: float
    z: float
    axis: str
    factor: float
    least: float
    most: float
    grain: float = 0.05


LARGEST_MM = 1000.0


def length_handle(
    key: str, label: str, value: float, r: float, z: float, axis: str, factor: float, least: float, most: float = LARGEST_MM
) -> Handle:  # fmt: skip
    """The handle of a length (mm); see `Handle`."""
    return Handle(
        key=key, label=label, value=round(value, 3), unit="mm", r=r, z=z, axis=axis, factor=factor, least=least, most=most
    )  # fmt: skip


class Picture(ui.element):
    """A picture made by the server for the width and look of the page, anew when either changes.

    Parameters
    ----------
    make
        Makes the SVG for a look and a width (px).
    words
        What it shows, in words.
    """

    def __init__(self, make: Make, words: str) -> None:
        super().__init__()
        self.make, self.words = make, words
        self.svg = ""
        self._asked: GenericEventArguments | None = None
        self.on("measure", self._measured)

    def beside(self) -> tuple[Any, ...]:
        """What the browser is given beside the SVG."""
        return ()

    def again(self) -> None:
        """Draw again, once the page has said its width and look."""
        if self._asked is not None:
            self._measured(self._asked)

    def _measured(self, event: GenericEventArguments) -> None:
        self._asked = event
        width = min(max(int(event.args["width"]), NARROWEST_PX), WIDEST_PX)
        self.svg = self.make(theme("dark" if event.args["dark"] else "light"), width)
        self.run_method("draw", self.svg, *self.beside())

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), self.words]


class Drawing(Picture, component="static/drawing.js"):
    """A drawing to scale with handles, made anew for every change; see `Picture`.

    Parameters
    ----------
    on_moved
        Told key, value, whether the movement begins and whether it has ended, when a handle moved.
    """

    def __init__(
        self, make: Make, words: str, on_moved: Callable[[str, float, bool, bool], Any] | None = None
    ) -> None:
        super().__init__(make, words)
        self.handles: list[Handle] = []
        if on_moved is not None:
            self.on("moved", telling(lambda event: on_moved(
                str(event.args["key"]), float(event.args["value"]), bool(event.args.get("first")), bool(event.args["done"]))))  # fmt: skip

    def renew(self, words: str, handles: list[Handle]) -> None:
        """Draw again."""
        self.words, self.handles = words, handles
        self.again()

    def beside(self) -> tuple[Any, ...]:
        """See `Picture.beside`."""
        return ([asdict(handle) for handle in self.handles],)
