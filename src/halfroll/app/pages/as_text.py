"""The part of a comparison's page that gives it as text to paste, with a button that copies it."""

from __future__ import annotations

import datetime as dt
from functools import partial

from nicegui import ui

from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.compare.types import Comparison
from halfroll.core.progress import Progress
from halfroll.publish.as_text import comparison_text
from halfroll.workshop import Workshop
from halfroll.workshop.marks import keep_marks

FORMS = {"markdown": "Markdown", "plain": "plain text"}


class AsText:
    """Two buttons that make the text, the text itself to look at and select, and one that copies it."""

    def __init__(self, workshop: Workshop, found: Comparison) -> None:
        self._workshop, self._found = workshop, found
        with el("details", cls="no-print"):
            el("summary", "Findings and figures as text to paste")
            el(
                "p",
                "Every number gets a mark that leads back to the takes and settings behind it.",
                cls="hint small",
            )
            with el("div", cls="actions spaced"):
                for form, name in FORMS.items():
                    button(f"Write as {name}", partial(self._write, form)).mark(f"text-{form}")
            with el("div") as self._box:
                self._field = Field(
                    "as-text", "Text", tag="textarea", rows="14", readonly="", spellcheck="false"
                )
                with el("div", cls="actions spaced"):
                    self._copy = el("button", "Copy the text", type="button", cls="main").mark("copy-text")
                    self._said = el("p", "", cls="small", role="status")
            self._copy.on(
                "click",
                js_handler=f"() => window.halfrollCopy('{self._field.control.html_id}', '{self._said.html_id}')",
            )
            self._box.set_visibility(False)

    async def _write(self, form: str) -> None:
        def make(progress: Progress) -> str:
            progress(0.0, "keeping the marks")
            marks = keep_marks(self._workshop, self._found.columns, self._found.settings)
            today = dt.date.today().isoformat()
            return comparison_text(self._found, marks, form, source=self._workshop.name, date=today)

        text = await work("Writing", make)
        self._box.set_visibility(True)
        self._field.set(text)
        self._said.text = ""
        self._field.focus()
        ui.run_javascript(
            f"document.getElementById('{self._field.control.html_id}')?.setSelectionRange(0, 0)"
        )
