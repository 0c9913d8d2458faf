"""On the page of a predicted driver: which cause makes the distortion, and what would help."""

from __future__ import annotations

from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any

from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.view import show
from halfroll.app.worked import worked_section
from halfroll.core.progress import Progress
from halfroll.publish.causes import cause_charts
from halfroll.publish.causes_words import cause_rows, cause_sentences
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop.causes import VersionCauses


async def show_causes(
    workshop: Workshop,
    version_id: str,
    driver: PredictedDriver,
    *,
    load: AcousticLoad | None = None,
    level_w: float | None = None,
    title: str = "Which cause makes the distortion",
) -> None:
    """The section, where the page is now: worked out in a thread with a bar."""
    task = partial(_found, workshop, version_id, driver, load, level_w)
    await worked_section(title, "causes", doing="Switching causes off in turn", task=task, fill=_fill)


def _found(
    workshop: Workshop, version_id: str, driver: PredictedDriver, load: AcousticLoad | None, level_w: float | None, progress: Progress
) -> VersionCauses:  # fmt: skip
    from halfroll.workshop.causes import version_causes

    return version_causes(workshop, version_id, driver, progress, load=load, level_w=level_w)


def _fill(found: VersionCauses) -> None:
    """Sentences, the picture of even and odd orders, what must be said, and the numbers."""
    for sentence in cause_sentences(found):
        el("p", sentence, cls="prose")

    @lru_cache(maxsize=4)
    def made(look: str, width_px: int) -> dict[str, dict[str, Any]]:
        return cause_charts(found.causes, theme=theme(look), width_px=width_px)

    def chart(key: str, look: Theme, width_px: int) -> dict[str, Any]:
        return made(look.name, width_px)[key]

    there = made("light", 640)
    with el("div", cls="charts halves"):
        for key in there:
            with el("figure").mark(f"causes-{key}"):
                Chart(partial(chart, key))
    show("verdicts.html", verdicts=sorted(found.verdicts, key=lambda one: -one.severity))
    with el("details"):
        el("summary", "The numbers")
        show("design_tables.html", tables=[("Causes of distortion", cause_rows(found))], faults=())
