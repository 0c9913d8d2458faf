"""``[costs]``, ``[[suppliers]]`` and ``[[exchange]]`` of ``workshop.toml``: what printing and work cost, what an order costs beside the
goods, and what one currency is in another.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.workshop.fields import Currency, Date, Positive, Table

Amount = Annotated[float, Field(ge=0)]


class CostsTable(Table):
    """``[costs]``: the currency bills are made out in, and what an hour of printing and of work costs in it."""

    kind: ClassVar[str] = "costs"

    currency: Currency
    printer_per_hour: Amount = 0.0
    work_per_hour: Amount = 0.0


class SupplierTable(Table):
    """``[[suppliers]]``: postage of an order, and from which value of goods on there is none."""

    kind: ClassVar[str] = "supplier"

    name: Annotated[str, Field(min_length=1)]
    postage: Amount = 0.0
    free_from: Amount | None = None
    currency: Currency


class ExchangeTable(Table):
    """``[[exchange]]``: one unit of one currency gives so many of another, as read on a day."""

    kind: ClassVar[str] = "exchange"

    one: Currency
    gives: Positive
    of: Currency
    date: Date

    @model_validator(mode="after")
    def _two_currencies(self) -> Self:
        if self.one == self.of:
            raise PydanticCustomError("halfroll", "{rule}", {
                "rule": "must be another currency than the one that is changed", "key": "of", "found": self.of,
            })  # fmt: skip
        return self
