"""Which windings fit the gap and give an impedance, and taking one of them into the design."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_tables import Built, Data
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.typed import number_or_text
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress
from halfroll.motor.results import MotorResult
from halfroll.workshop.motor_studies import Want


class Designing(Protocol):
    """The page of a design as far as this part of it needs it."""

    @property
    def solved(self) -> tuple[Built, MotorResult] | None:
        """The last results and what they are of."""

    def study(self, want: Want, built: Built, progress: Progress) -> Any:
        """One study, in a thread."""

    def after_parts(self) -> None:
        """After the draft was changed from here."""


class Windings:
    """Which windings fit the gap and give an impedance, with a button to take one."""

    def __init__(self, page: Designing, draft: DesignDraft) -> None:
        self.page, self.draft = page, draft
        rated = draft.record.rated_impedance_ohm
        with el("section", cls="block no-print", aria_labelledby="windings"):
            el("h2", "Which windings fit?", id="windings")
            with el("div", cls="fields"):
                self.ohm = Field(
                    "impedance",
                    "Rated impedance, Ω",
                    value=f"{rated:g}" if rated else "4",
                    inputmode="decimal",
                )
                self.travel = Field(
                    "winding-travel",
                    "Geometric travel at least, ± mm",
                    value=f"{_travel_mm(draft):g}",
                    inputmode="decimal",
                )
                self.even = Field(
                    "even",
                    "Layers",
                    tag="select",
                    value="even",
                    choices=(("even", "even: leads at one end"), ("all", "any")),
                )
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
                found = await work(
                    "Trying windings",
                    lambda progress: _tried(
                        built, motor, self.draft, ohm, travel, self.even.value == "even", progress
                    ),
                )
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
        taken = {
            "wire": design.wire.key,
            "layers": design.layers,
            "turns": design.turns,
            "packing": design.packing,
        }

        def write(data: Data) -> None:
            data["coil"].update(taken)
            if design.former_height_m is None:
                data["coil"].pop("former_height_mm", None)

        self.draft.change(write)
        self.page.after_parts()


def _travel_mm(draft: DesignDraft) -> float:
    """Travel the design asks for, 0 when it asks for none."""
    travel_m = None if draft.built is None else draft.built.design.motor.travel_m
    return 1e3 * (travel_m or 0.0)


def _number(field: Field) -> float | None:
    value = number_or_text(field.value)
    if isinstance(value, int | float):
        return float(value)
    field.error("This must be a number.")
    return None


def _tried(
    built: Built, solved: Any, draft: DesignDraft, ohm: float, travel_mm: float, even: bool, progress: Any
) -> Any:
    from halfroll.motor.coil.windings import Target
    from halfroll.workshop.windings import Asked, windings_of

    progress(0.1, "trying wires, layers and packings")
    asked = Asked(target=Target(ohm=ohm), travel_m=1e-3 * travel_mm, even_only=even, most=10)
    with_field, found = (None, None) if solved is None else (solved[0].assembly, solved[1])
    return windings_of(built.design, built.assembly, asked, draft.catalogue, found, found_with=with_field)


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
                        el("td", cell, data_head=head or "Place")
                    with el("td"):
                        button("Take it", lambda choice=choice: take(choice), cls="plain").put(
                            aria_label=f"Take winding {row[0]}"
                        ).mark(f"take-{row[0]}")
    for note in rows.notes:
        el("p", note, cls="quiet small")
