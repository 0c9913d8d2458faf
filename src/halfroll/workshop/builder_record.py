"""``builders/<check>/check.toml``: what a builder read from a unit of theirs, what they complain of, what was answered, what it was."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.core.errors import InputError
from halfroll.workshop.builder_readings import READINGS, check_reading, reading_kind
from halfroll.workshop.fields import Date, FileName, Litres, Record, Sha256, Table, refuse
from halfroll.workshop.records import SweepTable

Mounted = Literal["free-air", "baffle", "box"]
Status = Literal["open", "answered", "mended"]


class ReadingTable(Table):
    """``[[readings]]``: one reading; without ``u`` that of its usual instrument counts."""

    kind: ClassVar[str] = "reading"

    what: Annotated[str, Field(min_length=1)]
    value: float
    u: Annotated[float, Field(ge=0)] | None = None
    how: str = ""
    note: str = ""

    @model_validator(mode="after")
    def _possible(self) -> Self:
        try:
            reading_kind(self.what)
            check_reading(self.what, self.value, name="value")
        except InputError as fault:
            more = [fault.message[:1].lower() + fault.message[1:]]
            more += [f"allowed: {', '.join(READINGS) if fault.place.key == 'what' else fault.allowed}"]
            more += [fault.remedy] if fault.remedy else []
            refuse(fault.place.key or "value", f"cannot be: {'; '.join(more)}", fault.found or "")
        return self

    @property
    def standard_u(self) -> float:
        """Its standard uncertainty, stated or usual."""
        return READINGS[self.what].usual_u(self.value) if self.u is None else self.u


class RecordingTable(Table):
    """``[recording]`` and ``[reference]``: a telephone's recording of a sweep, kept beside the record."""

    kind: ClassVar[str] = "recording"

    file: FileName
    sha256: Sha256
    distance_cm: Annotated[float, Field(gt=0, le=500)] = 3.0
    note: str = ""
    sweep: SweepTable = SweepTable()


class BuilderRecord(Record):
    """``check.toml``: one check of one builder's unit. A nickname is enough; nothing else about a person is asked for."""

    kind: ClassVar[str] = "check"

    date: Date
    version: Annotated[str, Field(min_length=1)]
    builder: str = ""
    from_unit: Annotated[str, Field(min_length=1)] | None = None
    mounting: Mounted = "free-air"
    box_l: Litres | None = None
    port_hz: Annotated[float, Field(gt=0, le=1000)] | None = None
    drive_v: Annotated[float, Field(gt=0, le=100)] | None = None
    complaint: str = ""
    status: Status = "open"
    answer: str = ""
    found_fault: str | None = None
    notes: str = ""
    readings: Annotated[tuple[ReadingTable, ...], Field(strict=False)] = ()
    recording: RecordingTable | None = None
    reference: RecordingTable | None = None

    @model_validator(mode="after")
    def _together(self) -> Self:
        names = [reading.what for reading in self.readings]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            refuse("readings", "must hold each reading once", twice)
        if self.reference is not None and self.recording is None:
            refuse("reference", "needs a recording of the unit to be compared with it", self.reference.file)
        if self.found_fault is not None and self.status == "open":
            refuse("found_fault", "is known only of a check that is answered or mended", self.found_fault)
        return self

    def reading(self, what: str) -> ReadingTable | None:
        """The reading of a kind, where there is one."""
        return next((reading for reading in self.readings if reading.what == what), None)
