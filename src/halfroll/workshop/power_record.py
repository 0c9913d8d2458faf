"""``power.toml``: a power-handling log, step after step."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from halfroll.measure.heat.power_log import HeatLimits, PowerStep
from halfroll.workshop.fields import Drive, Moment, Table
from halfroll.workshop.runs import RunRecord

Ohms = Annotated[float, Field(gt=0, le=10_000)]
Hertz = Annotated[float, Field(gt=0, le=20_000)]
Bears = Annotated[float, Field(ge=30, le=500)]
Air = Annotated[float, Field(ge=-50, le=80)]


class PowerStepTable(Table):
    """``[[steps]]``: one drive, for how long, and what was read (`halfroll.measure.heat.power_log.PowerStep`)."""

    kind: ClassVar[str] = "step"

    when: Moment | None = None
    drive_v: Drive
    hours: Annotated[float, Field(gt=0, le=10_000)]
    temperature_c: Air | None = None
    re_before_ohm: Ohms | None = None
    re_warm_ohm: Ohms | None = None
    re_after_ohm: Ohms | None = None
    fs_before_hz: Hertz | None = None
    fs_after_hz: Hertz | None = None
    level_change_db: Annotated[float, Field(ge=-60, le=60)] | None = None
    judged: Literal["passed", "changed", "failed"] | None = None
    note: str = ""

    def step(self) -> PowerStep:
        """The same for the measure room."""
        names = [name for name in PowerStepTable.model_fields if name != "when"]
        return PowerStep(**{name: getattr(self, name) for name in names})


class PowerRecord(RunRecord):
    """``power.toml``: a power-handling log of one unit."""

    kind: ClassVar[str] = "power"

    signal: str = ""
    metal: Literal["copper", "aluminium"] = "copper"
    glue_c: Bears | None = None
    filament_c: Bears | None = None
    enamel_c: Bears | None = None
    steps: Annotated[tuple[PowerStepTable, ...], Field(strict=False)] = ()

    def limits(self) -> HeatLimits:
        """What glue, filament and enamel bear."""
        return HeatLimits(glue_c=self.glue_c, filament_c=self.filament_c, enamel_c=self.enamel_c)
