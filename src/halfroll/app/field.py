"""Form fields: a native control with its name above, a hint and its own error below."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from halfroll.app.dom import Plain, el
from halfroll.app.frame import telling

Choices = Sequence[tuple[str, str]]


class Control(ui.element, component="static/control.js"):
    """A native ``input``, ``select`` or ``textarea`` whose value the server knows at every keystroke."""

    def __init__(self, tag: str, value: str, *, choices: Choices = (), **attributes: Any) -> None:
        super().__init__()
        self.value = value
        self.props.update({"tag": tag, "initial": value, "choices": [list(choice) for choice in choices]})
        self.props.update(
            {key.rstrip("_").replace("_", "-"): v for key, v in attributes.items() if v is not None}
        )
        self.on("entered", self._entered)

    def _entered(self, event: GenericEventArguments) -> None:
        self.value = event.args

    def set(self, value: str) -> None:
        """Change the value from here."""
        self.value = value
        self.props["initial"] = value
        self.run_method("set", value)

    def choose(self, choices: Choices, value: str) -> None:
        """Offer other choices, with one of them chosen."""
        self.props["choices"] = [list(choice) for choice in choices]
        self.set(value)

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), self.value]


class Field:
    """A control with its label, hint and error.

    Parameters
    ----------
    key
        Name of the value; also the marker under which tests find the control.
    label, hint
        Words above and below.
    tag, kind
        Element and, for an input, its type.
    value
        Where it starts.
    choices
        (value, words) of a ``select``.
    on_change
        Told the field after every change.
    """

    def __init__(
        self, key: str, label: str, *, tag: str = "input", kind: str = "text", value: str = "", hint: str = "",
        choices: Choices = (), on_change: Callable[[Field], Any] | None = None, **attributes: Any,
    ) -> None:  # fmt: skip
        self.key = key
        with el("div", cls="field") as self.box:
            caption = el("label", label)
            self.control = Control(tag, value, choices=choices, name=key,
                                   type_=kind if tag == "input" else None, **attributes).mark(key)  # fmt: skip
            notes = [el("p", hint, cls="hint")] if hint else []
            self._error: Plain = el("p", cls="error", aria_live="polite").mark(f"{key}-error")
        caption.put(for_=self.control.html_id)
        self.control.props["aria-describedby"] = " ".join(n.html_id for n in [*notes, self._error])
        if on_change is not None:
            self.control.on("entered", telling(lambda: on_change(self)))

    @property
    def value(self) -> str:
        """What stands in the field, without blanks around it."""
        return self.control.value.strip()

    def set(self, value: str) -> None:
        """Change what stands in the field."""
        self.control.set(value)

    def error(self, text: str) -> None:
        """Say what is wrong with the field; empty text when nothing is."""
        self._error.text = text
        if text:
            self.control.props["aria-invalid"] = "true"
        else:
            self.control.props.pop("aria-invalid", None)

    def show(self, visible: bool) -> None:
        """Show or hide the whole field."""
        self.box.set_visibility(visible)

    def focus(self) -> None:
        """Put the cursor into the field."""
        self.control.run_method("focus")


def button(label: str, handler: Callable[..., Any], *, main: bool = False, cls: str = "") -> Plain:
    """A button; faults of its handler are said on the page."""
    made = el("button", label, cls=f"main {cls}" if main else cls, type="button")
    made.on("click", telling(handler))
    return made
