"""``materials/<id>.toml``: a magnet grade, steel, metal, wire or filament of one's own."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.core.errors import InputError
from halfroll.materials.check import check_bh_table
from halfroll.materials.types import LineDirection, MagnetFamily
from halfroll.workshop.calibration_record import CalibrationTable
from halfroll.workshop.fields import Date, FileName, Positive, Record, Table, refuse

Numbers = Annotated[tuple[float, ...], Field(strict=False)]
Share = Annotated[float, Field(ge=0, le=2)]
Celsius = Annotated[float, Field(ge=-273, le=1000)]
PerKelvin = Annotated[float, Field(ge=-2, le=2)]
Metal = Literal["copper", "aluminium", "cca10", "cca15"]
Density = Annotated[float, Field(gt=10, le=25_000)]
NotNegative = Annotated[float, Field(ge=0)]


class MagnetTable(Table):
    """``[magnet]``: a grade at 20 °C. What is not stated is taken from the grade `like` of the catalogue."""

    like: str | None = None
    family: MagnetFamily | None = None
    br_t: Annotated[float, Field(gt=0.05, le=2)] | None = None
    br_u_t: Annotated[float, Field(ge=0, le=0.5)] | None = None
    hcb_ka_m: Annotated[float, Field(gt=1, le=5000)] | None = None
    hcj_ka_m: Annotated[float, Field(gt=1, le=5000)] | None = None
    mu_rec: Annotated[float, Field(ge=1, le=20)] | None = None
    alpha_br_percent_per_k: PerKelvin | None = None
    beta_hcj_percent_per_k: PerKelvin | None = None
    highest_c: Celsius | None = None
    lowest_c: Celsius | None = None
    density_kg_m3: Density | None = None
    conductivity_s_m: Annotated[float, Field(ge=0, le=1e8)] | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        lacking = [key for key, value in self if value is None and key not in ("like", "br_u_t")]
        if self.like is None and lacking:
            refuse(lacking[0], "must be stated, or a grade of the catalogue under like", "nothing")
        return self


class SteelTable(Table):
    """``[steel]``: a B-H table, here as two lists or in a CSV file beside the record with columns ``h_a_m,b_t``."""

    h_a_m: Numbers = ()
    b_t: Numbers = ()
    table: FileName | None = None
    conductivity_s_m: Annotated[float, Field(gt=0, le=1e8)] = 6.5e6
    density_kg_m3: Density = 7850.0
    h_factor_u: Share = 0.0

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.table is None) == (not self.h_a_m and not self.b_t):
            refuse("h_a_m", "must be stated with b_t, or both in a file under table; one of the two",
                    "nothing" if self.table is None else f"both, {self.table}")  # fmt: skip
        if self.table is None:
            try:
                check_bh_table(self.h_a_m, self.b_t)
            except InputError as error:
                refuse("b_t", f"cannot be a magnetisation curve: {error.message}", error.found)
        return self


class ConductorTable(Table):
    """``[conductor]``: a metal without magnetism, at 20 °C."""

    resistivity_ohm_m: Annotated[float, Field(ge=1e-8, le=1e-4)]
    alpha_per_k: Annotated[float, Field(ge=-0.01, le=0.01)] = 0.0039
    density_kg_m3: Density
    specific_heat_j_kg_k: Positive = 400.0
    expansion_per_k: Annotated[float, Field(ge=0, le=1e-3)] = 20e-6


class WireTable(Table):
    """``[wire]``: a round winding wire. ``cca10`` and ``cca15``: aluminium with that share of its cross-section of copper."""

    bare_mm: Annotated[float, Field(gt=0.005, le=5)]
    overall_mm: Annotated[float, Field(gt=0.005, le=6)]
    metal: Metal = "copper"
    enamel_class_c: Annotated[float, Field(ge=90, le=300)] = 155.0

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.overall_mm <= self.bare_mm:
            refuse("overall_mm", f"must be larger than bare_mm ({self.bare_mm:g})", f"{self.overall_mm:g}")
        return self


class FilamentTable(Table):
    """``[filament]``: a printing material. What is not stated is taken from the filament `like` of the catalogue.

    `_u` are standard uncertainties. Calibrations stand with their readings and go before the modulus stated.
    """

    like: str | None = None
    density_kg_m3: Density | None = None
    density_u_kg_m3: NotNegative | None = None
    modulus_mpa: Annotated[float, Field(gt=0.1, le=500_000)] | None = None
    modulus_u_mpa: NotNegative | None = None
    modulus_lines: LineDirection | None = None
    glass_c: Celsius | None = None
    continuous_c: Celsius | None = None
    expansion_per_k: Annotated[float, Field(ge=0, le=1e-3)] | None = None
    poisson: Annotated[float, Field(gt=-1, le=0.4995)] | None = None
    poisson_u: NotNegative | None = None
    loss_factor: Annotated[float, Field(ge=0, le=2)] | None = None
    loss_factor_u: NotNegative | None = None
    creep_per_decade: Annotated[float, Field(ge=0, le=2)] | None = None
    creep_per_decade_u: NotNegative | None = None
    across_factor: Annotated[float, Field(gt=0.02, le=2)] | None = None
    across_factor_u: NotNegative | None = None
    fatigue_strain: Annotated[float, Field(gt=0, le=2)] | None = None
    fatigue_strain_u: NotNegative | None = None
    strength_mpa: Annotated[float, Field(gt=0, le=5000)] | None = None
    strength_u_mpa: NotNegative | None = None
    sheet: bool | None = None
    calibrations: Annotated[tuple[CalibrationTable, ...], Field(strict=False)] = ()

    @model_validator(mode="after")
    def _whole(self) -> Self:
        needed = ("density_kg_m3", "modulus_mpa", "glass_c", "continuous_c")
        lacking = [key for key in needed if getattr(self, key) is None]
        if self.like is None and lacking:
            refuse(lacking[0], "must be stated, or a filament of the catalogue under like", "nothing")
        for key in ("modulus", "density"):
            unit = "mpa" if key == "modulus" else "kg_m3"
            value, spread = getattr(self, f"{key}_{unit}"), getattr(self, f"{key}_u_{unit}")
            if value is not None and spread is not None and spread > value:
                refuse(f"{key}_u_{unit}", f"must be no larger than {key}_{unit}, {value:g}", f"{spread:g}")
        return self


class LearntTable(Table):
    """``[[updates]]``: a value that the update of a version's prediction changed, with what stood there before."""

    date: Date
    version: str
    key: str
    before: float | None = None
    before_u: float | None = None
    after: float
    after_u: float


TABLES = ("magnet", "steel", "conductor", "wire", "filament")


class MaterialRecord(Record):
    """``materials/<id>.toml``: one material, in the one table that says what it is."""

    kind: ClassVar[str] = "material"

    title: str = ""
    source: str = ""
    notes: str = ""
    magnet: MagnetTable | None = None
    steel: SteelTable | None = None
    conductor: ConductorTable | None = None
    wire: WireTable | None = None
    filament: FilamentTable | None = None
    updates: Annotated[tuple[LearntTable, ...], Field(strict=False)] = ()

    @model_validator(mode="after")
    def _one_table(self) -> Self:
        given = [name for name in TABLES if getattr(self, name) is not None]
        if len(given) != 1:
            refuse(given[1] if given else "magnet", f"must be the only one of the tables {', '.join(TABLES)}",
                    ", ".join(given) or "none of them")  # fmt: skip
        return self

    @property
    def what(self) -> str:
        """The name of its table."""
        return next(name for name in TABLES if getattr(self, name) is not None)
