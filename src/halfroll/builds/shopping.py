"""What to buy where so that the whole costs least: pack sizes, several suppliers, postage, postage free from a value on."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Protocol

from halfroll.builds.shopping_programme import Programme, solve
from halfroll.builds.types import Offer, Purchase, ShoppingList, Supplier
from halfroll.core.errors import InputError
from halfroll.core.money import DECIMALS, format_money, is_currency, near, rounded
from halfroll.core.verdicts import Severity, Verdict

SECONDS = 10.0
"""The search may take so long; a kit of sixty parts takes about a second."""

PARTS_OF_COIN = 100
"""Prices are counted in hundredths of the smallest coin: converted prices of small things are not rounded away."""


class Converts(Protocol):
    """Turns money of one currency into another, or raises `InputError` where no rate is stated."""

    def to(self, amount: float, currency_from: str, currency_to: str, /) -> float:
        """`amount` of one currency in the other."""


def shopping_list(
    needs: Mapping[str, float], offers: Mapping[str, Sequence[Offer]], suppliers: Mapping[str, Supplier], *,
    currency: str, exchange: Converts, seconds: float = SECONDS,
) -> ShoppingList:  # fmt: skip
    """Whole packs that meet all needs at the lowest total of goods and postage.

    Of lists that cost the same the one with the fewest left-overs is taken (in shares of the needs), then the fewest suppliers, then the
    first names. More than is needed is bought where it makes the postage free and the whole cheaper.

    Parameters
    ----------
    needs
        By part, in the part's unit (pieces, m, g); 0 and less is no need. A need is met when no more than a millionth is lacking.
    offers
        By part; parts that are not needed may stand in it. A part without an offer goes to `unmet`.
    suppliers
        By name: postage and the value from which it is free. Of one that is not in it no postage is known (``postage-unknown``).
    currency
        Of the totals. Each price of a pack and each postage is converted first, then multiplied.
    exchange
        Converts; an offer or postage it has no rate for is left out and said (``no-exchange-rate``).
    seconds
        The search stops after it with the best list found and says what it may be off (``shopping-not-proved``).

    Raises
    ------
    InputError
        A need, price, pack or postage is no number or below 0, a pack holds nothing, a currency is unknown.
    """
    _check_currency(currency, "the shopping list")
    wanted = {part: _need(part, amount) for part, amount in sorted(needs.items())}
    wanted = {part: amount for part, amount in wanted.items() if amount > 0.0}
    notes: list[Verdict] = []
    usable, sellers = _usable(wanted, offers, suppliers, currency, exchange, notes)
    met = {part: amount for part, amount in wanted.items() if any(o.part_id == part for o in usable)}
    case = _programme(met, usable, sellers, currency, exchange)
    answer = solve(case, seconds=seconds)
    coin = _ticks_per_unit(currency)
    if answer.gap:
        notes.append(_not_proved(answer.gap / coin, currency))
    postage = dict(zip(sellers, case.postage_of(answer.packs), strict=True))
    bought = {offer.supplier for offer, packs in zip(usable, answer.packs, strict=True) if packs}
    goods = rounded(sum(p * n for p, n in zip(case.price, answer.packs, strict=True)) / coin, currency)
    by_supplier = {name: rounded(cost / coin, currency) for name, cost in postage.items() if name in bought}
    purchases = tuple(Purchase(offer=o, packs=n) for o, n in zip(usable, answer.packs, strict=True) if n)
    left = {
        part: got - met[part]
        for part, got in zip(met, case.got(answer.packs), strict=True)
        if got - met[part] > 1e-6 * met[part]
    }
    return ShoppingList(
        purchases=tuple(sorted(purchases, key=lambda p: (p.offer.supplier, p.offer.part_id, -p.offer.pack_size))),
        postage=by_supplier, currency=currency, goods=goods,
        total=rounded(goods + sum(by_supplier.values()), currency), left_over=left,
        unmet={part: amount for part, amount in wanted.items() if part not in met}, verdicts=tuple(notes),
    )  # fmt: skip


def _need(part: str, amount: float) -> float:
    if not math.isfinite(amount):
        raise InputError("What is needed of a part must be a number", key=part, found=f"{amount}")
    return float(amount)


def _check_currency(currency: str, of: str) -> None:
    if not is_currency(currency):
        raise InputError(f"The currency of {of} must be one of ISO 4217", found=repr(currency),
                         allowed=near(currency) or ["EUR", "GBP", "USD"])  # fmt: skip


def _check_offer(offer: Offer) -> None:
    of = f"{offer.part_id} from {offer.supplier or 'no named supplier'}"
    if not (math.isfinite(offer.price) and offer.price >= 0.0):
        raise InputError(f"The price of {of} must be 0 or more", key="price", found=f"{offer.price:g}")
    if not (math.isfinite(offer.pack_size) and offer.pack_size > 0.0):
        raise InputError(
            f"A pack of {of} must hold more than 0", key="pack_size", found=f"{offer.pack_size:g}"
        )
    _check_currency(offer.currency, of)


def _check_supplier(supplier: Supplier) -> None:
    for key, amount in (("postage", supplier.postage), ("free_from", supplier.free_from)):
        if amount is not None and not (math.isfinite(amount) and amount >= 0.0):
            raise InputError(f"{key} of {supplier.name} must be 0 or more", key=key, found=f"{amount:g}")
    if supplier.currency:
        _check_currency(supplier.currency, supplier.name)


def _usable(
    wanted: Mapping[str, float], offers: Mapping[str, Sequence[Offer]], suppliers: Mapping[str, Supplier],
    currency: str, exchange: Converts, notes: list[Verdict],
) -> tuple[list[Offer], dict[str, Supplier]]:  # fmt: skip
    """Offers of what is wanted whose money can be turned into the list's, in the order that breaks the last tie, and who sells them."""
    chosen: list[Offer] = []
    sellers: dict[str, Supplier] = {}
    for offer in (offer for part in wanted for offer in offers.get(part, ())):
        _check_offer(offer)
        supplier = suppliers.get(offer.supplier, Supplier(name=offer.supplier))
        _check_supplier(supplier)
        own = supplier.currency or currency
        try:
            exchange.to(1.0, offer.currency, currency)
            exchange.to(1.0, own, currency)
            exchange.to(1.0, offer.currency, own)
        except InputError as error:
            notes.append(_without_rate(offer, currency, error))
            continue
        if offer.supplier not in suppliers and offer.supplier not in sellers:
            notes.append(_postage_unknown(offer))
        sellers[offer.supplier] = supplier
        chosen.append(offer)
    chosen.sort(key=lambda o: (o.supplier, o.part_id, -o.pack_size, o.price, o.currency))
    return chosen, {name: sellers[name] for name in sorted(sellers)}


