"""``stock/<year>.toml``: what was bought, used, spoiled and counted of the parts in a year."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.workshop.fields import Amount, Currency, Date, Record, Table, Text, refuse

MovementKind = Literal["bought", "used", "spoiled", "counted"]


class MovementTable(Table):
    """``[[movements]]``: one movement of one part, in the part's `pack_unit`.

    ``counted`` sets the amount to what was found; the others add or take away. What a movement was for stands in `unit`, `kit` or
    `note`. `batch` is the same for movements that were booked together; `number` tells in which order bookings were made, whatever
    their dates are. `anyway` says that the person was told that the stock goes below zero and booked it all the same.
    """

    kind: ClassVar[str] = "movement"

    date: Date
    part: Text
    what: MovementKind
    amount: Amount
    paid: Amount | None = None
    currency: Currency | None = None
    supplier: str = ""
    unit: str = ""
    kit: str = ""
    note: str = ""
    batch: str = ""
    anyway: bool | None = None
    number: Annotated[int, Field(ge=1)] | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.amount == 0 and self.what != "counted":
            refuse(
                "amount",
                f"must be above 0 of what was {self.what}; only counted can be 0",
                f"{self.amount:g}",
            )
        for key in ("paid", "currency", "supplier"):
            if getattr(self, key) and self.what != "bought":
                refuse(key, "must be stated of what was bought only", getattr(self, key))
        if self.paid is not None and self.currency is None:
            refuse(
                "currency", "must be stated with what was paid (ISO 4217), such as EUR, GBP or USD", "nothing"
            )
        return self

    @property
    def purpose(self) -> str:
        """What it was for, in words; empty where nobody said."""
        named = [f"kit {self.kit}" if self.kit else "", f"unit {self.unit}" if self.unit else "", self.note]
        return ", ".join(one for one in named if one)


class StockRecord(Record):
    """``stock/<year>.toml``: movements of one year."""

    kind: ClassVar[str] = "stock"

    movements: Annotated[tuple[MovementTable, ...], Field(strict=False)] = ()
