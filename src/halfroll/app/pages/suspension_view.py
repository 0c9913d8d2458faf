"""What the drawing of moving parts shows: alone with their dimensions, or in the motor; kept in the address."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from halfroll.app.dom import el
from halfroll.app.frame import telling

WITH_MOTOR = "motor"
"""The word in the address that asks for the motor: ``view=motor``."""

PLAIN = "dimensions"
"""The word that leaves dimensions out: ``hide=dimensions``."""


class SuspensionView:
    """The choices over the drawing."""

    def __init__(self, on_change: Callable[[], Any], *, motor: bool) -> None:
        asked = ui.context.client.request.query_params
        self.motor = motor and asked.get("view", "") == WITH_MOTOR
        self.dimensions = PLAIN not in asked.get("hide", "").split(",")
        self._on_change = on_change
        self._path = ui.context.client.request.url.path
        with el("div", cls="choices no-print", role="group", aria_label="What the drawing shows"):
            self._choice("show-dimensions", "dimensions", self.dimensions, self._show_dimensions)
            if motor:
                self._choice("show-motor", "in the motor", self.motor, self._show_motor)

    def _choice(self, mark: str, words: str, on: bool, choose: Callable[[bool], None]) -> None:
        with el("label", cls="choice"):
            box = el("input", type="checkbox", checked="" if on else None).mark(mark)
            box.on(
                "change",
                telling(lambda event: choose(bool(event.args))),
                js_handler="(event) => emit(event.target.checked)",
            )
            el("span", words)

    def _show_dimensions(self, on: bool) -> None:
        self.dimensions = on
        self._changed()

    def _show_motor(self, on: bool) -> None:
        self.motor = on
        self._changed()

    def _changed(self) -> None:
        asked = [] if self.dimensions else [f"hide={PLAIN}"]
        asked += [f"view={WITH_MOTOR}"] if self.motor else []
        ui.navigate.history.replace(self._path + ("?" + "&".join(asked) if asked else ""))
        self._on_change()
