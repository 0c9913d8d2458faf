"""``[costs]``, ``[[suppliers]]`` and ``[[exchange]]`` of ``workshop.toml``: what printing and work cost, what an order costs beside the
goods, and what one currency is in another.
"""

from __future__ import annotations

from typing import ClassVar, Self

from pydantic import model_validator

from halfroll.workshop.fields import Amount, Currency, Date, Quantity, Table, Text, refuse


class CostsTable(Table):
    """``[costs]``: the currency bills are made out in, and what an hour of printing and of work costs in it."""

    kind: ClassVar[str] = "costs"

    currency: Currency
    printer_per_hour: Amount = 0.0
    work_per_hour: Amount = 0.0


class SupplierTable(Table):
    """``[[suppliers]]``: postage of an order, and from which value of goods on there is none."""

    kind: ClassVar[str] = "supplier"

    name: Text
    postage: Amount = 0.0
    free_from: Amount | None = None
    currency: Currency


class ExchangeTable(Table):
    """``[[exchange]]``: one unit of one currency gives so many of another, as read on a day."""

    kind: ClassVar[str] = "exchange"

    one: Currency
    gives: Quantity
    of: Currency
    date: Date

    @model_validator(mode="after")
    def _two_currencies(self) -> Self:
        if self.one == self.of:
            refuse("of", "must be another currency than the one that is changed", self.of)
        return self
