"""What things cost in a workshop: every line at what suppliers ask, in one currency, and whole packs at the lowest total."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from halfroll.builds.bill.exchange import Exchange, offers_in, suppliers_of
from halfroll.builds.shopping import shopping_list
from halfroll.builds.types import BillLine, Offer, ShoppingList, Supplier
from halfroll.workshop.parts import OwnParts, own_parts
from halfroll.workshop.records import CostsTable

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class Asked:
    """An offer in the bill's currency: what a unit of the part costs (per piece, m or g), and whether that was converted."""

    offer: Offer
    each: float
    converted: bool = False


@dataclass(frozen=True, kw_only=True)
class PricedLine:
    """A line with what it costs in the bill's currency, as its share of a pack: the usual offer (the first), the lowest, the highest.

    `u` is the standard uncertainty of `usual` that comes from the amount. All are None where nobody offers it, or in a currency without a
    stated rate.
    """

    line: BillLine
    asked: tuple[Asked, ...]
    usual: float | None = None
    low: float | None = None
    high: float | None = None
    u: float | None = None

    @property
    def date(self) -> dt.date | None:
        """Day of the usual offer."""
        return self.asked[0].offer.date if self.asked else None

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        line = asdict(self.line)
        return {
            **line,
            "cost": {"usual": self.usual, "low": self.low, "high": self.high, "u": self.u},
            "offers": [
                {"supplier": one.offer.supplier, "price": one.offer.price, "currency": one.offer.currency, "pack_size": one.offer.pack_size,
                 "unit": one.offer.unit, "date": one.offer.date, "each": one.each, "converted": one.converted} for one in self.asked
            ],
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Costing:
    """How a workshop's things are priced: offers, suppliers, rates, hours; the currency of its bills (None: nothing has a price)."""

    owned: OwnParts
    offers: Mapping[str, tuple[Offer, ...]]
    suppliers: Mapping[str, Supplier]
    exchange: Exchange
    currency: str | None
    printer_per_hour: float = 0.0
    work_per_hour: float = 0.0

    @staticmethod
    def of(workshop: Workshop, owned: OwnParts | None = None) -> Costing:
        """That of a workshop; without ``[costs]`` the currency is that of most offers."""
        owned = owned or own_parts(workshop)
        offers = offers_in(owned)
        stated = workshop.workshop_record().record.costs
        costs = stated or CostsTable(currency="EUR")
        used = [one[0].currency for one in offers.values()]
        usual = max(sorted(set(used)), key=used.count, default=None)
        return Costing(
            owned=owned, offers=offers, suppliers=suppliers_of(workshop), exchange=Exchange.of(workshop),
            currency=usual if stated is None else costs.currency, printer_per_hour=costs.printer_per_hour, work_per_hour=costs.work_per_hour,
        )  # fmt: skip

    def priced(self, line: BillLine) -> PricedLine:
        """A line with its offers in the currency of the bills."""
        offers = self.offers.get(line.part_id, ()) if line.part_id is not None else ()
        asked = tuple(one for offer in offers if (one := self._asked(offer)) is not None)
        if not asked or asked[0].offer is not offers[0]:
            return PricedLine(line=line, asked=asked)
        costs = [one.each * line.amount for one in asked]
        return PricedLine(
            line=line,
            asked=asked,
            usual=costs[0],
            low=min(costs),
            high=max(costs),
            u=asked[0].each * line.u_amount,
        )

    def _asked(self, offer: Offer) -> Asked | None:
        if self.currency is None or self.exchange.rate(offer.currency, self.currency) is None:
            return None
        price = self.exchange.to(offer.price, offer.currency, self.currency)
        return Asked(offer=offer, each=price / offer.pack_size, converted=offer.currency != self.currency)


@dataclass(frozen=True, kw_only=True)
class Spread:
    """A cost as its usual, lowest and highest by supplier, and the standard uncertainty of the usual from the amounts."""

    usual: float
    low: float
    high: float
    u: float = 0.0

    @staticmethod
    def over(lines: Iterable[PricedLine], more: float = 0.0) -> Spread:
        """The sum of lines with a price, and of something that is the same whoever supplies."""
        known = [one for one in lines if one.usual is not None]
        return Spread(
            usual=more + sum(one.usual or 0.0 for one in known), low=more + sum(one.low or 0.0 for one in known),
            high=more + sum(one.high or 0.0 for one in known), u=sum((one.u or 0.0) ** 2 for one in known) ** 0.5,
        )  # fmt: skip


def needs_of(lines: Iterable[BillLine], units: int) -> dict[str, float]:
    """What `units` drivers take of each part, in its unit."""
    found: dict[str, float] = {}
    for one in lines:
        if one.part_id is not None:
            found[one.part_id] = found.get(one.part_id, 0.0) + units * one.amount
    return found


def shop(needs: Mapping[str, float], costing: Costing) -> ShoppingList | None:
    """Whole packs at the lowest total; None where nothing has a price."""
    if costing.currency is None:
        return None
    return shopping_list(
        needs, costing.offers, costing.suppliers, currency=costing.currency, exchange=costing.exchange
    )


def shopping_dict(found: ShoppingList | None) -> dict[str, Any] | None:
    """A shopping list for a machine."""
    if found is None:
        return None
    return {
        "currency": found.currency, "goods": found.goods, "total": found.total, "postage": dict(found.postage),
        "purchases": [
            {"part": one.offer.part_id, "title": one.offer.called, "supplier": one.offer.supplier, "packs": one.packs,
             "pack_size": one.offer.pack_size, "unit": one.offer.unit, "price": one.offer.price, "currency": one.offer.currency, "amount": one.amount} for one in found.purchases
        ],
        "left_over": dict(found.left_over), "unmet": dict(found.unmet), "verdicts": [one.as_dict() for one in found.verdicts],
    }  # fmt: skip
