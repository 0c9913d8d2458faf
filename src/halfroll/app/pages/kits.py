"""``/kits``: which bags of parts are there for builders? And ``/kits/<kit>``: what does a batch of one take, cost and bring?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from fastapi import Request, Response
from nicegui import app, ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.handed import PDF, handed, refused
from halfroll.app.job import work
from halfroll.app.kit_form import KitForm
from halfroll.app.view import show
from halfroll.builds.kits import KitPlan, check_number, movements_of, plan
from halfroll.core.errors import HalfrollError, InputError, RefusedError
from halfroll.core.money import format_money
from halfroll.core.text import count
from halfroll.publish.kit_rows import left_words, part_rows, price_rows, shopping_rows, stock_words
from halfroll.publish.kits_chart import allows_chart
from halfroll.publish.theme import Theme
from halfroll.workshop import Workshop
from halfroll.workshop.kits import all_kits, kit_ids, load_kit
from halfroll.workshop.stock import move

MAGNETS = (
    "Loose magnets in a bag: two swallowed ones are an emergency. Keep them from children, pack each bag closed, and put its caution on it. "
    "Magnets pinch and splinter; keep them 0.3 m from pacemakers."
)


def register(workshop: Workshop) -> None:
    """Add the pages, and the papers they hand out."""

    @frame.page("/kits", workshop_name=lambda: workshop.name)
    def kits_page() -> None:
        frame.title("Kits")
        known, faults = all_kits(workshop)
        versions = workshop.version_ids()
        lines = [
            (one.id, one.record.title, ", ".join(f"{d.count} × {d.version}" for d in one.record.drivers))
            for one in known
        ]
        show("kits_index.html", lines=lines, faults=faults, versions=bool(versions))
        if versions:
            with el("section", cls="block no-print", aria_labelledby="new"):
                el("h2", "A new kit").put(id="new")
                with el("details", open=None if lines else ""):
                    el("summary", "Say which drivers it is for")
                    with el("div", cls="block"):
                        KitForm(workshop, versions)

    @frame.page("/kits/{kit}", workshop_name=lambda: workshop.name)
    async def kit_page(kit: str, request: Request) -> None:
        if kit not in kit_ids(workshop):
            raise frame.NotHereError(
                "There is no such kit", found=kit, allowed=kit_ids(workshop) or "none yet"
            )
        n = number_of(request.query_params.get("n", ""))
        frame.title(load_kit(workshop, kit).record.title)
        planned = await work(
            "What goes into a bag", lambda progress: plan(workshop, kit, n, progress=progress)
        )
        _show(workshop, planned)

    @app.get("/kits/{kit}/pick-list.pdf")
    def pick_list(kit: str, n: str = "") -> Response:
        return _paper(workshop, kit, n, "pick-list", {})

    @app.get("/kits/{kit}/labels.pdf")
    def labels(kit: str, n: str = "", columns: str = "", rows: str = "", skip: str = "") -> Response:
        return _paper(workshop, kit, n, "labels", {"columns": columns, "rows": rows, "skip": skip})


def number_of(text: str, key: str = "n", without: int = 1) -> int:
    """A whole number as it stands in an address; `without` when nothing does."""
    if not text.strip():
        return without
    try:
        found = int(text)
    except ValueError:
        raise InputError("This must be a whole number", key=key, found=text) from None
    if key == "n":
        check_number(found)
    return found


def _show(workshop: Workshop, planned: KitPlan) -> None:
    record = planned.record
    magnets = any(part.need.magnet for part in planned.parts)
    show(
        "kit_head.html", steps=[("Kits", "/kits"), (planned.kit_id, address.of_kit(planned.kit_id, planned.n))], name=record.title,
        numbers=_numbers(planned), n=planned.n, said=_sentence(stock_words(planned)), verdicts=planned.verdicts, magnets=MAGNETS if magnets else "",
        drivers=[(one.version, one.count, address.of_version(one.version)) for one in record.drivers], kit=planned.kit_id, notes=record.notes,
    )  # fmt: skip
    if planned.parts:
        with el("section", cls="block", aria_label="What the stock allows"), el("figure"):
            Chart(_chart(planned)).mark("chart-allows")
    show(
        "kit_tables.html", parts=part_rows(planned), price=None if planned.price is None else price_rows(planned.price),
        shopping=shopping_rows(planned), left=left_words(planned), n=planned.n, kit=planned.kit_id, file=f"kits/{planned.kit_id}.toml",
    )  # fmt: skip
    if planned.parts:
        _Packed(workshop, planned)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _numbers(planned: KitPlan) -> list[tuple[str, str, str]]:
    shop, price = planned.shopping, planned.price
    numbers = [("The stock allows", count(planned.allowed, "kit"), f"of {planned.n} wanted")]
    buy = format_money(shop.total, shop.currency) if shop.purchases else "nothing"
    numbers.append(
        (
            f"To buy for {count(planned.n, 'kit')}",
            buy,
            "goods and postage, whole packs" if shop.purchases else "",
        )
    )
    if price is not None:
        numbers.append(("One kit costs", format_money(price.cost, price.currency), "to you"))
        numbers.append(
            ("One kit is sold for", format_money(price.total, price.currency), "with tax and postage")
        )
    return numbers


def _chart(planned: KitPlan) -> Callable[[Theme, int], dict[str, Any]]:
    return lambda look, width_px: allows_chart(planned, theme=look, width_px=width_px)


class _Packed:
    """Booking what was packed, by the plan in view. It can be taken back, so nothing is asked; what goes below zero is."""

    def __init__(self, workshop: Workshop, planned: KitPlan) -> None:
        self.workshop, self.planned = workshop, planned
        with el("section", cls="block no-print", aria_labelledby="packed"):
            el("h2", "Packed?").put(id="packed")
            el(
                "p",
                f"Books what {count(planned.n, 'kit')} took out of the stock, all parts or none. It can be taken back under Stock.",
                cls="quiet small",
            )
            with el("div", cls="fields"):
                self.date = Field("date", "Day", kind="date", value=dt.date.today().isoformat())
                self.note = Field("note", "Note", hint="may be empty")
            with el("div", cls="actions"):
                button(
                    f"Book {count(planned.n, 'packed kit')}", lambda: self._book(anyway=False), main=True
                ).mark("book")
                self.anyway = button(
                    "Book them although it goes below zero", lambda: self._book(anyway=True)
                ).mark("book-anyway")
            self.anyway.set_visibility(False)

    def _book(self, *, anyway: bool) -> None:
        self.date.error("")
        try:
            day = dt.date.fromisoformat(self.date.value)
        except ValueError:
            self.date.error(f"This must be a day; found {self.date.value or 'nothing'}.")
            self.date.focus()
            return
        try:
            move(self.workshop, *movements_of(self.planned, date=day, note=self.note.value), anyway=anyway)
        except RefusedError:
            self.anyway.set_visibility(True)
            raise
        ui.navigate.to(address.of_stock())


def _paper(workshop: Workshop, kit: str, n: str, which: str, asked: dict[str, str]) -> Response:
    """A paper of a batch as a PDF; what is wrong is said as text."""
    from halfroll.publish.kits import LabelGrid, label_sheet_pdf, pick_list_pdf

    date = dt.date.today().isoformat()
    try:
        planned = plan(workshop, kit, number_of(n))
        if which == "pick-list":
            data = pick_list_pdf(planned, date=date)
        else:
            usual = LabelGrid()
            grid = LabelGrid(
                columns=number_of(asked["columns"], "columns", usual.columns),
                rows=number_of(asked["rows"], "rows", usual.rows),
            )
            data = label_sheet_pdf(planned, date=date, grid=grid, skip=number_of(asked["skip"], "skip", 0))
    except HalfrollError as error:
        status = 404 if kit not in kit_ids(workshop) else 422
        return refused(error, status)
    return handed(data, PDF, f"{kit}-{planned.n}-{which}.pdf", inline=True)
