"""``impedance.toml``: impedance measured of a unit, and what hung on its cone or stood behind it meanwhile."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.workshop.fields import Drive, Grams, Litres
from halfroll.workshop.records import SweepTable
from halfroll.workshop.runs import RunRecord

ImpedanceMethod = Literal["table", "recording", "take"]
Mounting = Literal["free-air", "baffle", "closed-box"]

DEFAULT_SCALE_U_PERCENT = 1.0
"""Taken for a table of which nobody knows better: a usual shunt or reference resistor. Own choice."""


class ImpedanceRecord(RunRecord):
    """``impedance.toml``: impedance measured of a unit."""

    kind: ClassVar[str] = "impedance"

    method: ImpedanceMethod
    mounting: Mounting = "free-air"
    added_mass_g: Grams | None = None
    added_mass_u_g: Annotated[float, Field(ge=0)] = 0.0
    volume_l: Litres | None = None
    volume_u_l: Annotated[float, Field(ge=0)] = 0.0
    rig: str = ""
    scale_u_percent: Annotated[float, Field(ge=0, le=50)] | None = None
    take: str = ""
    drive_v: Drive | None = None
    temperature_c: Annotated[float, Field(ge=-50, le=80)] | None = None
    sweep: SweepTable | None = None

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        boxed = self.mounting == "closed-box"
        if boxed and self.volume_l is None:
            _refuse("volume_l", None, "must be given for a closed box")
        if self.volume_l is not None and not boxed:
            _refuse("mounting", self.mounting, "must be closed-box where a volume is given")
        if self.added_mass_g is not None and boxed:
            _refuse(
                "added_mass_g",
                self.added_mass_g,
                "must be left out in a closed box: one thing at a time is changed",
            )
        if self.added_mass_g is not None and self.added_mass_u_g >= self.added_mass_g:
            _refuse("added_mass_u_g", self.added_mass_u_g, "must be smaller than the mass")
        if self.volume_l is not None and self.volume_u_l >= self.volume_l:
            _refuse("volume_u_l", self.volume_u_l, "must be smaller than the volume")
        if self.method == "recording" and not self.rig:
            _refuse(
                "rig", None, "must be named for a recording: its scales turn samples into volts and amperes"
            )
        if self.method == "take" and not self.take:
            _refuse("take", None, "must name the take the impedance is read from")
        return self

    @property
    def free(self) -> bool:
        """Whether neither mass nor box changes the driver."""
        return self.added_mass_g is None and self.volume_l is None


def _refuse(key: str, found: object, rule: str) -> None:
    context: dict[str, Any] = {"rule": rule, "key": key, "found": "nothing" if found is None else repr(found)}
    raise PydanticCustomError("halfroll", "{rule}", context)
