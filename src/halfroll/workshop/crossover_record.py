"""``crossovers/<id>.toml``: a passive crossover, its ways, and the elements before each."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.workshop.fields import Record, Table, refuse

Name = Annotated[str, Field(min_length=1)]
Nodes = Annotated[tuple[str, str], Field(strict=False)]
Offset = Annotated[float, Field(ge=-2000, le=2000)]

VALUE_KEY = {"resistor": "resistance_ohm", "coil": "inductance_mh", "capacitor": "capacitance_uf"}
"""The key of an element's value, by its type."""
SI = {"resistor": 1.0, "coil": 1e-3, "capacitor": 1e-6}
"""What one of that key's unit is in SI."""


class ElementTable(Table):
    """``[[ways.elements]]``: one coil, capacitor or resistor, and the two nodes it lies between."""

    kind: ClassVar[str] = "element"

    name: Name
    type: Literal["resistor", "coil", "capacitor"]
    between: Nodes
    resistance_ohm: Annotated[float, Field(gt=0, le=100_000)] | None = None
    inductance_mh: Annotated[float, Field(gt=0, le=1000)] | None = None
    capacitance_uf: Annotated[float, Field(gt=0, le=100_000)] | None = None
    series_ohm: Annotated[float, Field(ge=0, le=1000)] = 0.0
    construction: Literal["bipolar", "film", "air-core", "iron-core", "wire-wound"] | None = None
    tolerance_percent: Annotated[float, Field(ge=0, le=90)] | None = None
    rated_v: Annotated[float, Field(gt=0, le=10_000)] | None = None
    rated_w: Annotated[float, Field(gt=0, le=10_000)] | None = None
    rated_a: Annotated[float, Field(gt=0, le=1000)] | None = None

    @model_validator(mode="after")
    def _value(self) -> Self:
        wanted = VALUE_KEY[self.type]
        if getattr(self, wanted) is None:
            refuse(wanted, f"must be stated for a {self.type}", "nothing")
        for key in VALUE_KEY.values():
            if key != wanted and getattr(self, key) is not None:
                refuse(key, f"must not be stated for a {self.type}", getattr(self, key))
        fitting = {
            "resistor": ("wire-wound",),
            "coil": ("air-core", "iron-core"),
            "capacitor": ("bipolar", "film"),
        }[self.type]
        if self.construction is not None and self.construction not in fitting:
            refuse("construction", f"must be {' or '.join(fitting)} for a {self.type}", self.construction)
        return self

    @property
    def value(self) -> float:
        """Its value in SI: ohm, henry or farad."""
        stated: float = getattr(self, VALUE_KEY[self.type])
        return stated * SI[self.type]


class WayTable(Table):
    """``[[ways]]``: a driver, where it sits, and what is known of it."""

    kind: ClassVar[str] = "way"

    name: Name
    driver: Name
    source: Literal["auto", "predicted", "measured", "entered"] = "auto"
    take: Name | None = None
    impedance: Name | None = None
    cabinet: Name | None = None
    fed_by: Name = "in"
    minus: Name = "0"
    inverted: bool = False
    x_mm: Offset = 0.0
    y_mm: Offset = 0.0
    z_mm: Offset = 0.0
    elements: Annotated[tuple[ElementTable, ...], Field(strict=False)] = ()


class CrossoverRecord(Record):
    """``crossovers/<id>.toml``: a passive crossover and what it is judged by."""

    kind: ClassVar[str] = "crossover"

    title: str = ""
    rated_impedance_ohm: Annotated[float, Field(ge=0.1, le=10_000)] | None = None
    power_w: Annotated[float, Field(gt=0, le=10_000)] | None = None
    cable_ohm: Annotated[float, Field(ge=0, le=100)] = 0.0
    distance_m: Annotated[float, Field(ge=0.05, le=100)] = 1.0
    tolerance: Literal["monte-carlo", "worst-case"] = "monte-carlo"
    notes: str = ""
    ways: Annotated[tuple[WayTable, ...], Field(strict=False, min_length=1)]

    @model_validator(mode="after")
    def _power(self) -> Self:
        if self.power_w is not None and self.rated_impedance_ohm is None:
            refuse("rated_impedance_ohm", "must be stated with a power, which is into it", "nothing")
        return self
