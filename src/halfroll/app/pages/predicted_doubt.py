"""On the page of a prediction: what makes it uncertain, as a picture, and all that was assumed."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from halfroll.app.chart import Chart
from halfroll.app.dom import el, html
from halfroll.app.view import render
from halfroll.publish.predicted import Shares, share_chart, share_rows, shares_of
from halfroll.publish.theme import Theme
from halfroll.workshop.virtual_takes import PredictedTake

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import Assumption, PredictedDriver


def show_doubt(driver: PredictedDriver, take: PredictedTake) -> None:
    """What makes the figures uncertain: the picture, then the table of all assumptions."""
    labels = {one.key: one.label for one in driver.assumptions}
    readings = dict(take.readings.readings)
    for run in take.runs:
        readings |= run.readings
    shares = shares_of(readings, labels)
    if not shares.figures:
        return
    with el("section", cls="block", aria_label="What makes it uncertain"):
        el("h2", "What makes it uncertain", id="uncertain")
        el("p", shares.summary(), cls="prose")
        with el("figure"):
            Chart(partial(_share_chart, shares)).mark("chart-shares")
        with el("details"):
            el("summary", f"All {len(driver.assumptions)} assumptions and their shares")
            html(
                render(
                    "predicted_assumptions.html",
                    assumptions=[_assumption(one) for one in driver.assumptions],
                )
            )
            html(render("design_tables.html", tables=[("Shares of variance", share_rows(shares))], faults=()))


def _share_chart(shares: Shares, look: Theme, width_px: int) -> dict[str, Any]:
    return share_chart(shares, theme=look, width_px=width_px, title="")


def _assumption(one: Assumption) -> dict[str, str]:
    value = f"{one.value:.4g} {one.unit}".rstrip()
    spread = (
        f"{100 * one.u / abs(one.value):.2g} %"
        if one.by_ratio and one.value
        else f"{one.u:.2g} {one.unit}".rstrip()
    )
    return {
        "label": one.label,
        "value": value,
        "u": spread,
        "source": one.source,
        "shared": "yes" if one.shared else "",
    }
