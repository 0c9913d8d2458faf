"""Offers and suppliers of a workshop, and its stated rates of exchange. Money is never turned into other money without one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from halfroll.builds.types import Offer, Supplier
from halfroll.core.errors import InputError
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import OwnParts, own_parts
from halfroll.workshop.records import ExchangeTable

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class Rate:
    """One unit of a currency gives so many of another, as read on a day."""

    gives: float
    date: dt.date


@dataclass(frozen=True, kw_only=True)
class Exchange:
    """Stated rates by pair of currencies; the way back is the inverse. No rate is made out of two others.

    `file` is where a rate that is missing can be stated.
    """

    rates: Mapping[tuple[str, str], Rate] = field(default_factory=dict)
    file: str = ""

    @staticmethod
    def of(workshop: Workshop) -> Exchange:
        """The rates of ``workshop.toml``; of a pair stated several times the latest."""
        loaded = workshop.workshop_record()
        return Exchange(rates=_rates(loaded.record.exchange), file=str(loaded.path))

    def rate(self, currency_from: str, currency_to: str) -> Rate | None:
        """What one unit of a currency is in another; None where no rate is stated."""
        if currency_from == currency_to:
            return Rate(gives=1.0, date=dt.date.max)
        return self.rates.get((currency_from, currency_to))

    def to(self, amount: float, currency_from: str, currency_to: str, /) -> float:
        """`amount` of one currency in the other; `InputError` where no rate is stated."""
        rate = self.rate(currency_from, currency_to)
        if rate is None:
            raise InputError(
                f"No rate from {currency_from} to {currency_to} is stated", file=self.file or None, key="exchange",
                found=[f"{one} to {other}" for one, other in self.rates] or "no [[exchange]]",
                remedy=f'Add [[exchange]] with one = "{currency_from}", gives, of = "{currency_to}" and date to workshop.toml',
            )  # fmt: skip
        return amount * rate.gives


def _rates(stated: Sequence[ExchangeTable]) -> dict[tuple[str, str], Rate]:
    found: dict[tuple[str, str], Rate] = {}
    for one in sorted(stated, key=lambda table: table.date):
        found[one.one, one.of] = Rate(gives=one.gives, date=one.date)
        found[one.of, one.one] = Rate(gives=1.0 / one.gives, date=one.date)
    return found


def offers_of(workshop: Workshop) -> dict[str, tuple[Offer, ...]]:
    """What is offered of each part of one's own, by its id; the usual offer, which is the record's own price, first."""
    return offers_in(own_parts(workshop))


def offers_in(owned: OwnParts) -> dict[str, tuple[Offer, ...]]:
    """The same of parts that were read already."""
    found = {id_: tuple(_offers(id_, loaded.record)) for id_, loaded in owned.parts.items()}
    return {id_: offers for id_, offers in found.items() if offers}


def _offers(part_id: str, record: PartRecord) -> list[Offer]:
    asked = [(one.supplier, one.price, one.currency, one.pack_size, one.date) for one in record.offers]
    if record.price is not None and record.currency is not None:
        asked.insert(0, (record.supplier, record.price, record.currency, record.pack_size, record.date))
    return [
        Offer(part_id=part_id, supplier=supplier, price=price, currency=currency, pack_size=pack, date=date,
              unit=record.pack_unit, title=record.title)
        for supplier, price, currency, pack, date in asked
    ]  # fmt: skip


def suppliers_of(workshop: Workshop) -> dict[str, Supplier]:
    """Suppliers of ``workshop.toml`` by name.

    Raises
    ------
    InputError
        Two have one name.
    """
    loaded = workshop.workshop_record()
    found: dict[str, Supplier] = {}
    for one in loaded.record.suppliers:
        if one.name in found:
            raise InputError("Each supplier must stand in the list once", file=str(loaded.path), key="suppliers", found=one.name,
                             remedy="Take one of them out")  # fmt: skip
        found[one.name] = Supplier(
            name=one.name, postage=one.postage, free_from=one.free_from, currency=one.currency
        )
    return found