def _programme(
    met: Mapping[str, float],
    usable: Sequence[Offer],
    sellers: Mapping[str, Supplier],
    currency: str,
    exchange: Converts,
) -> Programme:
    parts, names = list(met), list(sellers)
    own = {name: supplier.currency or currency for name, supplier in sellers.items()}

    def ticks(amount: float, given: str, wanted: str) -> int:
        return _ticks(amount if given == wanted else exchange.to(amount, given, wanted), wanted)

    return Programme(
        needs=tuple(met.values()),
        part=tuple(parts.index(offer.part_id) for offer in usable),
        seller=tuple(names.index(offer.supplier) for offer in usable),
        pack=tuple(float(offer.pack_size) for offer in usable),
        price=tuple(ticks(offer.price, offer.currency, currency) for offer in usable),
        value=tuple(ticks(offer.price, offer.currency, own[offer.supplier]) for offer in usable),
        postage=tuple(
            _ticks(rounded(ticks(s.postage, own[s.name], currency) / _ticks_per_unit(currency), currency), currency)
            for s in sellers.values()
        ),
        free_from=tuple(None if s.free_from is None else _ticks(s.free_from, own[s.name]) for s in sellers.values()),
    )  # fmt: skip


def _ticks_per_unit(currency: str) -> int:
    return int(10 ** DECIMALS[currency]) * PARTS_OF_COIN


def _ticks(amount: float, currency: str) -> int:
    """An amount in whole hundredths of the smallest coin, exact for what is written with so many decimals."""
    exact = Decimal(repr(float(amount))) * _ticks_per_unit(currency)
    return int(exact.to_integral_value(rounding=ROUND_HALF_UP))


def _without_rate(offer: Offer, currency: str, error: InputError) -> Verdict:
    return Verdict(
        code="no-exchange-rate", severity=Severity.CAUTION,
        text=f"{offer.part_id} from {offer.supplier} at {format_money(offer.price, offer.currency)} was left out: {error.message}.",
        remedy=error.remedy or f"State what 1 {offer.currency} is in {currency} in workshop.toml",
        data={"part": offer.part_id, "supplier": offer.supplier, "currency": offer.currency},
    )  # fmt: skip


def _postage_unknown(offer: Offer) -> Verdict:
    name = offer.supplier
    return Verdict(
        code="postage-unknown", severity=Severity.NOTE,
        text=f"No postage of {name} is stated; it was counted as 0." if name else
        f"Who sells {offer.called} is not said, so its postage was counted as 0.",
        remedy="Add the supplier with its postage to workshop.toml" if name else f"Write the supplier into parts/{offer.part_id}.toml",
        data={"supplier": name, "part": offer.part_id},
    )  # fmt: skip


def _not_proved(gap: float, currency: str) -> Verdict:
    return Verdict(
        code="shopping-not-proved", severity=Severity.CAUTION,
        text=f"The search was stopped by its time. The list is sound, but another may cost up to {format_money(gap, currency)} less.",
        remedy="Plan fewer parts at once, or leave out offers that are no use", data={"gap": gap, "currency": currency},
    )  # fmt: skip
