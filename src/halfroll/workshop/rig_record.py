"""``rigs/<rig>.toml``: what was measured with, each calibration with its date and uncertainty, and the earlier ones."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.measure.recording import Role
from halfroll.workshop.fields import (
    AnyRole,
    Date,
    Decibels,
    Drive,
    FileName,
    Positive,
    Record,
    Sha256,
    Table,
    check_roles,
)

VALID_DAYS = 365
"""How long a calibration counts as current when nothing else is stated. The project's choice: a calibrator is checked once a
year by common practice, and gains are turned more often than that."""

ValidDays = Annotated[int, Field(ge=1, le=36_500)]
Hertz = Annotated[float, Field(gt=0, le=1e6)]
Ohms = Annotated[float, Field(gt=0, le=10_000)]
CurrentMethod = Literal["direct", "shunt", "divider"]


class CalibrationTable(Table):
    """What every calibration states: standard uncertainty (dB), date, how it was done, how long it counts."""

    u_db: Decibels = 0.0
    date: Date | None = None
    valid_days: ValidDays = VALID_DAYS


class MicrophoneTable(CalibrationTable):
    """``[microphone]``: sound pressure of one full scale, and the microphone's correction curve.

    The curve is a CSV file beside the record; its ``level_db`` is what the microphone reads too high.
    """

    pa_per_full_scale: Positive
    method: str = ""
    calibrator_db: Annotated[float, Field(ge=70, le=140)] | None = None
    calibrator_hz: Hertz | None = None
    recording: FileName | None = None
    correction: FileName | None = None
    correction_sha256: Sha256 | None = None
    correction_u_db: Decibels = 0.0

    @model_validator(mode="after")
    def _correction_whole(self) -> Self:
        if (self.correction is None) != (self.correction_sha256 is None):
            raise PydanticCustomError("halfroll", "{rule}", {
                "rule": "must name its file and the file's content hash, both or neither",
                "key": "correction", "found": str(self.correction or self.correction_sha256),
            })  # fmt: skip
        return self


class OutputTable(CalibrationTable):
    """``[output]``: terminal voltage (instantaneous) of one digital full scale at the amplifier's present setting."""

    v_per_full_scale: Positive
    method: str = ""
    at_hz: Hertz | None = None


class VoltageTable(CalibrationTable):
    """``[voltage]``: terminal voltage of one full scale of the voltage channel."""

    v_per_full_scale: Positive
    method: str = ""
    at_hz: Hertz | None = None


class CurrentTable(CalibrationTable):
    """``[current]``: how the current is known: directly by its scale, by a shunt, or by a divider with a known resistor."""

    a_per_full_scale: Positive | None = None
    method: CurrentMethod = "direct"
    resistance_ohm: Ohms | None = None
    resistance_u_ohm: Annotated[float, Field(ge=0)] = 0.0
    gain_db: Annotated[float, Field(ge=-40, le=40)] = 0.0
    gain_u_db: Decibels = 0.0
    delay_us: Annotated[float, Field(ge=-10_000, le=10_000)] = 0.0
    voltage_includes_shunt: bool = False
    shares_voltage: bool = False

    @model_validator(mode="after")
    def _whole(self) -> Self:
        lacking = ""
        if self.method == "divider" and self.resistance_ohm is None:
            lacking = "resistance_ohm"
        elif self.method != "divider" and self.a_per_full_scale is None:
            lacking = "a_per_full_scale"
        elif self.voltage_includes_shunt and self.resistance_ohm is None:
            lacking = "resistance_ohm"
        if lacking:
            raise PydanticCustomError("halfroll", "{rule}", {
                "rule": "is missing" if lacking != "resistance_ohm" else "must be stated for this method",
                "key": lacking, "found": "nothing",
            })  # fmt: skip
        return self


class LatencyTable(Table):
    """``[latency]``: delay of the sound card from output to input, and its standard uncertainty over repeats (samples)."""

    samples: Annotated[float, Field(ge=-1e6, le=1e7)]
    rate_hz: Annotated[int, Field(ge=8000, le=768_000)]
    u_samples: Annotated[float, Field(ge=0)] = 0.0
    date: Date | None = None


class DevicesTable(Table):
    """``[devices]``: the sound card of the rig, its channels and what each input holds (one role a channel)."""

    input: str = ""
    output: str = ""
    rate_hz: Annotated[int, Field(ge=8000, le=768_000)] = 48_000
    output_channel: Annotated[int, Field(ge=1, le=128)] = 1
    inputs: Annotated[tuple[AnyRole, ...], Field(strict=False), AfterValidator(check_roles)] = (
        Role.MICROPHONE,
    )
    block: Annotated[int, Field(ge=0, le=65_536)] = 0


class LimitsTable(Table):
    """``[limits]``: the voltage (r.m.s. of a sine) that is never exceeded at the terminals, whatever is asked for."""

    v_max: Drive


class EarlierTable(Table):
    """``[[history]]``: a calibration that was replaced; takes of its time keep using it."""

    replaced: Date | None = None
    note: str = ""
    microphone: MicrophoneTable | None = None
    output: OutputTable | None = None
    voltage: VoltageTable | None = None
    current: CurrentTable | None = None
    latency: LatencyTable | None = None


class RigRecord(Record):
    """``rigs/<rig>.toml``: what was measured with, and its calibration.

    ``date`` stands for every calibration that has none of its own.
    """

    kind: ClassVar[str] = "rig"

    title: str = ""
    date: Date | None = None
    drive_u_db: Decibels = 0.0
    notes: str = ""
    microphone: MicrophoneTable | None = None
    output: OutputTable | None = None
    voltage: VoltageTable | None = None
    current: CurrentTable | None = None
    latency: LatencyTable | None = None
    devices: DevicesTable | None = None
    limits: LimitsTable | None = None
    history: Annotated[tuple[EarlierTable, ...], Field(strict=False)] = ()
