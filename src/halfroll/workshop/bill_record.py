"""``[bill]`` of ``version.toml``: what a driver is made of beside its motor, coil and moving parts, and what a slicer says of those.

Only types are checked here, so that a version with an unfinished bill still opens; what its lines name is looked up when the
bill is made.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator

from halfroll.workshop.fields import Amount, Quantity, Table, Text, refuse

Pieces = Annotated[int, Field(ge=1, le=10_000)]


class BoughtTable(Table):
    """``[[bill.bought]]``: something that is bought, by its record in ``parts/``."""

    kind: ClassVar[str] = "bought part"

    part: Text
    amount: Quantity = 1.0
    use: str = ""


class PrintedTable(Table):
    """``[[bill.printed]]``: a printed part the design does not know, or hours and grams of one it knows."""

    kind: ClassVar[str] = "printed part"

    name: Text
    material: Text | None = None
    grams: Quantity | None = None
    hours: Amount | None = None
    pieces: Pieces = 1
    how: str = ""


class GluedTable(Table):
    """``[[bill.glued]]``: a glued seam, by its length and the width of its bead or by grams."""

    kind: ClassVar[str] = "glued seam"

    seam: Text
    glue: Text
    joins: Annotated[tuple[Text, ...], Field(strict=False)] = ()
    length_mm: Quantity | None = None
    bead_mm: Annotated[float, Field(gt=0, le=50)] | None = None
    grams: Quantity | None = None
    opens: bool = False

    @model_validator(mode="after")
    def _one_amount(self) -> Self:
        beaded = self.length_mm is not None or self.bead_mm is not None
        if self.grams is not None and beaded:
            refuse(
                "grams",
                "must not stand beside length_mm and bead_mm, which say the amount",
                f"{self.grams:g}",
            )
        if self.grams is None:
            for key in ("length_mm", "bead_mm"):
                if getattr(self, key) is None:
                    refuse(key, "must be stated, or grams in place of length_mm and bead_mm", "nothing")
        if len(self.joins) == 1:
            refuse("joins", "must name two parts or more", f"only {self.joins[0]}")
        return self


class BillTable(Table):
    """``[bill]``: lines of the bill of materials, and hours of work on one driver."""

    kind: ClassVar[str] = "bill"

    work_hours: Amount | None = None
    bought: Annotated[tuple[BoughtTable, ...], Field(strict=False)] = ()
    printed: Annotated[tuple[PrintedTable, ...], Field(strict=False)] = ()
    glued: Annotated[tuple[GluedTable, ...], Field(strict=False)] = ()
