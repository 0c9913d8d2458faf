"""``/bill/<driver>/<version>``: what is a driver of this version made of, what does it cost, and what must be bought for several?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from fastapi import Request, Response
from nicegui import app

from halfroll.app import address, frame
from halfroll.app.bill_form import BillForm
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.handed import PDF, handed, refused
from halfroll.app.job import work
from halfroll.app.view import show
from halfroll.builds.bill.bill import Bill, bill_of, check_units
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.money import format_money
from halfroll.core.text import count
from halfroll.publish.bill_charts import cost_chart, cost_rows
from halfroll.publish.bill_rows import (
    bill_rows,
    hours_words,
    shopping_rows,
    sum_rows,
    tool_rows,
)
from halfroll.publish.theme import Theme
from halfroll.workshop import Workshop
from halfroll.workshop.paths import parent_id
from halfroll.workshop.virtual_takes import foreseen


def register(workshop: Workshop) -> None:
    """Add the page, and the paper it hands out."""

    @frame.page("/bill/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def bill_page(driver: str, version: str, request: Request) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        units = units_of(request.query_params.get("units", ""))
        name = f"{workshop.driver(driver).record.title} {version}"
        frame.title(f"What {name} costs")
        try:
            bill = await work(
                "Making out the bill",
                lambda progress: bill_of(
                    workshop, version_id, today=dt.date.today(), units=units, progress=progress
                ),
            )
        except InputError as fault:
            if not (fault.place.key or "").startswith("bill"):
                raise
            _not_yet(workshop, version_id, name, fault)
            return
        _show(workshop, version_id, bill)

    @app.get("/bill/{driver}/{version}/bill.pdf")
    def bill_paper(driver: str, version: str, units: str = "") -> Response:
        return _paper(workshop, f"{driver}/{version}", units)


def units_of(text: str) -> int:
    """A number of drivers as it stands in an address; 1 when nothing does."""
    if not text.strip():
        return 1
    try:
        units = int(text)
    except ValueError:
        raise InputError("The number of drivers must be a whole number", key="units", found=text) from None
    check_units(units)
    return units


def _head(workshop: Workshop, version_id: str, name: str, bill: Bill | None) -> None:
    record = workshop.version(version_id).record
    driver, version = version_id.split("/")
    parent, units = parent_id(version_id, record.parent), 1 if bill is None else bill.units
    numbers: list[tuple[str, str, str]] = []
    if bill is not None and bill.currency is not None:
        total, currency = bill.total, bill.currency
        spread = f"{format_money(total.low, currency)} to {format_money(total.high, currency)} by supplier"
        numbers.append(
            (
                "One driver",
                format_money(total.usual, currency),
                spread if total.high - total.low >= 0.005 else "",
            )
        )
        if bill.for_units is not None:
            numbers.append(
                (
                    f"To pay for {count(bill.units, 'driver')}",
                    format_money(bill.for_units, currency),
                    "whole packs, postage, printing, work",
                )
            )
    if bill is not None and bill.printed_g:
        numbers.append(
            (
                "To print",
                f"{bill.printed_g:.1f}\u202fg",
                hours_words(bill.print_hours) if bill.print_hours else "",
            )
        )
    show(
        "bill_head.html",
        steps=[("Drivers", "/"), (workshop.driver(driver).record.title, f"/#{driver}"), (version, address.of_version(version_id))],
        name=f"What {name} costs", numbers=numbers, units=units, whole=bill is not None,
        pages=address.pages_of(version_id, "bill", whole=foreseen(record)), version_id=version_id,
        carry=address.of_carry_over(parent, version_id, units) if parent and parent in workshop.version_ids() else "",
        carry_from=address.of_carry_over(version_id, "", units), parent=parent or "",
    )  # fmt: skip


def _not_yet(workshop: Workshop, version_id: str, name: str, fault: InputError) -> None:
    """A version nothing is known of, or whose bill is wrong: it can be put right here."""
    _head(workshop, version_id, name, None)
    with el("section", cls="block prose"):
        if fault.place.key != "bill":
            el("p", str(fault)).props('role="alert"')
        else:
            el(
                "p",
                "This version has no motor, no moving parts and no bill yet, so nobody knows what it is made of.",
            )
            el("a", "Design its motor", href=address.of_design(version_id), cls="button main")
    _form(workshop, version_id, open_=True)


def _form(workshop: Workshop, version_id: str, *, open_: bool = False) -> None:
    """What the design does not know, folded until it is wanted."""
    with el("section", cls="block no-print"):
        el("h2", "What the design does not know").put(id="change")
        with el("details", open="" if open_ else None):
            el("summary", "Frame, screws, leads, glue, and the slicer's grams and hours")
            BillForm(workshop, workshop.version(version_id))


def _show(workshop: Workshop, version_id: str, bill: Bill) -> None:
    _head(workshop, version_id, bill.title, bill)
    if cost_rows(bill) and bill.currency is not None:
        with el("section", cls="block", aria_label="Cost by line"), el("figure"):
            Chart(_chart(bill)).mark("chart-cost")
    show(
        "bill_tables.html", lines=bill_rows(bill), sums=sum_rows(bill), tools=tool_rows(bill), units=bill.units,
        shopping=shopping_rows(bill.shopping), verdicts=bill.verdicts, file=str(bill.amounts.version.path.relative_to(workshop.folder)),
    )  # fmt: skip
    _form(workshop, version_id)


def _chart(bill: Bill) -> Callable[[Theme, int], dict[str, Any]]:
    return lambda look, width_px: cost_chart(bill, theme=look, width_px=width_px)


def _paper(workshop: Workshop, version_id: str, units: str) -> Response:
    """The bill as a PDF; what is wrong is said as text."""
    from halfroll.publish.bill_paper import bill_pdf

    today = dt.date.today()
    try:
        workshop.existing(version_id, "version")
        data = bill_pdf(
            bill_of(workshop, version_id, today=today, units=units_of(units)), date=today.isoformat()
        )
    except HalfrollError as error:
        return refused(error)
    return handed(data, PDF, f"{version_id.replace('/', '-')}-bill.pdf", inline=True)
