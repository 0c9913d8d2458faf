"""The assembly guide on paper: a box to tick for each step and check, a blank for each reading, the drawing of what comes where."""

from __future__ import annotations

import datetime as dt
from typing import Any

from halfroll.builds.guide.types import Check, Guide, Step
from halfroll.core.text import SYMBOLS
from halfroll.publish.guide_drawings import step_picture
from halfroll.publish.paper import Picture, paper
from halfroll.publish.theme import theme

DRAWING_PX = 190.0


def guide_pdf(guide: Guide, *, date: str | dt.date) -> bytes:
    """The guide as an A4 PDF of several pages; the same guide and date give the same bytes."""
    pictures: dict[str, Picture] = {}
    steps = []
    for number, step in enumerate(guide.steps, 1):
        drawn = step_picture(guide, step, theme=theme("print"), width_px=DRAWING_PX)
        if drawn is not None:
            pictures[f"step-{number}"] = drawn
        steps.append(_step(number, step, drawn is not None))
    said = [f"{one.text} {one.remedy}".strip() for one in guide.verdicts]
    data = {"note": guide.note, "steps": steps, "said": said}
    when = date if isinstance(date, str) else date.isoformat()
    return paper(
        "guide", data, title=f"{guide.title}: assembly guide", date=when, pictures=pictures,
        subtitle="Read every step to its end before you begin it. Local rules and the makers' safety sheets come first.",
        foot=f"{guide.title} · {guide.version_id} · assembly guide",
    )  # fmt: skip


def _step(number: int, step: Step, drawn: bool) -> dict[str, Any]:
    return {
        "number": number, "title": step.title, "parts": ", ".join(step.parts), "tools": ", ".join(step.tools), "text": list(step.text),
        "last_chance": step.last_chance, "cautions": [one.text for one in step.cautions], "checks": [_check(one) for one in step.checks],
        "picture": f"step-{number}" if drawn else "",
    }  # fmt: skip


def _check(one: Check) -> dict[str, str]:
    return {"label": one.label, "how": one.how, "good": one.good, "if_not": one.if_not, "unit": SYMBOLS.get(one.unit, one.unit),
            "blank": "yes" if one.band is not None else ""}  # fmt: skip
