"""What the drawing of a design shows; kept in the address."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from halfroll.app.dom import el
from halfroll.app.frame import telling
from halfroll.publish.section import Shown

CHOICES: dict[str, tuple[str, Shown | None]] = {
    "field": ("field", "field"),
    "lines": ("flux lines", "flux lines"),
    "hatching": ("hatching", "hatching"),
    "dimensions": ("dimensions", None),
    "moving": ("moving parts", None),
}
"""Words and what they show, by the word in the address."""

DETAIL = "gap"
"""The word in the address that asks for the gap alone: ``view=gap``."""


class DesignView:
    """The choices over the drawing; `moving` tells that there are moving parts to show or hide."""

    def __init__(self, on_change: Callable[[], Any], moving: bool = False) -> None:
        hidden = ui.context.client.request.query_params.get("hide", "").split(",")
        self.on = {key: key not in hidden for key in CHOICES}
        self.detail = ui.context.client.request.query_params.get("view", "") == DETAIL
        self._on_change = on_change
        self._path = ui.context.client.request.url.path
        with el("div", cls="choices no-print", role="group", aria_label="What the drawing shows"):
            for key, (words, _) in CHOICES.items():
                if key == "moving" and not moving:
                    continue
                with el("label", cls="choice"):
                    box = el("input", type="checkbox", checked="" if self.on[key] else None).mark(
                        f"show-{key}"
                    )
                    box.on("change", telling(lambda event, key=key: self._set(key, bool(event.args))),
                           js_handler="(event) => emit(event.target.checked)")  # fmt: skip
                    el("span", words)
            with el("label", cls="choice"):
                box = el("input", type="checkbox", checked="" if self.detail else None).mark("show-gap")
                box.on(
                    "change",
                    telling(lambda event: self._enlarge(bool(event.args))),
                    js_handler="(event) => emit(event.target.checked)",
                )
                el("span", "gap enlarged")

    @property
    def shown(self) -> list[Shown]:
        """What is drawn besides outlines."""
        return [show for key, (_, show) in CHOICES.items() if show is not None and self.on[key]]

    @property
    def dimensions(self) -> bool:
        """Whether dimensions are drawn."""
        return self.on["dimensions"]

    @property
    def moving(self) -> bool:
        """Whether moving parts are drawn."""
        return self.on["moving"]

    def _set(self, key: str, on: bool) -> None:
        self.on[key] = on
        self._changed()

    def _enlarge(self, on: bool) -> None:
        self.detail = on
        self._changed()

    def _changed(self) -> None:
        hidden = ",".join(key for key, shown in self.on.items() if not shown)
        asked = [f"hide={hidden}"] if hidden else []
        asked += [f"view={DETAIL}"] if self.detail else []
        ui.navigate.history.replace(self._path + ("?" + "&".join(asked) if asked else ""))
        self._on_change()
