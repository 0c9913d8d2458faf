"""A bill and a carry-over in words: rows of tables for terminal, page and paper, all from one place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from halfroll.builds.bill.bill import Bill
from halfroll.builds.bill.carry import Carried, CarryOver
from halfroll.builds.bill.costing import PricedLine, Spread
from halfroll.builds.types import BillLine, Purchase, ShoppingList
from halfroll.core.money import format_money
from halfroll.core.text import THIN, count
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.standing import about_text, amount_text

SOURCES = {
    "design": "from the design", "computed": "computed", "slicer": "the slicer's", "weighed": "weighed", "typed": "as written",
}  # fmt: skip

APART = {
    "unglued": "What is glued comes off together: only parts whose seams need not be opened are carried over.",
    "all": "All parts are taken off each other, as if nothing were glued yet. A coil is one piece.",
}


def bill_rows(bill: Bill) -> Rows:
    """The lines of one driver with what each costs."""
    rows = tuple(_row(one, bill.currency) for one in bill.lines)
    notes = []
    if any(one.converted for line in bill.lines for one in line.asked):
        notes.append("Prices in another currency are converted at the rates stated in workshop.toml.")
    if bill.oldest is not None:
        notes.append(f"The oldest price is of {bill.oldest.isoformat()}.")
    return Rows(
        head=("Line", "Amount", "It is", "Supplier", "Cost", "By supplier"), rows=rows, notes=tuple(notes)
    )


def _row(one: PricedLine, currency: str | None) -> tuple[str, ...]:
    first = one.asked[0].offer if one.asked else None
    return (
        one.line.what, amount_words(one.line), SOURCES.get(one.line.source, one.line.source),
        "" if first is None else first.supplier, money(one.usual, currency), range_words(one, currency),
    )  # fmt: skip


def tool_rows(bill: Bill) -> Rows:
    """What is made once for all drivers."""
    rows = tuple(
        (one.line.what, amount_words(one.line), money(one.usual, bill.currency)) for one in bill.tools
    )
    notes = ("Made once for any number of drivers; in no driver's cost.",) if rows else ()
    return Rows(head=("Tool", "Amount", "Cost"), rows=rows, notes=notes)


def sum_rows(bill: Bill) -> Rows:
    """What one driver costs, and how that comes about."""
    currency = bill.currency
    if currency is None:
        return Rows(head=("Of one driver", "Cost"), rows=())
    rows = [("material", money(bill.material.usual, currency))]
    if bill.printer_cost:
        rows.append((f"printing, {hours_words(bill.print_hours)}", money(bill.printer_cost, currency)))
    if bill.work_cost:
        rows.append((f"work, {hours_words(bill.work_hours or 0.0)}", money(bill.work_cost, currency)))
    rows.append(("one driver", money(bill.total.usual, currency)))
    notes = [spread_words(bill.total, currency)]
    if bill.total.u >= 0.005:
        notes.append(
            f"Since amounts are not known exactly: ±{THIN}{format_money(2.0 * bill.total.u, currency)} (95 %)."
        )
    notes += [
        f"In no sum: {format_money(value, other)} of lines priced in {other}."
        for other, value in bill.other.items()
    ]
    return Rows(head=("Of one driver", "Cost"), rows=tuple(rows), notes=tuple(note for note in notes if note))


def spread_words(spread: Spread, currency: str) -> str:
    """The spread by supplier in a sentence; empty where there is none."""
    if spread.high - spread.low < 0.005:
        return ""
    low, high = (format_money(value, currency) for value in (spread.low, spread.high))
    return f"By the cheapest supplier of every line {low}, by the dearest {high}."


def shopping_rows(found: ShoppingList | None, titles: Mapping[str, str] = MappingProxyType({})) -> Rows:
    """What to buy where, in whole packs; `titles` for parts that nobody offers."""
    head = ("Supplier", "Part", "Packs", "Price", "Left over")
    if found is None:
        return Rows(head=head, rows=())
    first = {one.offer.part_id: n for n, one in reversed(list(enumerate(found.purchases)))}
    rows = [
        (
            one.offer.supplier or "–", one.offer.called, pack_words(one),
            format_money(one.packs * one.offer.price, one.offer.currency),
            about_text(found.left_over[one.offer.part_id], one.offer.unit)
            if first[one.offer.part_id] == n and one.offer.part_id in found.left_over else "",
        )
        for n, one in enumerate(found.purchases)
    ]  # fmt: skip
    rows += [
        (name, "postage", "", format_money(cost, found.currency), "")
        for name, cost in found.postage.items()
        if cost
    ]
    notes = (
        [
            f"Goods {format_money(found.goods, found.currency)}, with postage {format_money(found.total, found.currency)}."
        ]
        if rows
        else []
    )
    notes += [
        f"Nobody offers {titles.get(part, part)}: {amount:.4g} lacking."
        for part, amount in found.unmet.items()
    ]
    return Rows(head=head, rows=tuple(rows), notes=tuple(notes))


def pack_words(one: Purchase) -> str:
    """How many packs of what; of single pieces only how many."""
    offer = one.offer
    if offer.pack_size == 1.0 and offer.unit == "pieces":
        return str(one.packs)
    return f"{one.packs} of {amount_text(offer.pack_size, offer.unit)}"


def carried_rows(lines: Iterable[Carried], currency: str | None, *, fate: bool = True) -> Rows:
    """Lines with what becomes of them; columns in which nothing would stand are left out."""
    rows = [
        (one.fate if fate else "", one.line.what, amount_words(one.line), "" if one.fate == "stays" else money(one.cost, currency), one.note)
        for one in lines
    ]  # fmt: skip
    head = ("It", "Line", "Amount", "Cost", "Note")
    told = [n for n in range(len(head)) if any(row[n] for row in rows)]
    return Rows(head=tuple(head[n] for n in told), rows=tuple(tuple(row[n] for n in told) for row in rows))


def step_rows(found: CarryOver) -> Rows:
    """The step against the new version from nothing."""
    if found.currency is None:
        return Rows(head=("", "The step", "From nothing"), rows=())
    currency = found.currency
    rows = [
        (
            "one driver, its share of packs",
            money(found.step.usual, currency),
            money(found.fresh.usual, currency),
        )
    ]
    if found.to_pay is not None:
        rows.append(
            (
                f"to pay for {count(found.units, 'driver')}, whole packs",
                money(found.to_pay, currency),
                money(found.to_pay_fresh, currency),
            )
        )
    notes = [
        "Material, printing and rework. Work is not counted: nobody can say how long it takes to take a driver apart.",
        f"To print: {found.printed_g:.1f}{THIN}g in {hours_words(found.print_hours)}." if found.printed_g else "",
        spread_words(found.step, currency),
        f"What is left over of one driver is worth {format_money(found.worth_left, currency)}." if found.worth_left >= 0.005 else "",
    ]  # fmt: skip
    return Rows(
        head=("", "The step", "From nothing"), rows=tuple(rows), notes=tuple(note for note in notes if note)
    )


def amount_words(line: BillLine) -> str:
    """An amount with its unit and, of what is computed, half its 95 % interval; of several prints how many."""
    if line.unit == "pieces":
        return f"{line.amount:g}"
    value, half = line.amount, 2.0 * line.u_amount
    digits = 2 if value < 10.0 else 1
    spread = f"{THIN}±{THIN}{half:.{digits}f}" if half >= 0.5 * 10.0**-digits else ""
    return f"{value:.{digits}f}{spread}{THIN}{line.unit}"


def range_words(one: PricedLine, currency: str | None) -> str:
    """Lowest to highest cost of a line by supplier; empty where there is but one."""
    if currency is None or one.low is None or one.high is None or one.high - one.low < 0.005:
        return ""
    return f"{format_money(one.low, currency).split(THIN)[0]} to {format_money(one.high, currency)}"


def money(value: float | None, currency: str | None) -> str:
    """A sum, or a dash where it is not known."""
    return "–" if value is None or currency is None else format_money(value, currency)


def hours_words(hours: float) -> str:
    """Hours of work or printing."""
    return f"{hours:.1f}{THIN}h" if hours >= 1.0 else f"{60.0 * hours:.0f}{THIN}min"
