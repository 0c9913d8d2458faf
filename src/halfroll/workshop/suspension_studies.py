"""What can be worked out for moving parts: each suspension part, the moving mass, break-up; and when a result is still the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

from halfroll.core.progress import Progress
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.results import BreakUp, MovingMass, PartResult
from halfroll.workshop.jobs import code_of, key_of

Want = Literal["stiffness", "mass", "break-up"]
"""What is asked for: surround and spider over the travel, the moving mass, the diaphragm's break-up."""

WANTS: tuple[Want, ...] = ("stiffness", "mass", "break-up")

StudyKind = Literal["surround", "spider", "mass", "break-up"]

SHARES: dict[StudyKind, float] = {"surround": 3.0, "spider": 3.0, "mass": 0.5, "break-up": 4.0}
"""How long the studies take, roughly, for the progress bar."""


@dataclass(frozen=True, kw_only=True)
class MovingStudy:
    """One study: of what kind, and the design with only what the result depends on, so that a new cone leaves a surround's result alone.

    `surround`, `spider`, `mass` are results that mass and break-up are to count with; None: they make estimates of their own.
    """

    kind: StudyKind
    design: MovingDesign
    surround: PartResult | None = None
    spider: PartResult | None = None
    mass: MovingMass | None = None

    @property
    def key(self) -> str:
        """Changes whenever the result may: the design with all values of its materials, or the code."""
        counted = f"{self.surround is not None} {self.spider is not None} {self.mass is not None} {self.design.travel_m!r}"
        return key_of(
            self.kind, code_of("core", "acoustics", "materials", "suspension"), repr(self.design), counted
        )

    def take(self, slot: str) -> str:
        """Under what name the latest result of a slot is kept."""
        return f"suspension {self.kind} {slot}"


Run = Callable[[MovingStudy, Progress], Any]
"""Works out one study."""


def part_study(kind: Literal["surround", "spider"], design: MovingDesign) -> MovingStudy:
    """The study of one suspension part of a design, in the part's own heights: where it stands over the gap is no matter of its own."""
    alone = MovingDesign(travel_m=design.travel_m, temperature_c=design.temperature_c)
    holder = replace(getattr(design, kind), height_over_gap_m=0.0)
    return MovingStudy(kind=kind, design=replace(alone, **{kind: holder}))


def compute(study: MovingStudy, progress: Progress) -> Any:
    """One study, worked out now.

    Raises
    ------
    InputError
        A part cannot be, or cannot be bent so far.
    CancelledError
        `progress` asked to stop.
    """
    if study.kind == "mass":
        return _mass(study)
    return _break_up(study, progress) if study.kind == "break-up" else _part(study, progress)


def _part(study: MovingStudy, progress: Progress) -> PartResult:
    from halfroll.driver.predicted.studies import bent

    return bent(study.design, progress)


def _mass(study: MovingStudy) -> MovingMass:
    from halfroll.suspension.diaphragm import moving_mass

    return moving_mass(study.design, surround=study.surround, spider=study.spider)


def _break_up(study: MovingStudy, progress: Progress) -> BreakUp:
    from halfroll.suspension.diaphragm import break_up

    return break_up(
        study.design, mass=study.mass, surround=study.surround, spider=study.spider, progress=progress
    )
