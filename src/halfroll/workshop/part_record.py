"""``parts/<id>.toml``: something that is bought or made, what it is, its price and what is in stock."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.materials.glue import GLUES
from halfroll.materials.types import PartForm, PartKind
from halfroll.workshop.fields import Amount, Currency, Date, Quantity, Record, Table, Text, refuse

PackUnit = Literal["pieces", "m", "g"]

Millimetres = Annotated[float, Field(ge=0.05, le=1000)]  # less is a slip of the unit, metres
Corner = Annotated[tuple[float, float], Field(strict=False)]


class OfferTable(Table):
    """``[[offers]]``: what one more supplier asks for a pack, and how much that holds in the part's `pack_unit`."""

    kind: ClassVar[str] = "offer"

    supplier: Text
    price: Amount
    currency: Currency
    pack_size: Quantity = 1.0
    date: Date | None = None


class PartRecord(Record):
    """``parts/<id>.toml``: by a key of the catalogue, or by its own shape and material.

    The price is that of one pack; a pack holds `pack_size` of `pack_unit`, and `stock` counts in `pack_unit` too. It is the usual
    offer; `offers` are those of others. `formerly` are ids the part had before, under which it is still found.
    """

    kind: ClassVar[str] = "part"

    type: PartKind
    title: str = ""
    catalogue: Text | None = None
    shape: PartForm | None = None
    outer_mm: Millimetres | None = None
    inner_mm: Millimetres | None = None
    height_mm: Millimetres | None = None
    profile_mm: Annotated[tuple[Corner, ...], Field(strict=False)] = ()
    material: Text | None = None
    glue: Text | None = None
    price: Amount | None = None
    currency: Currency | None = None
    pack_size: Quantity = 1.0
    pack_unit: PackUnit = "pieces"
    stock: Amount | None = None
    place: str = ""
    supplier: str = ""
    date: Date | None = None
    offers: Annotated[tuple[OfferTable, ...], Field(strict=False)] = ()
    formerly: Annotated[tuple[Text, ...], Field(strict=False)] = ()
    made_from: Text | None = None
    made_from_cost: Amount | None = None
    notes: str = ""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        self._check_price()
        self._check_offers()
        self._check_shape()
        return self

    def _check_price(self) -> None:
        if self.price is not None and self.currency is None:
            refuse("currency", "must be stated with a price (ISO 4217), such as EUR, GBP or USD", "nothing")
        if self.pack_unit == "pieces" and self.pack_size != int(self.pack_size):
            refuse("pack_size", "must be a whole number of pieces", f"{self.pack_size:g}")

    def _check_offers(self) -> None:
        for n, offer in enumerate(self.offers):
            if self.pack_unit == "pieces" and offer.pack_size != int(offer.pack_size):
                refuse(f"offers.{n}.pack_size", "must be a whole number of pieces", f"{offer.pack_size:g}")
        if self.made_from_cost is not None and self.made_from is None:
            refuse("made_from", "must say what it is made from when making it costs something", "nothing")
        if self.made_from_cost is not None and self.currency is None:
            refuse("currency", "must be stated with made_from_cost (ISO 4217), such as EUR", "nothing")
        if self.glue is not None and self.glue not in GLUES:
            refuse("glue", f"must be one of {', '.join(GLUES)}", self.glue)

    def _check_shape(self) -> None:
        given = [
            key for key in ("shape", "outer_mm", "inner_mm", "height_mm", "profile_mm") if getattr(self, key)
        ]
        if self.catalogue is not None and given:
            refuse(
                given[0],
                "must not stand beside a key of the catalogue, which says the shape",
                getattr(self, given[0]),
            )
        if self.shape is None and given:
            refuse("shape", "must say what the sizes are of: disc, ring or turned", "nothing")
        wanted = {
            "disc": ("outer_mm", "height_mm"),
            "ring": ("outer_mm", "inner_mm", "height_mm"),
            "turned": ("profile_mm",),
        }
        needed = wanted.get(self.shape or "", ())
        for key in needed:
            if not getattr(self, key):
                refuse(key, f"must be stated for a {self.shape}", "nothing")
        for key in given:
            if key != "shape" and key not in needed:
                refuse(key, f"must not be stated for a {self.shape}", getattr(self, key))
        if self.shape == "ring" and self.outer_mm and self.inner_mm and self.inner_mm >= self.outer_mm:
            refuse("inner_mm", f"must be smaller than outer_mm ({self.outer_mm:g})", f"{self.inner_mm:g}")
        if self.shape == "turned" and (len(self.profile_mm) < 3 or any(r < 0 for r, _ in self.profile_mm)):
            refuse(
                "profile_mm",
                "must have three corners [r, z] or more, none left of the axis",
                f"{len(self.profile_mm)} corners",
            )
