"""What takes its time or needs a question: which windings fit, inductance, modulation, forces while assembling."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from halfroll.app.chart import Chart
from halfroll.app.design_draft import Built, DesignDraft
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.verdicts import Verdict
from halfroll.publish.motor import assembly_chart, inductance_chart, loss_chart, modulation_chart
from halfroll.publish.theme import Theme
from halfroll.workshop.motors import Want

if TYPE_CHECKING:
    from halfroll.app.pages.design import DesignPage

Draw = Callable[[Any, Theme, int], dict[str, Any]]

STUDIES: dict[Want, tuple[str, str, str, tuple[Draw, ...]]] = {
    "inductance": (
        "Inductance and eddy-current loss", "Compute the inductance", "Of the blocked coil from 20 Hz to 20 kHz, at rest and to both sides.",
        (lambda f, look, w: inductance_chart(f, theme=look, width_px=w), lambda f, look, w: loss_chart(f, theme=look, width_px=w)),
    ),
    "modulation": (
        "What current does to the force factor", "Compute the modulation", "The coil's own field adds to the magnet's: Bl with currents up to the "
        "peak of the rated power.",
        (lambda f, look, w: modulation_chart(f, theme=look, width_px=w),),
    ),
    "forces": (
        "Forces while it is put together", "Compute the forces", "How hard each part is pulled on its way to its place. Strong magnets pinch fingers and "
        "splinter: know the force before a hand is in between.",
        (lambda f, look, w: assembly_chart(f, theme=look, width_px=w),),
    ),
}  # fmt: skip
"""Title, button, words and charts of each slow study."""


class DesignMore:
    """The foot of the page."""

    def __init__(self, page: DesignPage, draft: DesignDraft) -> None:
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
        with el("section", cls="block"):
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
                    _draw(want, found)
                self.shown[want] = (mark, built)
                self.earlier()

            with el("div", cls="actions no-print"):
                button(label, go).mark(f"study-{want}")


def _draw(want: Want, found: Any) -> None:
    many = found if isinstance(found, tuple) else (found,)
    usable = [one for one in many if want != "forces" or len(one.distance_m)]
    with el("div", cls="charts halves"):
        for chart in STUDIES[want][3] if usable else ():
            with el("figure"):
                Chart(lambda look, width, chart=chart: chart(tuple(usable) if want == "forces" else found, look, width))  # type: ignore[misc]
    verdicts: list[Verdict] = [verdict for one in many for verdict in one.verdicts]
    show("design_said.html", verdicts=sorted(verdicts, key=lambda v: -v.severity))


class Windings:
    """Which windings fit the gap and give an impedance, with a button to take one."""

    def __init__(self, page: DesignPage, draft: DesignDraft) -> None:
        self.page, self.draft = page, draft
        rated = draft.record.rated_impedance_ohm
        with el("section", cls="block no-print", aria_labelledby="windings"):
            el("h2", "Which windings fit?", id="windings")
            with el("div", cls="fields"):
                self.ohm = Field("impedance", "Rated impedance, Ω", value=f"{rated:g}" if rated else "4", inputmode="decimal")
                self.travel = Field("winding-travel", "Geometric travel at least, ± mm", value="0", inputmode="decimal")
                self.even = Field("even", "Layers", tag="select", value="even", choices=(("even", "even only: both leads at one end"), ("all", "any")))
            with el("div", cls="actions"):
                button("Find windings", self._find).mark("find-windings")
            self.panel = el("div")
            self.box = el("div", cls="block")

    async def _find(self) -> None:
        for field in (self.ohm, self.travel):
            field.error("")
        built = self.draft.built
        if built is None or built.design.coil is None:
            self.ohm.error("Wind a coil first: its former, glue and offset are kept.")
            return
        ohm, travel = _number(self.ohm), _number(self.travel)
        if ohm is None or travel is None:
            return
        solved = self.page.solved
        motor = solved if solved is not None and solved[0].assembly.gap == built.assembly.gap else None
        try:
            with self.panel:
                found = await work("Trying windings", lambda progress: _tried(built, motor, self.draft, ohm, travel, self.even.value == "even", progress))
        except CancelledError:
            return
        except InputError as fault:
            self.ohm.error(str(fault))
            return
        self.box.clear()
        with self.box:
            _listed(found, self._take)

    def _take(self, choice: Any) -> None:
        design = choice.coil.design
        taken = {"wire": design.wire.key, "layers": design.layers, "turns": design.turns, "packing": design.packing}
        if design.former_height_m is None:
            self.draft.change(lambda data: (data["coil"].update(taken), data["coil"].pop("former_height_mm", None)))  # type: ignore[arg-type]
        else:
            self.draft.change(lambda data: data["coil"].update(taken))
        self.page.after_stack()


def _number(field: Field) -> float | None:
    from halfroll.app.typed import number_or_text

    value = number_or_text(field.value)
    if isinstance(value, int | float):
        return float(value)
    field.error("This must be a number.")
    return None


def _tried(built: Built, solved: Any, draft: DesignDraft, ohm: float, travel_mm: float, even: bool, progress: Any) -> Any:
    from halfroll.motor.gap_field import in_gap_only
    from halfroll.motor.windings import Room, Target, windings_that_fit

    progress(0.1, "trying wires, layers and packings")
    coil, gap = built.design.coil, built.assembly.gap
    assert coil is not None
    line = None if solved is None else _bl_of(solved)
    return windings_that_fit(
        coil, Room(gap=gap, travel_m=1e-3 * travel_mm), list(draft.catalogue.wires.values()), Target(ohm=ohm),
        line or in_gap_only(gap), even_only=even, field_solved=line is not None, most=15,
    )  # fmt: skip


def _bl_of(solved: Any) -> Any:
    from halfroll.motor.gap_field import FieldLine

    built, result = solved
    gap, winding = built.assembly.gap, built.assembly.winding
    walls = (gap.r_inner, gap.r_outer) if winding is None else (winding.r_inner, winding.r_outer)
    return FieldLine(z_m=result.gap_z_m, b_t=result.gap_b_t, r_m=0.5 * (walls[0] + walls[1])).bl


def _listed(found: Any, take: Callable[[Any], Any]) -> None:
    from halfroll.publish.coil_rows import winding_rows

    rows = winding_rows(found)
    show("design_said.html", verdicts=list(found.verdicts))
    if not rows.rows:
        return
    with el("table", cls="many"):
        with el("thead"), el("tr"):
            for head in rows.head:
                el("th", head, scope="col")
            el("th", "", scope="col")
        with el("tbody"):
            for row, choice in zip(rows.rows, found.choices, strict=True):
                with el("tr"):
                    for head, cell in zip(rows.head, row, strict=True):
                        el("td", cell, data_head=head)
                    with el("td"):
                        button("Take it", lambda choice=choice: take(choice), cls="plain").put(aria_label=f"Take winding {row[0]}").mark(f"take-{row[0]}")
    for note in rows.notes:
        el("p", note, cls="quiet small")
