"""What an amount of a part costs, and what has to be paid for it when packs cannot be split."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.types import Wire
from halfroll.materials.wire import enamel_grams_per_m, grams_per_m
from halfroll.workshop.part_record import PackUnit, PartRecord

OLD_DAYS = 365
"""A price older than that is said to be; own choice."""


@dataclass(frozen=True, kw_only=True)
class Cost:
    """What an amount costs.

    Parameters
    ----------
    amount, unit
        What is needed, in the unit of the pack.
    used
        Its share of the pack's price, `price` times amount over pack size: what the built thing is worth.
    packs, to_pay
        Whole packs that must be bought for what the stock does not hold, and their price.
    rounding
        `to_pay` less the share of what is bought for this amount: what lies over in the last pack.
    left_over
        What stays of stock and packs afterwards, in the unit of the pack.
    currency
        ISO 4217.
    verdicts
        ``no-price`` and ``old-price``.
    """

    amount: float
    unit: PackUnit
    used: float | None
    packs: int
    to_pay: float | None
    rounding: float | None
    left_over: float
    currency: str | None
    verdicts: tuple[Verdict, ...] = field(default=())

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        return {
            "amount": self.amount, "unit": self.unit, "used": self.used, "packs": self.packs, "to_pay": self.to_pay,
            "rounding": self.rounding, "left_over": self.left_over, "currency": self.currency,
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def cost(
    part: PartRecord, amount: float, today: dt.date, *, part_id: str = "", stock: float | None = None
) -> Cost:
    """What an amount of a part costs today, with what lies in stock used first.

    Parameters
    ----------
    amount
        In the part's own `pack_unit`; see `in_pack_unit` for a length of wire that is sold by mass.
    stock
        What there is by the movements booked; None takes the count of the record. Below zero counts as none.

    Raises
    ------
    InputError
        The amount is below 0 or no number.
    """
    if not 0.0 <= amount < math.inf:
        raise InputError("An amount must be 0 or more", found=f"{amount:g}")
    stock = max(0.0, part.stock or 0.0 if stock is None else stock)
    lacking = max(0.0, amount - stock)
    packs = math.ceil(lacking / part.pack_size - 1e-9)
    bought = packs * part.pack_size
    used = to_pay = rounding = None
    if part.price is not None:
        used = part.price * amount / part.pack_size
        to_pay = part.price * packs
        rounding = to_pay - part.price * lacking / part.pack_size
    return Cost(
        amount=amount, unit=part.pack_unit, used=used, packs=packs, to_pay=to_pay, rounding=rounding,
        left_over=stock + bought - amount, currency=part.currency, verdicts=price_verdicts(part, today, part_id),
    )  # fmt: skip


def price_verdicts(part: PartRecord, today: dt.date, part_id: str = "") -> tuple[Verdict, ...]:
    """What should be known of a part's price: that there is none, or that it is old or undated."""
    name = part_id or part.title or part.catalogue or part.type
    if part.price is None:
        return (Verdict(code="no-price", severity=Severity.NOTE, text=f"{name} has no price.",
                        remedy="State price, currency and pack size in its record", data={"part": part_id}),)  # fmt: skip
    if part.date is None:
        return (Verdict(code="old-price", severity=Severity.NOTE, text=f"The price of {name} has no date.",
                        remedy="State the day it was paid or read", data={"part": part_id}),)  # fmt: skip
    days = (today - part.date).days
    if days <= OLD_DAYS:
        return ()
    return (Verdict(code="old-price", severity=Severity.NOTE,
                    text=f"The price of {name} is of {part.date.isoformat()}, {days} days ago.",
                    remedy="Look it up again", data={"part": part_id, "age_days": days}),)  # fmt: skip


def in_pack_unit(part: PartRecord, *, wire: Wire | None = None, metres: float | None = None, grams: float | None = None,
                 pieces: float | None = None) -> float:  # fmt: skip
    """An amount in the unit a part is sold by; a length of wire becomes grams, or grams a length, by its mass with enamel.

    Raises
    ------
    InputError
        The amount cannot be turned into that unit.
    """
    given = {"m": metres, "g": grams, "pieces": pieces}
    amount = given[part.pack_unit]
    if amount is not None:
        return amount
    if wire is not None and part.pack_unit != "pieces":
        per_m = grams_per_m(wire) + enamel_grams_per_m(wire)
        if part.pack_unit == "g" and metres is not None:
            return metres * per_m
        if part.pack_unit == "m" and grams is not None:
            return grams / per_m
    stated = next((f"{value:g} {unit}" for unit, value in given.items() if value is not None), "nothing")
    raise InputError("The amount must be in the unit the part is sold by", key="pack_unit", found=stated,
                     allowed=part.pack_unit)  # fmt: skip
