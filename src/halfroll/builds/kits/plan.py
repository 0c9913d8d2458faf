"""A batch of kits: how many the stock allows, what to buy for the rest, what one costs and what is left over."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from halfroll.builds.bill.amounts import amounts_of
from halfroll.builds.bill.exchange import Exchange, offers_in, suppliers_of
from halfroll.builds.kits.needs import KitNeeds, kit_needs
from halfroll.builds.kits.price import price_of
from halfroll.builds.kits.types import KitNeed, KitPart, KitPlan, KitPrice
from halfroll.builds.shopping import Converts, shopping_list
from halfroll.builds.types import BillLine, Offer, ShoppingList, Supplier
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import count, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.kit_record import KitRecord
from halfroll.workshop.kits import check_names, load_kit
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.parts import OwnParts, own_parts
from halfroll.workshop.records import CostsTable
from halfroll.workshop.standing import Standing
from halfroll.workshop.stock import standings

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

MOST_KITS = 10_000
USUAL_CURRENCY = "EUR"
"""Of a kit without a price in a workshop without stated costs and without prices; only zeros are ever said in it."""


def plan(workshop: Workshop, kit_id: str, n: int, *, progress: Progress = silent) -> KitPlan:
    """A batch of `n` kits of a workshop.

    Raises
    ------
    InputError
        There is no such kit, version or part, a version has no bill, the movements of the stock cannot be read, or `n` is not 1 to
        10 000.
    """
    check_number(n)
    loaded = load_kit(workshop, kit_id)
    owned = own_parts(workshop)
    check_names(workshop, loaded, owned)
    bills = {
        one.version: amounts_of(workshop, one.version, owned=owned, progress=progress).lines
        for one in loaded.record.drivers
    }
    return plan_with(
        loaded, n, bills=bills, owned=owned, stock=standings(workshop), offers=offers_in(owned), suppliers=suppliers_of(workshop),
        costs=workshop.workshop_record().record.costs, exchange=Exchange.of(workshop),
    )  # fmt: skip


def check_number(n: int) -> None:
    """Refuse a number of kits that is none."""
    if not 1 <= n <= MOST_KITS:
        raise InputError(
            "The number of kits must be a whole number", found=str(n), allowed=f"1 to {MOST_KITS}"
        )


def plan_with(
    loaded: Loaded[KitRecord], n: int, *, bills: Mapping[str, Sequence[BillLine]], owned: OwnParts, stock: Mapping[str, Standing],
    offers: Mapping[str, Sequence[Offer]], suppliers: Mapping[str, Supplier], costs: CostsTable | None, exchange: Converts,
) -> KitPlan:  # fmt: skip
    """The same of what was read already. Computes only."""
    kit = loaded.record
    takes = kit_needs(kit, bills, owned)
    currency = _currency(kit, costs, offers)
    parts = tuple(_part(one, n, stock.get(one.part_id), offers, currency, exchange) for one in takes.needs)
    allowed = min((part.allows for part in parts), default=0)
    lacking = {part.need.part_id: part.lacking for part in parts}
    shopping = shopping_list(lacking, offers, suppliers, currency=currency, exchange=exchange)
    return KitPlan(
        kit_id=loaded.id, record=kit, n=n, parts=parts, allowed=allowed,
        limiting=tuple(part.need.part_id for part in parts if part.allows == allowed), shopping=shopping,
        left_over=_left_over(parts, shopping), by_builder=takes.by_builder, missing=takes.missing,
        price=_price(kit, parts, takes, costs, exchange), verdicts=_verdicts(kit, parts, takes, stock, costs, shopping),
    )  # fmt: skip


def _currency(kit: KitRecord, costs: CostsTable | None, offers: Mapping[str, Sequence[Offer]]) -> str:
    """The money of a plan: the price's, else that of the workshop's costs, else of the first offer."""
    if kit.price is not None:
        return kit.price.currency
    if costs is not None:
        return costs.currency
    return next((one.currency for own in offers.values() for one in own), USUAL_CURRENCY)


def _part(
    need: KitNeed, n: int, standing: Standing | None, offers: Mapping[str, Sequence[Offer]], currency: str, exchange: Converts
) -> KitPart:  # fmt: skip
    held = None if standing is None else standing.amount
    allows = math.floor(max(0.0, held or 0.0) / need.per_kit + 1e-9) if need.per_kit > 0 else MOST_KITS
    return KitPart(
        need=need, needed=n * need.per_kit, stock=held, allows=allows,
        unit_price=_unit_price(offers.get(need.part_id, ()), currency, exchange),
    )  # fmt: skip


def _unit_price(offers: Sequence[Offer], currency: str, exchange: Converts) -> float | None:
    """The usual price of one unit: of the first offer whose money can be turned into the kit's."""
    for one in offers:
        try:
            return exchange.to(one.price, one.currency, currency) / one.pack_size
        except InputError:
            continue
    return None


def _left_over(parts: Sequence[KitPart], shopping: ShoppingList) -> dict[str, float]:
    bought: dict[str, float] = {}
    for one in shopping.purchases:
        bought[one.offer.part_id] = bought.get(one.offer.part_id, 0.0) + one.amount
    left = {
        part.need.part_id: max(0.0, part.stock or 0.0) + bought.get(part.need.part_id, 0.0) - part.needed
        for part in parts
    }
    return {part: round(amount, 6) for part, amount in left.items() if amount > 1e-6}


def _price(
    kit: KitRecord, parts: Sequence[KitPart], takes: KitNeeds, costs: CostsTable | None, exchange: Converts
) -> KitPrice | None:
    if kit.price is None:
        return None
    materials = sum((part.unit_price or 0.0) * part.need.per_kit for part in parts)
    printing = work = 0.0
    if costs is not None:
        printing = exchange.to(costs.printer_per_hour * takes.print_hours, costs.currency, kit.price.currency)
        work = exchange.to(costs.work_per_hour * kit.price.packing_hours, costs.currency, kit.price.currency)
    return price_of(kit.price, materials=materials, printing=printing, work=work)


def _verdicts(
    kit: KitRecord, parts: Sequence[KitPart], takes: KitNeeds, stock: Mapping[str, Standing], costs: CostsTable | None,
    shopping: ShoppingList,
) -> tuple[Verdict, ...]:  # fmt: skip
    said: list[Verdict] = []
    if takes.missing:
        said.append(Verdict(
            code="kit-part-missing", severity=Severity.CAUTION, data={"missing": list(takes.missing)},
            text=f"No part record says what {join_words(takes.missing)} {_is(takes.missing)} bought as: left out of bag, shopping and price.",
            remedy="Add the part, or write it under leave_out if the builder brings it",
        ))  # fmt: skip
    unpriced = [part.need.part_id for part in parts if part.unit_price is None]
    if unpriced and kit.price is not None:
        said.append(Verdict(
            code="kit-not-priced", severity=Severity.CAUTION, data={"parts": unpriced},
            text=f"No price in {kit.price.currency} is known of {join_words(unpriced)}: the kit's price is too low by what they cost.",
            remedy="State price, currency and pack size in the part's record, or the rate of exchange",
        ))  # fmt: skip
    if takes.unused:
        said.append(Verdict(
            code="kit-nothing-left-out", severity=Severity.NOTE, data={"names": list(takes.unused)},
            text=f"{join_words(takes.unused)} {_is(takes.unused)} to be left out, but {'is' if len(takes.unused) == 1 else 'are'} in no bill of the kit.",
            remedy="Mend the name under leave_out: a part, or a name as the bill has it",
        ))  # fmt: skip
    if kit.price is not None and costs is None and (takes.print_hours or kit.price.packing_hours):
        said.append(Verdict(
            code="kit-hours-free", severity=Severity.NOTE, data={"print_hours": takes.print_hours, "packing_hours": kit.price.packing_hours},
            text="Hours of printing and packing cost nothing in this price: the workshop does not say what an hour costs.",
            remedy="State [costs] in workshop.toml",
        ))  # fmt: skip
    never = [part.need.part_id for part in parts if part.stock is None]
    if never:
        said.append(Verdict(
            code="stock-not-counted", severity=Severity.NOTE, data={"parts": never},
            text=f"{join_words(never)} {'was' if len(never) == 1 else 'were'} never counted, so the plan takes it that there is none.",
            remedy=f"Count {count(len(never), 'part')} and book it as counted",
        ))  # fmt: skip
    for part in parts:
        if part.need.part_id in stock:
            said += stock[part.need.part_id].verdicts
    return (*said, *shopping.verdicts)


def _is(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"
