"""What takes its time or needs a question: which windings fit, inductance, modulation, forces while assembling."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from halfroll.app.chart import Chart
from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_tables import Built
from halfroll.app.dom import Plain, el
from halfroll.app.field import button
from halfroll.app.job import work
from halfroll.app.pages.design_windings import Designing, Windings
from halfroll.app.view import show
from halfroll.core.errors import CancelledError
from halfroll.core.verdicts import Verdict
from halfroll.publish.inductance import inductance_chart, loss_chart, position_chart
from halfroll.publish.motor_extra import force_per_current_chart, pull_chart
from halfroll.publish.motor_slow_rows import fitted_rows
from halfroll.publish.theme import Theme
from halfroll.workshop.motor_studies import Want

Draw = Callable[[Any, Theme, int], dict[str, Any]]

STUDIES: dict[Want, tuple[str, str, str, tuple[Draw, ...]]] = {
    "inductance": (
        "Inductance and eddy-current loss", "Compute the inductance", "Of the blocked coil from 20 Hz to 20 kHz, at rest and to both sides.",
        (lambda f, look, w: inductance_chart(f, theme=look, width_px=w), lambda f, look, w: loss_chart(f, theme=look, width_px=w),
         lambda f, look, w: position_chart(f, theme=look, width_px=w)),
    ),
    "modulation": (
        "What current does to the force factor", "Compute the modulation", "The coil's own field adds to the magnet's: Bl with currents up to the "
        "peak of the rated power.",
        (lambda f, look, w: force_per_current_chart(f, theme=look, width_px=w),),
    ),
    "forces": (
        "Forces while it is put together", "Compute the forces", "How hard each part is pulled on its way to its place. Strong magnets pinch fingers and "
        "splinter: know the force before a hand is in between.",
        (lambda f, look, w: pull_chart(f, theme=look, width_px=w),),
    ),
}  # fmt: skip
"""Title, button, words and charts of each slow study."""


class DesignMore:
    """The foot of the page."""

    def __init__(self, page: Designing, draft: DesignDraft) -> None:
        self.page, self.draft = page, draft
        self.shown: dict[str, tuple[Plain, Built]] = {}
        Windings(page, draft)
        for want, (title, label, words, _) in STUDIES.items():
            self._study(want, title, label, words)

    def earlier(self) -> None:
        """Mark what was computed for other dimensions."""
        for mark, built in self.shown.values():
            same = self.draft.built is not None and self.draft.built.assembly == built.assembly
            mark.text = "" if same else "Of the earlier dimensions."

    def _study(self, want: Want, title: str, label: str, words: str) -> None:
        with el("section", cls="block no-print") as section:
            el("h2", title)
            el("p", words, cls="quiet prose")
            panel = el("div", cls="no-print")
            mark = el("p", cls="earlier-note", role="status")
            box = el("div", cls="block")

            async def go() -> None:
                built = self.draft.built
                if built is None:
                    return
                try:
                    with panel:
                        found = await work(title, partial(self.page.study, want, built))
                except CancelledError:
                    return
                box.clear()
                with box:
                    _draw(want, found, built)
                section.classes(remove="no-print")
                self.shown[want] = (mark, built)
                self.earlier()

            with el("div", cls="actions no-print"):
                button(label, go).mark(f"study-{want}")


def _draw(want: Want, found: Any, built: Built) -> None:
    many = found if isinstance(found, tuple) else (found,)
    usable = [one for one in many if want != "forces" or len(one.distance_m)]
    if not many:
        el("p", "No magnet pulls on a part of this motor while it is put together.", cls="quiet")
    with el("div", cls="charts halves"):
        for chart in STUDIES[want][3] if usable else ():
            with el("figure"):
                Chart(partial(chart, tuple(usable) if want == "forces" else found))
    if want == "inductance" and built.coil is not None:
        rows = fitted_rows(found, built.coil.resistance_ohm)
        show(
            "design_tables.html",
            tables=[("As a fit of the measured impedance should find it", rows)],
            faults=(),
        )
    verdicts: list[Verdict] = [verdict for one in many for verdict in one.verdicts]
    show("design_said.html", verdicts=sorted(verdicts, key=lambda v: -v.severity))
