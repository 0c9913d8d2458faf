"""``/stock``: what is there of every part, what became of it, and booking what was bought, used, spoiled and counted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from fastapi import Request
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import number_or_text, said_at_field
from halfroll.app.view import show
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.text import count
from halfroll.publish.stock_chart import stock_chart
from halfroll.publish.stock_rows import history_rows, movement_words, stock_rows, worth_words
from halfroll.publish.theme import Theme
from halfroll.workshop import Workshop
from halfroll.workshop.faults import FaultsError, check
from halfroll.workshop.parts import current_id, own_parts
from halfroll.workshop.standing import Standing
from halfroll.workshop.stock import Stock, last_booking, move, stock_of, undo
from halfroll.workshop.stock_record import MovementTable

WHAT = (
    ("bought", "bought"),
    ("used", "used"),
    ("spoiled", "spoiled: broken, lost, thrown away"),
    ("counted", "counted: so much is there"),
)


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/stock", workshop_name=lambda: workshop.name)
    def stock_page(request: Request) -> None:
        frame.title("Stock")
        owned = own_parts(workshop)
        stock = stock_of(workshop, owned)
        asked = request.query_params.get("part", "")
        part = current_id(owned, asked) if asked else ""
        if part and part not in stock.standings:
            raise frame.NotHereError(
                "There is no such part", found=part, allowed=list(stock.standings)[:12] or "none yet"
            )
        _head(stock, part)
        if part:
            _history(stock.standings[part])
        if stock.standings:
            _Book(workshop, stock, part)
            _undo(workshop, part)
        if stock.standings:
            show("stock_table.html", rows=[(one, one.part_id == part, words) for one, words in stock_rows(stock.standings.values())],
                 worth=worth_words(stock.standings.values()))  # fmt: skip


def _head(stock: Stock, part: str) -> None:
    verdicts = [
        v for one in stock.standings.values() for v in one.verdicts if not part or one.part_id == part
    ]
    show("stock_head.html", part=part, known=bool(stock.standings), faults=stock.faults, verdicts=verdicts)


def _history(standing: Standing) -> None:
    """The chosen part: its amount over time and every movement."""
    if not standing.lines:
        return
    with el("section", cls="block", aria_label=f"{standing.part_id} over time"), el("figure"):
        Chart(_chart(standing)).mark("chart-stock")
    show("stock_history.html", part=standing.part_id, table=history_rows(standing))


def _chart(standing: Standing) -> Callable[[Theme, int], dict[str, Any]]:
    return lambda look, width_px: stock_chart(standing, theme=look, width_px=width_px)


class _Book:
    """The form of a movement. What would go below zero is asked again; a plain booking is not, it can be taken back."""

    def __init__(self, workshop: Workshop, stock: Stock, part: str) -> None:
        self.workshop, self.stock = workshop, stock
        self.fields: dict[str, Field] = {}
        parts = [(id_, id_) for id_ in stock.standings]
        with el("section", cls="block no-print", aria_labelledby="book"):
            el("h2", "Book a movement").put(id="book")
            with el("div", cls="fields"):
                self._add(
                    "part",
                    "Part",
                    tag="select",
                    choices=parts,
                    value=part or parts[0][0],
                    on_change=self._changed,
                )
                self._add(
                    "what",
                    "What happened",
                    tag="select",
                    choices=WHAT,
                    value="bought",
                    on_change=self._changed,
                )
                self._add("amount", "Amount", inputmode="decimal")
                self._add("date", "Day", kind="date", value=dt.date.today().isoformat())
                self._add("note", "For", hint="a unit, a customer, whatever helps to remember")
            with el("div", cls="fields") as self.purchase:
                self._add(
                    "paid", "Paid for all of it", inputmode="decimal", hint="may be empty; without postage"
                )
                self._add("currency", "Currency", hint="three letters (ISO 4217)")
                self._add("supplier", "Supplier")
            with el("div", cls="actions"):
                button("Book it", lambda: self._book(anyway=False), main=True).mark("book")
                self.anyway = button(
                    "Book it although it goes below zero", lambda: self._book(anyway=True)
                ).mark("book-anyway")
            self.anyway.set_visibility(False)
        self._changed(self.fields["part"])

    def _add(self, key: str, label: str, **how: Any) -> None:
        self.fields[key] = Field(key, label, **how)

    def _changed(self, _: Field) -> None:
        standing = self.stock.standings[self.fields["part"].value]
        record = own_parts(self.workshop).parts[standing.part_id].record
        self.purchase.set_visibility(self.fields["what"].value == "bought")
        if not self.fields["currency"].value:
            self.fields["currency"].set(record.currency or "")
        self.anyway.set_visibility(False)

    def _book(self, *, anyway: bool) -> None:
        for field in self.fields.values():
            field.error("")
        try:
            movement = check(MovementTable, self._values(), file="")
            written = move(self.workshop, movement, anyway=anyway)
        except RefusedError:
            self.anyway.set_visibility(True)
            raise
        except FaultsError as error:
            self._say(error.faults)
        except InputError as fault:
            self._say((fault,))
        else:
            ui.navigate.to(address.of_stock(written[0].part))

    def _say(self, faults: tuple[InputError, ...]) -> None:
        """Each fault under its field; one without a field at the foot of the page."""
        for fault in faults:
            key = (fault.place.key or "").rpartition(".")[2]
            if key not in self.fields:
                raise fault
            self.fields[key].error(said_at_field(fault))
        self.fields[(faults[0].place.key or "").rpartition(".")[2]].focus()

    def _values(self) -> dict[str, Any]:
        typed = {key: field.value for key, field in self.fields.items()}
        values: dict[str, Any] = {key: typed[key] for key in ("part", "what", "note")}
        values["date"] = typed["date"] or None
        values["amount"] = number_or_text(typed["amount"])
        if typed["what"] == "bought":
            values["supplier"] = typed["supplier"]
            if typed["paid"]:
                values |= {
                    "paid": number_or_text(typed["paid"]),
                    "currency": typed["currency"].upper() or None,
                }
        return {key: value for key, value in values.items() if value is not None}


def _undo(workshop: Workshop, part: str) -> None:
    """The last booking, and a button that takes it back."""
    try:
        last = last_booking(workshop)
    except InputError:
        return
    if not last:
        return
    number = last[-1].number

    def take_back() -> None:
        undo(workshop, number=number)
        ui.navigate.to(address.of_stock(part))

    more = f" and {count(len(last) - 1, 'movement')} with it" if len(last) > 1 else ""
    with el("section", cls="block no-print", aria_label="The last booking"):
        el("p", f"Booked last: {movement_words(last[-1])}{more}.", cls="small")
        with el("div", cls="actions"):
            button("Take it back", take_back).mark("undo")
