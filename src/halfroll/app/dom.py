"""Plain HTML elements on a page: no widget set, so that the look and the keyboard are the browser's own."""

from __future__ import annotations

from typing import Any

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement


class Plain(TextElement):
    """One HTML element, with text and attributes."""

    def __init__(self, tag: str, text: str = "") -> None:
        super().__init__(tag=tag, text=text)

    def put(self, **attributes: Any) -> Plain:
        """Set attributes; a trailing underscore is dropped, inner ones become hyphens; None takes one away."""
        for name, value in attributes.items():
            key = name.rstrip("_").replace("_", "-")
            if value is None:
                self.props.pop(key, None)
            else:
                self.props[key] = value
        self.update()
        return self


def el(tag: str, text: str = "", *, cls: str = "", **attributes: Any) -> Plain:
    """An element ``<tag class=cls attributes>text</tag>``; use it in ``with`` to put others inside."""
    element = Plain(tag, text).put(**attributes)
    return element.classes(cls) if cls else element


def html(markup: str, *, tag: str = "div") -> ui.html:
    """Markup of our own making; whatever a person wrote in it has been escaped where it was put in."""
    return ui.html(markup, sanitize=False, tag=tag)
