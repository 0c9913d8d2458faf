"""What a version costs: every line at what suppliers ask, printing and work, for one driver and for a number of them in whole packs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from halfroll.builds.bill.amounts import Amounts, amounts_of
from halfroll.builds.bill.costing import Costing, PricedLine, Spread, needs_of, shop, shopping_dict
from halfroll.builds.types import ShoppingList
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.part_cost import price_verdicts

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

FEWEST, MOST = 1, 100_000


@dataclass(frozen=True, kw_only=True)
class Bill:
    """What one driver of a version is made of and costs, and what must be paid for `units` of them.

    Parameters
    ----------
    lines, tools
        What goes into every driver, and what is made once for all of them (jigs), which no driver's cost holds.
    currency
        Of all sums; None where nothing has a price.
    material, total
        Of one driver: the lines alone, and with printing and work.
    print_hours, printer_cost, work_hours, work_cost
        Of one driver. Hours of printing leave out prints whose hours nobody told (`hours_unknown`).
    other
        What is asked in currencies without a rate, and so is in no sum.
    shopping
        Whole packs for `units` drivers, None where there is no currency to count in; `for_units` adds printing and work.
    oldest
        Day of the oldest price.
    """

    version_id: str
    title: str
    units: int
    amounts: Amounts
    lines: tuple[PricedLine, ...]
    tools: tuple[PricedLine, ...]
    currency: str | None
    material: Spread
    total: Spread
    print_hours: float
    hours_unknown: tuple[str, ...]
    printer_cost: float
    work_hours: float | None
    work_cost: float
    other: Mapping[str, float]
    missing: tuple[str, ...]
    shopping: ShoppingList | None
    for_units: float | None
    oldest: dt.date | None
    verdicts: tuple[Verdict, ...] = field(default=())

    @property
    def printed_g(self) -> float:
        """Grams of prints in one driver."""
        return sum(
            one.line.amount for one in self.lines if one.line.kind == "printed" and one.line.unit == "g"
        )

    def as_dict(self) -> dict[str, Any]:
        """For a machine; hours and grams carry their unit in the key, sums are in `currency`."""
        return {
            "version": self.version_id, "units": self.units, "currency": self.currency, "material": asdict(self.material),
            "total": asdict(self.total), "print_hours": self.print_hours, "hours_unknown": list(self.hours_unknown),
            "printer_cost": self.printer_cost, "work_hours": self.work_hours, "work_cost": self.work_cost, "printed_g": self.printed_g,
            "other": dict(self.other), "missing": list(self.missing), "oldest_price": self.oldest, "for_units": self.for_units,
            "lines": [one.as_dict() for one in self.lines], "tools": [one.as_dict() for one in self.tools],
            "shopping": shopping_dict(self.shopping), "verdicts": [one.as_dict() for one in self.verdicts],
        }  # fmt: skip


def bill_of(
    workshop: Workshop,
    version_id: str,
    *,
    today: dt.date,
    units: int = 1,
    buy: bool = True,
    progress: Progress = silent,
) -> Bill:
    """The bill of a version.

    Parameters
    ----------
    today
        Prices are judged old by it.
    units
        How many drivers whole packs are bought for.
    buy
        Whether whole packs are looked for; without it the bill is of one driver only.

    Raises
    ------
    InputError
        There is no such version, it has neither a design nor a bill, what it says cannot be, or `units` is no number of drivers.
    """
    check_units(units)
    costing = Costing.of(workshop)
    amounts = amounts_of(workshop, version_id, owned=costing.owned, progress=progress)
    lines = tuple(costing.priced(one) for one in amounts.lines)
    tools = tuple(costing.priced(one) for one in amounts.tools)
    hours = sum(one.hours or 0.0 for one in amounts.lines)
    unknown = tuple(one.key for one in amounts.lines if one.kind == "printed" and one.hours is None)
    printer, work = costing.printer_per_hour * hours, costing.work_per_hour * (amounts.work_hours or 0.0)
    shopping = shop(needs_of(amounts.lines, units), costing) if buy else None
    dates = [one.date for one in lines if one.date is not None]
    return Bill(
        version_id=version_id, title=title_of(workshop, version_id), units=units, amounts=amounts, lines=lines, tools=tools,
        currency=costing.currency, material=Spread.over(lines), total=Spread.over(lines, printer + work), print_hours=hours,
        hours_unknown=unknown, printer_cost=printer, work_hours=amounts.work_hours, work_cost=work, other=_other(lines, costing),
        missing=tuple(one.line.key for one in lines if one.usual is None), shopping=shopping,
        for_units=None if shopping is None else shopping.total + units * (printer + work), oldest=min(dates, default=None),
        verdicts=tuple(_verdicts(amounts, lines, costing, unknown, shopping, today)),
    )  # fmt: skip


def check_units(units: int) -> None:
    """Refuse what is no number of drivers."""
    if not FEWEST <= units <= MOST:
        raise InputError(
            "The number of units must be a whole number of drivers",
            key="units",
            found=f"{units}",
            allowed=f"{FEWEST} to {MOST}",
        )


def title_of(workshop: Workshop, version_id: str) -> str:
    """Driver's title and version's name."""
    driver, _, name = version_id.partition("/")
    return f"{workshop.driver(driver).record.title} {name}"


def _other(lines: Sequence[PricedLine], costing: Costing) -> dict[str, float]:
    """What usual offers ask in currencies without a rate."""
    found: dict[str, float] = {}
    for one in lines:
        offers = costing.offers.get(one.line.part_id or "", ())
        if one.usual is None and offers:
            first = offers[0]
            found[first.currency] = (
                found.get(first.currency, 0.0) + one.line.amount * first.price / first.pack_size
            )
    return found


def _verdicts(
    amounts: Amounts, lines: Sequence[PricedLine], costing: Costing, unknown: Sequence[str], shopping: ShoppingList | None, today: dt.date
) -> Iterator[Verdict]:  # fmt: skip
    yield from amounts.verdicts
    told: set[str] = set()
    for one in lines:
        part_id = one.line.part_id
        if part_id is None or part_id in told:
            continue
        told.add(part_id)
        if part_id not in costing.offers or costing.owned.parts[part_id].record.price is not None:
            yield from price_verdicts(costing.owned.parts[part_id].record, today, part_id)
        yield from _without_rate(part_id, costing)
    if unknown:
        yield Verdict(
            code="print-hours-unknown", severity=Severity.NOTE, data={"parts": list(unknown)},
            text=f"Nobody said how long {', '.join(unknown)} take{'s' if len(unknown) == 1 else ''} to print; the cost of printing leaves "
                 f"{'it' if len(unknown) == 1 else 'them'} out.",
            remedy="Type the slicer's hours into [[bill.printed]]",
        )  # fmt: skip
    guessed = [one.key for one in amounts.lines if one.hours_source == "estimated"]
    if guessed and costing.printer_per_hour > 0.0:
        yield Verdict(
            code="print-hours-estimated", severity=Severity.NOTE, data={"parts": guessed},
            text=f"Hours of printing of {', '.join(guessed)} are estimated from their volume and may be off by half.",
            remedy="Type the slicer's hours into [[bill.printed]]",
        )  # fmt: skip
    yield from (
        () if shopping is None else (one for one in shopping.verdicts if one.code != "no-exchange-rate")
    )


def _without_rate(part_id: str, costing: Costing) -> Iterator[Verdict]:
    currency = costing.currency
    bare = {
        one.currency
        for one in costing.offers.get(part_id, ())
        if currency and costing.exchange.rate(one.currency, currency) is None
    }
    for one in sorted(bare):
        yield Verdict(
            code="no-exchange-rate", severity=Severity.CAUTION, data={"part": part_id, "currency": one, "into": currency},
            text=f"An offer of {part_id} is in {one}, and no rate from {one} to {currency} is stated; it is in no sum.",
            remedy="State the rate as [[exchange]] in workshop.toml",
        )  # fmt: skip
