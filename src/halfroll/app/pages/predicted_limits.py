"""On the page of a predicted driver: how loud it may play, what limits it where, and what warmth takes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.view import show
from halfroll.app.worked import worked_section
from halfroll.core.progress import Progress
from halfroll.publish.limits import compression_chart, compression_over_frequency_chart, limits_chart
from halfroll.publish.limits_words import compression_rows, limit_rows, limit_sentences
from halfroll.publish.theme import Theme
from halfroll.workshop import Workshop

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop.limits import DriverLimits


async def show_limits(
    workshop: Workshop,
    version_id: str,
    driver: PredictedDriver,
    *,
    load: AcousticLoad | None = None,
    title: str = "How loud, and what limits it",
) -> None:
    """The section, where the page is now: worked out in a thread with a bar, or from the index."""
    task = partial(_found, workshop, version_id, driver, load)
    await worked_section(title, "limits", doing="Searching the limits", task=task, fill=_fill)


def _found(
    workshop: Workshop, version_id: str, driver: PredictedDriver, load: AcousticLoad | None, progress: Progress
) -> DriverLimits:  # fmt: skip
    from halfroll.workshop.limits import driver_limits

    return driver_limits(workshop, version_id, driver, progress, load=load)


def _fill(found: DriverLimits) -> None:
    """Sentences, the chart, what must be said, and the tables."""
    for sentence in limit_sentences(found.maximum):
        el("p", sentence, cls="prose")
    with el("figure").mark("limits-chart"):
        Chart(partial(_limits, found))
    show("verdicts.html", verdicts=sorted(found.maximum.verdicts, key=lambda one: -one.severity))
    if found.compression is not None:
        with el("div", cls="charts halves"):
            with el("figure").mark("compression-chart"):
                Chart(partial(_compression, found))
            with el("figure"):
                Chart(partial(_compression_over, found))
    tables = [("Highest level by every limit", limit_rows(found.maximum))]
    if found.compression is not None:
        tables.append(("Power compression", compression_rows(found.compression)))
    with el("details"):
        el("summary", "The numbers")
        show("design_tables.html", tables=tables, faults=())


def _limits(found: DriverLimits, look: Theme, width: int) -> dict[str, Any]:
    return limits_chart(found.maximum, theme=look, width_px=width)


def _compression(found: DriverLimits, look: Theme, width: int) -> dict[str, Any]:
    assert found.compression is not None
    return compression_chart(found.compression, theme=look, width_px=width)


def _compression_over(found: DriverLimits, look: Theme, width: int) -> dict[str, Any]:
    assert found.compression is not None
    return compression_over_frequency_chart(found.compression, theme=look, width_px=width)
