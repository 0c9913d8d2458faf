"""``/claims``: a written claim is held against the figures before anybody reads it."""

from __future__ import annotations

from fastapi import Request

from halfroll.app import frame
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.compare.claims.recipe import CheckedText, check_claims
from halfroll.compare.claims.types import Checked
from halfroll.core.text import count
from halfroll.workshop import Workshop

OUTCOMES = {
    "borne": ("good", "✓", "The figures bear it"),
    "not borne": ("bad", "✕", "The figures say otherwise"),
    "not shown": ("caution", "△", "Not shown"),
    "not read": ("note", "·", "Not read"),
}
"""Class, sign and words of an outcome."""

PATTERNS = (
    "v8 is more than an octave deeper than v1.",
    "v8 is about 3 dB more sensitive than v7.",
    "v8 has less than half the distortion of v1.",
    "v8 goes down to 52 Hz.",
    "v8 is deeper than any bought driver.",
)
"""Sentences of the kinds that can be read."""


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/claims", workshop_name=lambda: workshop.name)
    def claims_page(request: Request) -> None:
        frame.title("Claims")
        asked = request.query_params
        with el("div", cls="head prose"):
            el("h1", "May this be written?")
            el("p", "Write what you want to say of a version. Each sentence that claims something is held against the figures: it stands "
                    "when the whole 95 % interval lies where it says.")  # fmt: skip
        ids = workshop.version_ids()
        if not ids:
            with el("section", cls="block prose"):
                el("p", "There is no version yet that anything could be said of.")
                el("a", "To all drivers", href="/", cls="button")
            return
        _Form(workshop, ids, asked.get("version", ""), asked.get("text", ""))


class _Form:
    """The text, the version it speaks of, and the answers under it."""

    def __init__(self, workshop: Workshop, ids: list[str], version: str, text: str) -> None:
        self._workshop = workshop
        with el("section", cls="block prose", aria_label="The text"):
            choices = [("", "none: every sentence names its own"), *((id_, id_) for id_ in ids)]
            self._version = Field("version", "Version meant where a sentence names none", tag="select", choices=choices,
                                  value=version if version in ids else "")  # fmt: skip
            self._text = Field(
                "text",
                "Text",
                tag="textarea",
                rows="6",
                value=text,
                hint="Such as: It is more than 3 dB more sensitive than v7.",
            )
            with el("div", cls="actions"):
                button("Hold it against the figures", self._check, main=True).mark("check")
            with el("details"):
                el("summary", "What can be read")
                with el("ul", cls="plain"):
                    for one in PATTERNS:
                        el("li", one)
        self._answers: Plain = el("section", cls="block", aria_label="Answers", aria_live="polite").mark(
            "answers"
        )
        self._answers.set_visibility(False)

    async def _check(self) -> None:
        self._text.error("")
        if not self._text.value:
            self._text.error("Write a sentence first.")
            return
        version, text = self._version.value or None, self._text.value
        self._answers.clear()
        found = await work("Holding it against the figures",
                           lambda progress: check_claims(self._workshop, text, version_id=version, progress=progress))  # fmt: skip
        self._answers.set_visibility(True)
        with self._answers:
            _show(found)


def _show(found: CheckedText) -> None:
    refused = len(found.refused)
    if not found.sentences:
        el("h2", "No sentence claims anything of the figures")
        return
    el(
        "h2",
        f"{count(refused, 'sentence')} should not be printed" if refused else "Nothing speaks against it",
    )
    draw_answers(found)


def draw_answers(found: CheckedText) -> None:
    """What the figures say to each sentence that claims something."""
    with el("ul", cls="verdicts"):
        for one in found.sentences:
            _sentence(one)


def _sentence(one: Checked) -> None:
    kind, sign, words = OUTCOMES[one.outcome]
    with el("li", cls=kind):
        el("span", sign, cls="sign", aria_hidden="true")
        with el("span"):
            el("strong" if one.refused else "span", f"{words}: “{one.text}”")
            el("span", f" {one.reason}", cls="remedy")
            if one.instead:
                el("span", f" May be written: {one.instead}.", cls="remedy")
