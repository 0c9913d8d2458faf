"""``[[filament.calibrations]]`` in ``materials/<id>.toml``: what was read, raw, so that the modulus can be worked out again."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.materials.calibrate.types import Method, Setup
from halfroll.materials.types import LineDirection
from halfroll.workshop.fields import Date, Positive, Table

Numbers = Annotated[tuple[float, ...], Field(strict=False, max_length=2000)]
Percent = Annotated[float, Field(ge=0, le=100)]
Length = Annotated[float, Field(gt=0, le=1000)]
Spread = Annotated[float, Field(ge=0, le=100)]


class StripTable(Table):
    """A strip bent by weights. Deflections count from the strip without a weight; repeats are further entries of both lists."""

    setup: Setup
    length_mm: Length
    length_u_mm: Spread = 0.5
    width_mm: Length
    width_u_mm: Spread = 0.1
    thickness_mm: Length
    thickness_u_mm: Spread = 0.03
    overhang_mm: Annotated[float, Field(ge=0, le=1000)] = 0.0
    loads_g: Numbers
    load_u_percent: Percent = 0.5
    deflections_mm: Numbers
    deflection_u_mm: Spread = 0.25


class RingTable(Table):
    """A bare strip held at one end that rings freely."""

    length_mm: Length
    length_u_mm: Spread = 0.5
    width_mm: Length
    thickness_mm: Length
    thickness_u_mm: Spread = 0.03
    frequency_hz: Positive
    frequency_u_percent: Percent = 1.0
    density_u_percent: Percent = 2.0
    fall: Annotated[float, Field(gt=1)] | None = None
    cycles: Annotated[int, Field(ge=1)] | None = None


class ResonanceTable(Table):
    """A unit's resonance in free air and moving mass, against the stiffness predicted for it with a reference modulus."""

    unit: str = ""
    resonance_hz: Positive
    resonance_u_percent: Percent = 2.0
    moving_mass_g: Positive
    moving_mass_u_percent: Percent = 3.0
    qms: Positive | None = None
    qms_u_percent: Percent = 5.0
    predicted_n_mm: Positive
    predicted_u_percent: Percent = 12.0
    reference_mpa: Positive
    rest_n_mm: Annotated[float, Field(ge=0)] = 0.0
    rest_u_percent: Percent = 15.0


class CurveTable(Table):
    """A measured stiffness or force over displacement, and the same predicted with a reference modulus."""

    of: Literal["stiffness", "force"]
    x_mm: Numbers
    measured: Numbers
    measured_u_percent: Percent = 3.0
    predicted_x_mm: Numbers
    predicted: Numbers
    predicted_u_percent: Percent = 12.0
    reference_mpa: Positive


class CreepTable(Table):
    """Deflections over time under a load that stays."""

    times_s: Numbers
    deflections_mm: Numbers


class UpdateTable(Table):
    """What a version measured against its prediction said of the modulus: where it lies, in standard uncertainties of what was assumed."""

    version: str
    assumed_mpa: Positive
    assumed_u_percent: Annotated[float, Field(gt=0, le=100)]
    moved_sd: Annotated[float, Field(ge=-20, le=20)]
    moved_u_sd: Annotated[float, Field(gt=0, lt=1)]


METHODS: tuple[Method, ...] = ("strip", "ring", "resonance", "curve", "creep", "update")


class CalibrationTable(Table):
    """One calibration: its date and the one table of readings. `used` false keeps it in the file and out of the result."""

    date: Date
    lines: LineDirection = "along"
    used: bool = True
    note: str = ""
    strip: StripTable | None = None
    ring: RingTable | None = None
    resonance: ResonanceTable | None = None
    curve: CurveTable | None = None
    creep: CreepTable | None = None
    update: UpdateTable | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        given = [name for name in METHODS if getattr(self, name) is not None]
        if len(given) != 1:
            rule = f"must be the only table of readings, of {', '.join(METHODS)}"
            found = ", ".join(given) or "none of them"
            raise PydanticCustomError(
                "halfroll", "{rule}", {"rule": rule, "key": given[1] if given else "strip", "found": found}
            )
        return self

    @property
    def method(self) -> Method:
        """Which readings it holds."""
        return next(name for name in METHODS if getattr(self, name) is not None)
