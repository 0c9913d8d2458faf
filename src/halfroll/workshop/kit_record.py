"""``kits/<id>.toml``: what goes into a bag for a builder, what stays out, and how its price is made."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.workshop.fields import Amount, Currency, Quantity, Record, Table, Text, refuse

Percent = Annotated[float, Field(ge=0, le=100)]
Printed = Literal["in the bag", "by the builder"]
MOST_DRIVERS = 1000


class KitDriverTable(Table):
    """``[[drivers]]``: a version the kit is for, and how many drivers of it one kit makes."""

    kind: ClassVar[str] = "kit's driver"

    version: Text
    count: Annotated[int, Field(ge=1, le=MOST_DRIVERS)] = 1


class ExtraTable(Table):
    """``[[extras]]``: a part that goes into each kit beside what the drivers take, in the part's `pack_unit`."""

    kind: ClassVar[str] = "extra"

    part: Text
    amount: Quantity = 1.0
    use: str = ""


class SpareTable(Table):
    """``[[spares]]``: how much more of a part each kit holds than it takes: an amount, or a share in percent."""

    kind: ClassVar[str] = "spare"

    part: Text
    amount: Amount | None = None
    percent: Percent | None = None

    @model_validator(mode="after")
    def _one_of_them(self) -> Self:
        if (self.amount is None) == (self.percent is None):
            found = "neither" if self.amount is None else "both"
            refuse("amount", "must be stated, or percent in its place", found)
        return self


class KitPriceTable(Table):
    """``[price]``: margin, tax and postage of one kit.

    The margin is a share of what the kit costs, or of its price without tax; of the price it must be below 100 %.
    """

    kind: ClassVar[str] = "kit's price"

    currency: Currency
    margin_percent: Annotated[float, Field(ge=0, le=1000)] = 0.0
    margin_of: Literal["cost", "price"] = "cost"
    packing: Amount = 0.0
    packing_hours: Amount = 0.0
    postage: Amount = 0.0
    tax: Text = "tax"
    tax_percent: Percent = 0.0
    tax_on_postage: bool = True
    rounding: Quantity | None = None

    @model_validator(mode="after")
    def _margin(self) -> Self:
        if self.margin_of == "price" and self.margin_percent >= 100:
            refuse(
                "margin_percent",
                "must be below 100 where it is of the price: at 100 % nothing would be left for the cost",
                f"{self.margin_percent:g}",
            )
        return self


class KitRecord(Record):
    """``kits/<id>.toml``."""

    kind: ClassVar[str] = "kit"

    title: Text
    printed: Printed = "by the builder"
    leave_out: Annotated[tuple[Text, ...], Field(strict=False)] = ()
    spares_percent: Percent = 0.0
    notes: str = ""
    drivers: Annotated[tuple[KitDriverTable, ...], Field(strict=False, min_length=1)]
    extras: Annotated[tuple[ExtraTable, ...], Field(strict=False)] = ()
    spares: Annotated[tuple[SpareTable, ...], Field(strict=False)] = ()
    price: KitPriceTable | None = None

    @model_validator(mode="after")
    def _once(self) -> Self:
        for key, name in (("drivers", "version"), ("spares", "part")):
            seen: set[str] = set()
            for n, one in enumerate(getattr(self, key)):
                if (what := getattr(one, name)) in seen:
                    refuse(f"{key}.{n}.{name}", "must stand in the list once", what)
                seen.add(what)
        return self
