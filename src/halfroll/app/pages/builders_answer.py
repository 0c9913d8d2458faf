"""The answer to a builder on a page: what is said, readings on their bands, what it may be, what to read next, a text to send."""

from __future__ import annotations

from typing import Any

from halfroll.app.chart import Chart, Make
from halfroll.app.dom import el
from halfroll.app.view import show
from halfroll.builds.checks import Checked
from halfroll.builds.faults.find import REMOTE
from halfroll.builds.faults.words import chance
from halfroll.builds.types import Suspect
from halfroll.publish.builders import check_charts
from halfroll.publish.builders_rows import HEADS, answer_text, chance_word, check_rows

TITLES = {
    "readings": "Readings on the bands of good units",
    "suspects": "What it may be",
    "recording": "The recording and a good unit",
}


def draw_answer(checked: Checked, *, whole: bool = True) -> None:
    """Put an answer where we are; `whole` with the text to send."""
    diagnosis = checked.diagnosis
    el("h2", HEADS[diagnosis.outcome]).mark("outcome")
    el("p", diagnosis.said, cls="lead prose").mark("said")
    if checked.verdicts:
        show("verdicts.html", verdicts=sorted(checked.verdicts, key=lambda v: -v.severity))
    names = [
        name for name in check_charts_of(checked)
        if name != "suspects" or (diagnosis.outcome != "no fault" and _likely(diagnosis.suspects))
    ]  # fmt: skip
    seen = [one.text for one in diagnosis.checks if one.band is None and one.outcome == "outside"]
    with el("div", cls="two"):
        for column in (names[:1], names[1:]):
            with el("div", cls="block"):
                for name in column:
                    with el("figure", cls="block"):
                        el("h3", TITLES[name])
                        Chart(_maker(checked, name)).mark(f"chart-{name}")
                        if name == "readings" and seen:
                            _list("Not good, seen or felt", tuple(seen))
    if diagnosis.outcome != "no fault":
        _suspects(diagnosis.suspects)
        _next(checked)
    with el("details", cls="fold"):
        el("summary", "Every reading in words")
        show("crossover_table.html", table=check_rows(diagnosis), caption="")
    if whole:
        _text(checked)


def check_charts_of(checked: Checked) -> dict[str, Any]:
    """The charts there are, laid out for a common width."""
    from halfroll.publish.theme import theme

    return dict(check_charts(checked, theme=theme("light"), width_px=640))


def _maker(checked: Checked, name: str) -> Make:
    return lambda look, width_px: check_charts(checked, theme=look, width_px=width_px)[name]


def _suspects(suspects: tuple[Suspect, ...]) -> None:
    """The likeliest with what speaks for and against each."""
    for one in _likely(suspects)[:3]:
        with el("section", cls="block suspect"):
            el(
                "h3",
                f"{one.label[:1].upper()}{one.label[1:]}: {chance(one.probability)}, {chance_word(one.probability)}",
            )
            if one.size:
                el("p", f"How large: {one.size}.")
            _list("For it", one.for_it)
            _list("Against it", one.against_it)
            if one.remedy:
                el("p", one.remedy)
            if one.caution:
                el("p", one.caution, cls="beware")


def _likely(suspects: tuple[Suspect, ...]) -> list[Suspect]:
    """Those that are more than a remote chance."""
    return [one for one in suspects if one.probability > REMOTE]


def _list(title: str, lines: tuple[str, ...]) -> None:
    if lines:
        el("p", f"{title}:", cls="quiet small")
        with el("ul", cls="findings"):
            for line in lines:
                el("li", line)


def _next(checked: Checked) -> None:
    if not checked.diagnosis.next_readings:
        return
    with el("section", cls="block", aria_label="Read next"):
        el("h3", "Read next")
        with el("ol", cls="steps prose"):
            for one in checked.diagnosis.next_readings[:3]:
                with el("li"):
                    el("strong", f"{one.label[:1].upper()}{one.label[1:]}. ")
                    el("span", one.how)
                    apart = f" It tells {' from '.join(one.apart)}." if len(one.apart) > 1 else ""
                    el("span", f" Takes away {100 * one.gain:.0f} % of the doubt.{apart}", cls="quiet small")


def _text(checked: Checked) -> None:
    with el("section", cls="block no-print", aria_label="To send to the builder"):
        el("h3", "To send to the builder")
        el("p", "Plain text, to be copied and made your own.", cls="quiet small")
        el("pre", answer_text(checked), cls="answer", tabindex="0", aria_label="Text to send").mark(
            "answer-text"
        )
