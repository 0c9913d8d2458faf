"""What a batch of kits takes, costs and brings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from halfroll.builds.bill.costing import shopping_dict
from halfroll.builds.types import BillLine, ShoppingList
from halfroll.core.verdicts import Verdict
from halfroll.workshop.kit_record import KitRecord
from halfroll.workshop.part_record import PackUnit

Limit = Literal["stock", "never counted"]


@dataclass(frozen=True, kw_only=True)
class KitNeed:
    """One part of one kit.

    Parameters
    ----------
    amount, spare
        What the drivers and extras take of it, and what is put in beside; in `unit`.
    uses
        What it is for, in words.
    place
        Where it lies in the workshop; empty where nobody said.
    magnet
        Whether it is a magnet, of which the bag must warn.
    """

    part_id: str
    title: str
    unit: PackUnit
    amount: float
    spare: float = 0.0
    uses: tuple[str, ...] = ()
    place: str = ""
    magnet: bool = False

    @property
    def per_kit(self) -> float:
        """What goes into one bag."""
        return self.amount + self.spare


@dataclass(frozen=True, kw_only=True)
class KitPart:
    """A part in a batch: what one kit takes, what the batch takes, what is in stock, and how many kits that allows.

    `unit_price` is in the currency of the kit's price, for one `unit`; None where no offer is known. `stock` is None where the part was
    never counted, which allows no kit.
    """

    need: KitNeed
    needed: float
    stock: float | None
    allows: int
    unit_price: float | None = None

    @property
    def lacking(self) -> float:
        """What the stock does not hold of it."""
        return max(0.0, self.needed - max(0.0, self.stock or 0.0))

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        need = self.need
        return {
            "part": need.part_id, "title": need.title, "unit": need.unit, "per_kit": need.per_kit, "spare": need.spare,
            "uses": list(need.uses), "place": need.place or None, "needed": self.needed, "stock": self.stock, "allows": self.allows,
            "lacking": self.lacking, "unit_price": self.unit_price,
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class PriceLine:
    """A line of a price: `key` for machines, words, and an amount rounded to the coin."""

    key: str
    what: str
    amount: float
    sum: bool = False


@dataclass(frozen=True, kw_only=True)
class KitPrice:
    """The price of one kit as lines that add up to the coin.

    `cost`, `net`, `total` are sums: what it costs, the price without tax and postage, what the builder pays. `margin_percent` is what the
    margin comes to after rounding, of the cost and of the net price.
    """

    currency: str
    lines: tuple[PriceLine, ...]
    cost: float
    net: float
    total: float
    margin_of_cost_percent: float | None
    margin_of_price_percent: float | None

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        return {
            "currency": self.currency, "cost": self.cost, "net": self.net, "total": self.total,
            "margin_of_cost_percent": self.margin_of_cost_percent, "margin_of_price_percent": self.margin_of_price_percent,
            "lines": [{"key": one.key, "what": one.what, "amount": one.amount} for one in self.lines],
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class KitPlan:
    """A batch of `n` kits.

    Parameters
    ----------
    parts
        What goes into the bags, in the order of places and ids.
    allowed
        How many kits the stock allows; 0 where a part was never counted or nothing is in the bag.
    limiting
        Parts that allow no more than that.
    shopping
        What to buy for the batch where, at the lowest total, after the stock.
    left_over
        What is in stock after the batch is bought for and packed, by part.
    by_builder
        What the builder prints, of one kit.
    missing
        Bought things no part record says anything of: they are in neither bag nor price.
    price
        None where the kit has no ``[price]``.
    """

    kit_id: str
    record: KitRecord
    n: int
    parts: tuple[KitPart, ...]
    allowed: int
    limiting: tuple[str, ...]
    shopping: ShoppingList
    left_over: Mapping[str, float]
    by_builder: tuple[tuple[int, BillLine], ...] = ()
    missing: tuple[str, ...] = ()
    price: KitPrice | None = None
    verdicts: tuple[Verdict, ...] = field(default=())

    def as_dict(self) -> dict[str, Any]:
        """For a machine; amounts of parts in their own unit, money in `currency`."""
        shop = self.shopping
        return {
            "kit": self.kit_id, "title": self.record.title, "kits": self.n, "allowed_by_stock": self.allowed,
            "limiting_parts": list(self.limiting), "parts": [part.as_dict() for part in self.parts],
            "shopping": shopping_dict(shop), "left_over": dict(self.left_over),
            "printed_by_the_builder": [
                {"what": line.what, "pieces": count * line.pieces, "grams": count * line.amount} for count, line in self.by_builder
            ],
            "missing": list(self.missing), "price": None if self.price is None else self.price.as_dict(),
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip
