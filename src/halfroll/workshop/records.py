"""What each record file may say: keys, types, ranges. The unit stands in the key.

Every record keeps the keys halfroll does not know. A key that is close to a known one is taken for a slip of the pen
and refused (`faults`); a key of one's own that must look like a known one may begin with ``own_``.
"""

from __future__ import annotations

import dataclasses
import difflib
import functools
from typing import Annotated, Any, ClassVar, Self

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.core.errors import InputError
from halfroll.figures.types import FigureSettings, LimitRule, ThdReference
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop.bill_record import BillTable as BillTable
from halfroll.workshop.built_record import DeviationTable as DeviationTable
from halfroll.workshop.built_record import GluedTable as GluedTable
from halfroll.workshop.built_record import PhotographTable as PhotographTable
from halfroll.workshop.built_record import WeighedTable as WeighedTable
from halfroll.workshop.costs_record import CostsTable as CostsTable
from halfroll.workshop.costs_record import ExchangeTable as ExchangeTable
from halfroll.workshop.costs_record import SupplierTable as SupplierTable
from halfroll.workshop.fields import (
    AnyRole,
    AnySpace,
    Band,
    Date,
    Distance,
    Drive,
    FileName,
    GateMs,
    Grams,
    Moment,
    Record,
    Sha256,
    SquareCentimetres,
    Table,
    check_roles,
)
from halfroll.workshop.motor_record import CoilTable as CoilTable
from halfroll.workshop.motor_record import MotorTable as MotorTable
from halfroll.workshop.motor_record import PartTable as PartTable
from halfroll.workshop.parameters_record import ParametersTable as ParametersTable
from halfroll.workshop.release_record import OriginTable as OriginTable
from halfroll.workshop.rig_record import CurrentTable as CurrentTable
from halfroll.workshop.rig_record import DevicesTable as DevicesTable
from halfroll.workshop.rig_record import LimitsTable as LimitsTable
from halfroll.workshop.rig_record import MicrophoneTable as MicrophoneTable
from halfroll.workshop.rig_record import RigRecord as RigRecord
from halfroll.workshop.rig_record import VoltageTable as VoltageTable
from halfroll.workshop.suspension_record import CapTable as CapTable
from halfroll.workshop.suspension_record import ConeTable as ConeTable
from halfroll.workshop.suspension_record import MovingTable as MovingTable
from halfroll.workshop.suspension_record import PrintTable as PrintTable
from halfroll.workshop.suspension_record import SuspensionTable as SuspensionTable


class FiguresTable(Table):
    """``[figures]``: how figures are read (`FigureSettings`)."""

    sensitivity_band_hz: Band = (200.0, 2000.0)
    distortion_band_hz: Band = (40.0, 150.0)
    limit_rule: LimitRule = "effective"
    thd_reference: ThdReference = "total"
    level_w: Annotated[float, Field(gt=0, le=10_000)] = 1.0
    level_tolerance_db: Annotated[float, Field(gt=0, le=6)] = 0.5

    def settings(self) -> FigureSettings:
        """The same for the figures room."""
        return FigureSettings(
            sensitivity_band_hz=self.sensitivity_band_hz,
            distortion_band_hz=self.distortion_band_hz,
            limit_rule=self.limit_rule,
            thd_reference=self.thd_reference,
            level_w=self.level_w,
            level_tolerance_db=self.level_tolerance_db,
        )


class WorkshopRecord(Record):
    """``workshop.toml``."""

    kind: ClassVar[str] = "workshop"

    name: Annotated[str, Field(min_length=1)]
    notes: str = ""
    figures: FiguresTable = FiguresTable()
    costs: CostsTable | None = None
    suppliers: Annotated[tuple[SupplierTable, ...], Field(strict=False)] = ()
    exchange: Annotated[tuple[ExchangeTable, ...], Field(strict=False)] = ()


class DriverRecord(Record):
    """``driver.toml``: a line of development."""

    kind: ClassVar[str] = "driver"

    title: Annotated[str, Field(min_length=1)]
    aim: str = ""
    notes: str = ""


class ChangeTable(Table):
    """``[[changes]]``: one thing that differs from the parent version."""

    what: Annotated[str, Field(min_length=1)]
    before: str = ""
    after: str = ""
    why: str = ""


class PublishedTable(Table):
    """``[published]``: what a printed table or curve says of a version nobody here has measured.

    ``figures`` holds figure keys as ``halfroll figures`` prints them, ``<key>_u`` their standard uncertainty.
    ``curve`` is a CSV file in the version's folder, first column ``frequency_hz``.
    """

    source: Annotated[str, Field(min_length=1)]
    figures: dict[str, float] = Field(default_factory=dict)
    curve: FileName | None = None
    distance_m: Distance | None = None
    drive_v: Drive | None = None
    space: AnySpace | None = None

    @model_validator(mode="after")
    def _known_figures(self) -> Self:
        """Refuse a figure's key that is nearly one of the table's; others are kept and not used."""
        if not self.figures:
            return self
        from halfroll.figures.rules import RULE  # slow to load, and only few versions are published ones

        known = [*RULE, *(f"{key}_u" for key in RULE)]
        for key in self.figures:
            close = [] if key in known else difflib.get_close_matches(key, known, n=1, cutoff=0.8)
            if close:
                raise PydanticCustomError("halfroll", "{rule}", {
                    "rule": f"is not a figure's key; {close[0]} is meant", "key": f"figures.{key}",
                    "found": str(self.figures[key]),
                })  # fmt: skip
        return self


