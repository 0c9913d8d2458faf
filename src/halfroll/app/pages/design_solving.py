"""Having a design computed after every change: a sketch of its field first, then the whole, then what it is compared with."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Any, Protocol

from nicegui import run, ui

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_tables import Built
from halfroll.app.job import Job, work
from halfroll.app.solver import solver
from halfroll.core.errors import CancelledError, HalfrollError
from halfroll.core.progress import Progress
from halfroll.motor.field.study import StudySettings
from halfroll.motor.results import MotorResult
from halfroll.workshop import Workshop
from halfroll.workshop.motor_report import MotorReport, motor_report
from halfroll.workshop.motor_studies import USUAL_POWER_W, Case, Want, compute
from halfroll.workshop.motors import Solved, otherwise, solve

SKETCH = StudySettings(refinement=2.0, judge_error=False)
"""The quick first answer: a mesh of twice the size. Its error was below 0.05 % in every motor tried; 0.2 % is stated."""

WAIT_S = 0.05
"""A computation begins when nothing was changed for so long."""

STOPPED = "The computation was stopped."


class Shown(Protocol):
    """The page as far as the computation needs it."""

    panel: Any

    def sketched(self, built: Built, report: MotorReport) -> None:
        """Show a first answer."""

    def found(self, built: Built, report: MotorReport) -> None:
        """Show the whole answer."""

    def compare_with(self, report: MotorReport) -> None:
        """Show what the saved design gives beside it."""

    def failed(self, words: str) -> None:
        """Say why there is no answer."""

    def without_field(self, report: MotorReport) -> None:
        """Show what is known without a field."""


class Solving:
    """The computation of one page: at most one at a time, what nobody wants any more is stopped."""

    def __init__(self, workshop: Workshop, draft: DesignDraft, page: Shown) -> None:
        self.workshop, self.draft, self.page = workshop, draft, page
        self.whole: Built | None = None
        """What the last whole answer is of."""
        self.compared: Built | None = None
        """The saved design the page is compared with."""
        self._job: Job | None = None
        self._begin: ui.timer | None = None

    @property
    def done(self) -> bool:
        """Whether the whole answer of the present design is there."""
        built = self.draft.built
        return built is not None and self.whole is not None and self.whole.assembly == built.assembly

    def schedule(self, *, at_once: bool = False) -> None:
        """Give up what is being computed, and begin anew when nothing was changed for a moment."""
        self.stop()
        if self.draft.built is not None and not self.draft.errors:
            with self.page.panel:
                self._begin = ui.timer(0.01 if at_once else WAIT_S, self._compute, once=True)

    def stop(self) -> None:
        """Give up what is being computed or would be soon."""
        if self._begin is not None:
            self._begin.cancel()
        if self._job is not None:
            self._job.stop()
        self._job = None

    async def _compute(self) -> None:
        built = self.draft.built
        if built is None:
            return
        self._job = job = Job("Computing the field")
        try:
            with self.page.panel:
                whole, report = await work(job.what, partial(self._first, built), job=job)
            if job is not self._job:
                return
            if not whole:
                self.page.sketched(built, report)
                job.done, job.step = 0.0, "how sure that is"
                with self.page.panel:
                    report = await work(job.what, partial(self._whole, built), job=job)
            if job is self._job:
                self.whole = built
                self.page.found(self._now(built), report)
                await self._compare(job, built, report)
        except CancelledError:
            if job is self._job and job.token.cancelled and not self._gone():
                self.page.failed(STOPPED)
        except HalfrollError as fault:
            if job is self._job and not self._gone():
                self.page.failed(str(fault))
                await self._without_field(job, built)

    async def _without_field(self, job: Job, built: Built) -> None:
        """What is known of the coil all the same, as where there is no solver for this computer."""
        try:
            report = await run.io_bound(self.report, built, None)
        except HalfrollError:
            return
        if report is not None and job is self._job and not self._gone():
            self.page.without_field(report)

    def _gone(self) -> bool:
        return bool(ui.context.client.is_deleted)

    def _now(self, built: Built) -> Built:
        """The present state where it has the same field, so that a price or a title changed meanwhile counts."""
        now = self.draft.built
        return now if now is not None and now.assembly == built.assembly else built

    async def _compare(self, job: Job, built: Built, report: MotorReport) -> None:
        """Have the saved design computed as well, once, to show what became of it."""
        saved = self.draft.saved_built
        if saved is None or saved is self.compared:
            return
        if saved.assembly != built.assembly or saved.design != built.design:
            with self.page.panel:
                report = await work("Computing what is saved", partial(self._whole, saved), job=job)
        if job is self._job and saved is self.draft.saved_built:
            self.compared = saved
            self.page.compare_with(report)

    # In a thread.

    def case(self, built: Built) -> Case:
        """A state of the design, ready to be studied."""
        power = self.draft.record.rated_power_w or USUAL_POWER_W
        return Case(design=built.design, assembly=built.assembly, power_w=power)

    def _first(self, built: Built, progress: Progress) -> tuple[bool, MotorReport]:
        """The whole answer where it is known already, else that of a coarse mesh; and which of both it is."""
        case = self.case(built)
        if self.workshop.index.response(case.key("field")) is not None:
            return True, self._whole(built, progress)
        sketch = Case(design=case.design, assembly=case.assembly, settings=SKETCH, power_w=case.power_w)
        return False, self.report(built, solver().run(compute, "field", sketch, progress=progress))

    def _whole(self, built: Built, progress: Progress) -> MotorReport:
        return self.report(built, self.study("field", built, progress))

    def report(self, built: Built, motor: MotorResult | None) -> MotorReport:
        """All that is said of a state of the design with its field."""
        solved = Solved(design=built.design, assembly=built.assembly, motor=motor)
        return motor_report(self.workshop, solved, dt.date.today(), self.draft.version_id)

    def study(self, want: Want, built: Built, progress: Progress) -> Any:
        """One study of a state of the design in the solver's process."""
        slot = f"{self.draft.version_id} draft" if self.draft.changed else self.draft.version_id
        if built is self.draft.saved_built:
            slot = self.draft.version_id
        found = solve(self.workshop, self.case(built), (want,), progress, slot=slot,
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
