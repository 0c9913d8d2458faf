"""``joined.toml``: the recipe of a response joined of near field and far field. It holds no data of its own: the takes do."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.acoustics.baffle import Baffle
from halfroll.measure.joining.join_types import JoinSettings
from halfroll.workshop.fields import Band, Table
from halfroll.workshop.runs import RunRecord

TakeName = Annotated[str, Field(min_length=1)]
SquareCentimetres = Annotated[float, Field(gt=0, le=10_000)]
Centimetres = Annotated[float, Field(gt=0, le=1000)]
Side = Annotated[float, Field(ge=2, le=1000)]


class MouthTable(Table):
    """``[[near]]``: a near-field take of a cone or a port. Without an area a cone has the version's effective area."""

    take: TakeName
    what: Literal["cone", "port"] = "cone"
    area_cm2: SquareCentimetres | None = None
    count: Annotated[int, Field(ge=1, le=20)] = 1

    @model_validator(mode="after")
    def _area_of_a_port(self) -> Self:
        if self.what == "port" and self.area_cm2 is None:
            _refuse("area_cm2", "nothing", "must be given for a port")
        return self


class BaffleTable(Table):
    """``[baffle]``: the front the driver sat in; ``x_cm`` from its left, ``y_cm`` from its lower edge to the centre."""

    width_cm: Side
    height_cm: Side
    x_cm: Centimetres
    y_cm: Centimetres

    def baffle(self) -> Baffle:
        """The same for the acoustics room."""
        sides = (self.width_cm, self.height_cm, self.x_cm, self.y_cm)
        return Baffle(
            **{
                name: 1e-2 * side
                for name, side in zip(("width_m", "height_m", "x_m", "y_m"), sides, strict=True)
            }
        )

    @model_validator(mode="after")
    def _inside(self) -> Self:
        for key, side, name in (("x_cm", self.width_cm, "width"), ("y_cm", self.height_cm, "height")):
            if getattr(self, key) >= side:
                _refuse(key, f"{getattr(self, key):g}", f"must be less than the {name}, {side:g} cm")
        return self


class JoinedRecord(RunRecord):
    """``joined.toml``: which takes of the unit are joined, and how.

    ``match_level`` brings the near field to the far field's level; without it both stay as measured.
    """

    kind: ClassVar[str] = "joined"

    far: TakeName
    near: Annotated[tuple[MouthTable, ...], Field(strict=False, min_length=1)]
    overlap_hz: Band
    match_level: bool = True
    baffle: BaffleTable | None = None

    @model_validator(mode="after")
    def _takes_once(self) -> Self:
        names = [self.far, *(mouth.take for mouth in self.near)]
        if len(set(names)) < len(names):
            _refuse("near", ", ".join(names), "must name every take once, and not the far take")
        if not any(mouth.what == "cone" for mouth in self.near):
            _refuse("near", ", ".join(mouth.what for mouth in self.near), "must have one cone at least")
        return self

    def settings(self) -> JoinSettings:
        """The same for the measure room."""
        return JoinSettings(
            overlap_hz=self.overlap_hz,
            baffle=None if self.baffle is None else self.baffle.baffle(),
            match_level=self.match_level,
        )

    @property
    def takes(self) -> tuple[str, ...]:
        """Names of all takes it is joined of, the far one first."""
        return (self.far, *(mouth.take for mouth in self.near))


def _refuse(key: str, found: object, rule: str) -> None:
    context: dict[str, Any] = {"rule": rule, "key": key, "found": str(found)}
    raise PydanticCustomError("halfroll", "{rule}", context)