class VersionRecord(Record):
    """``version.toml``: one design of a driver."""

    kind: ClassVar[str] = "version"

    title: str = ""
    parent: Annotated[str, Field(min_length=1)] | None = None
    date: Date | None = None
    summary: str = ""
    rated_impedance_ohm: Annotated[float, Field(ge=0.1, le=10_000)] | None = None
    rated_power_w: Annotated[float, Field(gt=0, le=10_000)] | None = None
    effective_area_cm2: SquareCentimetres | None = None
    effective_area_u_cm2: Annotated[float, Field(ge=0, le=1000)] = 0.0
    notes: str = ""
    changes: Annotated[tuple[ChangeTable, ...], Field(strict=False)] = ()
    published: PublishedTable | None = None
    motor: MotorTable | None = None
    coil: CoilTable | None = None
    surround: SuspensionTable | None = None
    spider: SuspensionTable | None = None
    cone: ConeTable | None = None
    cap: CapTable | None = None
    moving: MovingTable | None = None
    parameters: ParametersTable | None = None
    bill: BillTable | None = None
    origin: OriginTable | None = None


class UnitRecord(Record):
    """``unit.toml``: one built copy of a version."""

    kind: ClassVar[str] = "unit"

    built_by: str = ""
    built_on: Date | None = None
    re_ohm: Annotated[float, Field(gt=0, le=10_000)] | None = None
    re_u_ohm: Annotated[float, Field(ge=0, le=1000)] = 0.0
    moving_mass_g: Grams | None = None
    moving_mass_u_g: Annotated[float, Field(ge=0, le=100)] = 0.0
    faulty: str = ""
    notes: str = ""
    print_settings: dict[str, Any] = Field(default_factory=dict)
    weighed: WeighedTable | None = None
    glued: Annotated[tuple[GluedTable, ...], Field(strict=False)] = ()
    deviations: Annotated[tuple[DeviationTable, ...], Field(strict=False)] = ()
    photographs: Annotated[tuple[PhotographTable, ...], Field(strict=False)] = ()


_SWEEP_KEYS = tuple(field.name for field in dataclasses.fields(Sweep))


@functools.lru_cache(maxsize=256)
def _sweep(*values: Any) -> Sweep:
    """A sweep from the values of its fields in order. Most takes of a workshop share one."""
    return Sweep(**dict(zip(_SWEEP_KEYS, values, strict=True)))


class SweepTable(Table):
    """``[sweep]``: the sweep that was played (`Sweep`)."""

    start_hz: float = 20.0
    stop_hz: float = 20_000.0
    duration_s: float = 6.0
    rate_hz: int = 48_000
    level: float = 0.5
    fade_in_s: float = 0.05
    fade_out_s: float = 0.01
    silence_before_s: float = 0.5
    silence_after_s: float = 1.0

    def sweep(self) -> Sweep:
        """The same for the measure room."""
        return _sweep(*(getattr(self, name) for name in _SWEEP_KEYS))

    @staticmethod
    def of(sweep: Sweep) -> SweepTable:
        """The table of a sweep."""
        return SweepTable(**dataclasses.asdict(sweep))

    @model_validator(mode="after")
    def _in_range(self) -> Self:
        try:
            self.sweep()
        except InputError as error:
            raise PydanticCustomError("halfroll", "{rule}", {
                "rule": f"must be {error.allowed}", "key": error.place.key, "found": error.found,
            }) from None  # fmt: skip
        return self


class SweepRecord(SweepTable, Record):
    """The file beside a played sweep, ``sweep.toml``, which tells the import what was played."""

    kind: ClassVar[str] = "sweep"

    start_hz: float  # must be said here, so that no other file is taken for one
    stop_hz: float
    duration_s: float
    rate_hz: int


class AudioTable(Table):
    """``[[audio]]``: one audio file of a take, its content hash, and what its channels hold."""

    file: FileName
    sha256: Sha256
    roles: Annotated[tuple[AnyRole, ...], Field(strict=False), AfterValidator(check_roles)]


class TakeSetup(Table):
    """How a take was made: what a person states, the same for every take of a session."""

    kind: ClassVar[str] = "take"

    rig: Annotated[str, Field(min_length=1)]
    drive_v: Drive | None = None
    distance_m: Distance
    space: AnySpace
    temperature_c: Annotated[float, Field(ge=-50, le=80)] | None = None
    gate_ms: GateMs = "auto"
    note: str = ""
    leave_out: str = ""
    sweep: SweepTable = SweepTable()


class TakeRecord(TakeSetup, Record):
    """``take.toml``: one recording session of one unit at one drive level.

    ``gate_ms`` is ``"auto"`` (up to the first reflection), ``"none"`` or a length; a text in ``leave_out`` takes the
    take out of the figures and says why.
    """

    kind: ClassVar[str] = "take"

    when: Moment
    audio: Annotated[tuple[AudioTable, ...], Field(strict=False, min_length=1)]

    @model_validator(mode="after")
    def _roles_once(self) -> Self:
        used = [role for role in self.roles if role is not Role.UNUSED]
        if len(used) != len(set(used)):
            raise PydanticCustomError("halfroll", "{rule}", {
                "rule": "must give each role but unused to one channel only", "key": "audio", "found": ", ".join(used),
            })  # fmt: skip
        return self

    @property
    def roles(self) -> tuple[Role, ...]:
        """Roles of all channels, file after file."""
        return tuple(role for audio in self.audio for role in audio.roles)
