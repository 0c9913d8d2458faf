"""Having a design computed after every change: a sketch of its field first, then the whole, then what it is compared with."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Any, Protocol

from nicegui import run

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_tables import Built
from halfroll.app.job import Job
from halfroll.app.pages.computing import Answered, Computing
from halfroll.app.solver import solver
from halfroll.core.errors import HalfrollError
from halfroll.core.progress import Progress
from halfroll.motor.field.study import StudySettings
from halfroll.motor.results import MotorResult
from halfroll.workshop import Workshop
from halfroll.workshop.motor_report import MotorReport, motor_report
from halfroll.workshop.motor_studies import USUAL_POWER_W, Case, Want, compute
from halfroll.workshop.motors import Solved, otherwise, solve

SKETCH = StudySettings(refinement=2.0, judge_error=False)
"""The quick first answer: a mesh of twice the size. Its error was below 0.05 % in every motor tried; 0.2 % is stated."""


class Shown(Answered, Protocol):
    """The page as far as the computation needs it."""

    def sketched(self, built: Built, report: MotorReport) -> None:
        """Show a first answer."""

    def found(self, built: Built, report: MotorReport) -> None:
        """Show the whole answer."""

    def without_field(self, report: MotorReport) -> None:
        """Show what is known without a field."""


class Solving(Computing[DesignDraft, Shown]):
    """The computation of one page."""

    what = "Computing the field"
    whole: Built | None

    def __init__(self, workshop: Workshop, draft: DesignDraft, page: Shown) -> None:
        super().__init__(draft, page)
        self.workshop = workshop

    @property
    def done(self) -> bool:
        """Whether the whole answer of the present design is there."""
        built = self.draft.built
        return built is not None and self.whole is not None and self.whole.assembly == built.assembly

    async def steps(self, job: Job, built: Built) -> None:
        """See `Computing.steps`."""
        whole, report = await self.work(job, self.what, partial(self._first, built))
        if job is not self._job:
            return
        if not whole:
            self.page.sketched(built, report)
            report = await self.work(job, self.what, partial(self.of_saved, built), "how sure that is")
        if job is self._job:
            self.whole = built
            self.page.found(self._now(built), report)
            await self.compare(job, built, report)

    async def after_fault(self, job: Job, built: Built) -> None:
        """What is known of the coil all the same, as where there is no solver for this computer."""
        try:
            report = await run.io_bound(self.report, built, None)
        except HalfrollError:
            return
        if report is not None and self.wanted(job):
            self.page.without_field(report)

    def _now(self, built: Built) -> Built:
        """The present state where it has the same field, so that a price or a title changed meanwhile counts."""
        now = self.draft.built
        return now if now is not None and now.assembly == built.assembly else built

    def alike(self, saved: Built, built: Built) -> bool:
        """See `Computing.alike`."""
        return saved.assembly == built.assembly and saved.design == built.design

    # In a thread.

    def case(self, built: Built) -> Case:
        """A state of the design, ready to be studied."""
        power = self.draft.record.rated_power_w or USUAL_POWER_W
        return Case(design=built.design, assembly=built.assembly, power_w=power)

    def _first(self, built: Built, progress: Progress) -> tuple[bool, MotorReport]:
        """The whole answer where it is known already, else that of a coarse mesh; and which of both it is."""
        case = self.case(built)
        if self.workshop.index.response(case.key("field")) is not None:
            return True, self.of_saved(built, progress)
        sketch = Case(design=case.design, assembly=case.assembly, settings=SKETCH, power_w=case.power_w)
        return False, self.report(built, solver().run(compute, "field", sketch, progress=progress))

    def of_saved(self, saved: Built, progress: Progress) -> MotorReport:
        """The whole answer of a state, saved or not."""
        return self.report(saved, self.study("field", saved, progress))

    def report(self, built: Built, motor: MotorResult | None) -> MotorReport:
        """All that is said of a state of the design with its field."""
        solved = Solved(design=built.design, assembly=built.assembly, motor=motor)
        return motor_report(self.workshop, solved, dt.date.today(), self.draft.version_id)

    def study(self, want: Want, built: Built, progress: Progress) -> Any:
        """One study of a state of the design in the solver's process."""
        found = solve(self.workshop, self.case(built), (want,), progress, slot=self.slot(built),
                      run=lambda wanted, what, report: solver().run(compute, wanted, what, progress=report))  # fmt: skip
        return {
            "field": found.motor,
            "inductance": found.inductance,
            "modulation": found.modulation,
            "forces": found.forces,
        }[want]

    def at_temperature(self, built: Built, celsius: float, progress: Progress) -> MotorResult:
        """The field with all magnets at another temperature (°C), of a coarse mesh."""
        case = otherwise(self.case(built), temperature_c=celsius)
        sketch = Case(design=case.design, assembly=case.assembly, settings=SKETCH, power_w=case.power_w)
        found: MotorResult = solver().run(compute, "field", sketch, progress=progress)
        return found
