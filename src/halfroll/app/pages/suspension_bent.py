"""Pictures of bent parts: all in motion, and of each part its shapes over the travel and the strain at a chosen displacement."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from nicegui import ui

from halfroll.app.dom import Plain, el
from halfroll.app.drawing import Drawing
from halfroll.app.motion import Motion
from halfroll.app.suspension_tables import Suspended
from halfroll.publish.flexure import bent_arm_svg
from halfroll.publish.suspension_motion import motion_svg
from halfroll.publish.suspension_shapes import bent_svg, nearest, said_x
from halfroll.publish.suspension_strain import strain_svg
from halfroll.publish.theme import Theme
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.results import PartResult


class BentPictures:
    """The pictures, made once and drawn again; ``x=`` in the address keeps the chosen displacement (mm)."""

    def __init__(self, title: str) -> None:
        self._title = title
        self._built: Suspended | None = None
        self._parts: dict[str, PartResult] = {}
        self._drawings: dict[str, tuple[Drawing, Drawing, Plain]] = {}
        self._path = ui.context.client.request.url.path
        self.x_m = _asked_x(ui.context.client.request.query_params.get("x", ""))
        self._motion: Motion | None = None
        self._motion_box = el("figure").mark("motion")
        self._box = el("div", cls="bent-parts")

    def part(self, built: Suspended, part: PartResult) -> None:
        """Show one part; the others stay as they are."""
        self._built = built
        self._parts[part.name] = part
        self._show(part.name)

    def all(self, built: Suspended, parts: Sequence[PartResult]) -> None:
        """Show all parts there are, and take away those that are no more."""
        self._built = built
        self._parts = {part.name: part for part in parts}
        for name in [name for name in self._drawings if name not in self._parts]:
            self._drawings.pop(name)[2].delete()
        for name in self._parts:
            self._show(name)
        words = f"The moving parts of {self._title} through their travel"
        if self._motion is None:
            with self._motion_box:
                self._motion = Motion(self._moving, words, self._choose, 1e3 * (self.x_m or 0.0))
        else:
            self._motion.renew(self._moving, words)
        self._motion_box.set_visibility(bool(self._parts))

    def _moving(self, look: Theme, width: int) -> str:
        design = None if self._built is None else self._built.design
        return motion_svg(
            list(self._parts.values()), theme=look, width_px=width, design=design, name=self._title
        )

    def _show(self, name: str) -> None:
        if name not in self._drawings:
            with self._box, el("div", cls="charts halves") as row:
                with el("figure"):
                    el("h3", f"{name.capitalize()}: shapes over the travel")
                    bent = Drawing(partial(self._bent, name), "").mark(f"bent-{name}")
                with el("figure"):
                    el("h3", f"{name.capitalize()}: strain")
                    strained = Drawing(partial(self._strained, name), "").mark(f"strain-{name}")
            self._drawings[name] = (bent, strained, row)
        bent, strained, _ = self._drawings[name]
        bent.renew(f"{name} bent over its travel", [])
        strained.renew(self._strain_words(name), [])

    def _bent(self, name: str, look: Theme, width: int) -> str:
        return bent_svg(
            self._parts[name], theme=look, width_px=width, name=self._title, mark_m=self._at(name)
        )

    def _strained(self, name: str, look: Theme, width: int) -> str:
        built = self._built
        drawn = None if built is None else getattr(built.design, name)
        bears = None if drawn is None else drawn.material.fatigue_strain
        if isinstance(drawn, FlexureDesign):
            return bent_arm_svg(
                drawn,
                self._parts[name],
                self._at(name),
                theme=look,
                width_px=width,
                name=self._title,
                bears=bears,
            )
        return strain_svg(
            self._parts[name], self._at(name), theme=look, width_px=width, name=self._title, bears=bears
        )

    def _strain_words(self, name: str) -> str:
        shape = nearest(self._parts[name].shapes, self._at(name))
        return f"Strain of the {name}" + ("" if shape is None else f" at {said_x(shape.x_m)} mm")

    def _at(self, name: str) -> float:
        """The chosen displacement, or the outer end of the travel."""
        if self.x_m is not None:
            return self.x_m
        return max((shape.x_m for shape in self._parts[name].shapes), default=0.0)

    def _choose(self, x_mm: float) -> None:
        self.x_m = 1e-3 * x_mm
        ui.navigate.history.replace(f"{self._path}?x={x_mm:g}#bent")
        for name in self._drawings:
            self._show(name)


def _asked_x(text: str) -> float | None:
    """A displacement asked for in the address (m); None where none is or it is no number."""
    try:
        return 1e-3 * float(text)
    except ValueError:
        return None
