"""Tuning on the page of a crossover: a band, a row of values, before and after."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.typed import number_or_text, without_place
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.driver.crossover.responses import WayData
from halfroll.publish.crossover_rows import tuned_rows
from halfroll.workshop import Workshop
from halfroll.workshop.crossover_record import CrossoverRecord
from halfroll.workshop.crossovers import tuned


class Tunable(Protocol):
    """The page that is tuned: what it shows, and how it takes other values."""

    workshop: Workshop
    record: CrossoverRecord
    data: Mapping[str, WayData]

    def changed(self, record: CrossoverRecord) -> None:
        """Take values found elsewhere."""


class TuneForm:
    """Asks for a band, tunes, shows what moved, and puts it into the fields."""

    def __init__(self, page: Tunable) -> None:
        self._page = page

    def draw(self) -> None:
        """Put it on the page; nothing for a crossover without elements."""
        if not any(way.elements for way in self._page.record.ways):
            return
        with el("section", cls="block no-print"):
            el("h2", "Tune")
            el(
                "p",
                "Values are moved until the sum is flat in a band, with the real impedances; a rated impedance is kept.",
                cls="prose",
            )
            with el("div", cls="fields"):
                self._low = Field("tune_from", "Flat from, Hz", value="200", inputmode="decimal")
                self._high = Field("tune_to", "to, Hz", value="10000", inputmode="decimal")
                self._row = Field("tune_row", "Values", tag="select", value="E12", choices=[
                    ("E12", "of row E12 (IEC 60063)"), ("E24", "of row E24"), ("free", "as they come")])  # fmt: skip
            with el("div", cls="actions"):
                button("Tune", self._tune, main=True).mark("tune-crossover")
            self._said = el("div", cls="block", aria_live="polite").mark("tuned")

    async def _tune(self) -> None:
        self._low.error("")
        low, high = number_or_text(self._low.value), number_or_text(self._high.value)
        if not (isinstance(low, float) and isinstance(high, float)):
            self._low.error("Two numbers are wanted, such as 200 and 10000.")
            return
        row: Any = self._row.value
        self._said.clear()
        workshop, record, data = self._page.workshop, self._page.record, self._page.data
        with self._said:
            try:
                found, changed = await work(
                    "Tuning",
                    lambda progress: tuned(
                        workshop, record, (low, high), row=row, progress=progress, data=data
                    ),
                )
            except InputError as fault:
                self._low.error(without_place(fault))
                return
        with self._said:
            show("crossover_table.html", table=tuned_rows(found), caption="")
            el("p", "The values stand in the fields above. Save keeps them.", cls="quiet small")
        self._page.changed(changed)
