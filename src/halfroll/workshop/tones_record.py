"""``tones.toml``: a series of stepped tones, and where each lies in its recording."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field

from halfroll.measure.stepped.tones import Schedule, Tone
from halfroll.workshop.fields import AnySpace, Distance, Drive, Positive, Table
from halfroll.workshop.runs import RunRecord

Samples = Annotated[int, Field(ge=0)]
Some = Annotated[int, Field(ge=1)]


class ToneTable(Table):
    """``[[tones]]``: one tone as it was played (`halfroll.measure.stepped.tones.Tone`)."""

    nominal_hz: Positive
    level_v: Drive
    peak: Annotated[float, Field(gt=0, le=1)]
    periods: Some
    block: Some
    blocks: Annotated[int, Field(ge=4)]
    start: Samples
    closing: bool = False

    @staticmethod
    def of(tone: Tone) -> ToneTable:
        """The table of a tone."""
        return ToneTable(**vars(tone))

    def tone(self) -> Tone:
        """The same for the measure room."""
        return Tone(**{name: getattr(self, name) for name in ToneTable.model_fields})


class TonesRecord(RunRecord):
    """``tones.toml``: a series of stepped tones of one unit."""

    kind: ClassVar[str] = "tones"

    rig: Annotated[str, Field(min_length=1)]
    distance_m: Distance
    space: AnySpace
    temperature_c: Annotated[float, Field(ge=-50, le=80)] | None = None
    limit_v: Drive
    rate_hz: Annotated[int, Field(ge=8000, le=768_000)]
    silence: Samples = 0
    ended: str = ""
    tones: Annotated[tuple[ToneTable, ...], Field(strict=False, min_length=1)]

    def schedule(self) -> Schedule:
        """What was played, for the measure room."""
        return Schedule(
            rate_hz=self.rate_hz, silence=self.silence, tones=tuple(table.tone() for table in self.tones)
        )
