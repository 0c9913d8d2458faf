"""Having moving parts computed after every change, each answer shown as it arrives: a part bent, all together, the break-up."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Protocol

from nicegui import ui

from halfroll.app.job import Job, work
from halfroll.app.solver import solver
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_tables import Suspended
from halfroll.app.suspension_task import report_of
from halfroll.core.errors import CancelledError, HalfrollError
from halfroll.core.progress import Progress
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.results import PartResult
from halfroll.workshop import Workshop
from halfroll.workshop.suspension_report import SuspensionReport
from halfroll.workshop.suspension_studies import Want

WAIT_S = 0.05
"""A computation begins when nothing was changed for so long."""

STOPPED = "The computation was stopped."

FIRST: tuple[Want, ...] = ("stiffness", "mass")
WHOLE: tuple[Want, ...] = ("stiffness", "mass", "break-up")


class Shown(Protocol):
    """The page as far as the computation needs it."""

    panel: Any

    def bent(self, built: Suspended, part: PartResult) -> None:
        """Show one part bent."""

    def together(self, built: Suspended, report: SuspensionReport) -> None:
        """Show what the parts do together with the moving mass."""

    def broken_up(self, built: Suspended, report: SuspensionReport) -> None:
        """Show where the diaphragm stops moving as one piece."""

    def found(self, built: Suspended, report: SuspensionReport) -> None:
        """Show the whole answer, with the distortion."""

    def compare_with(self, report: SuspensionReport) -> None:
        """Show what the saved design gives beside it."""

    def failed(self, words: str) -> None:
        """Say why there is no answer."""


class SuspensionSolving:
    """The computation of one page: at most one at a time, what nobody wants any more is stopped."""

    def __init__(self, workshop: Workshop, draft: SuspensionDraft, page: Shown) -> None:
        self.workshop, self.draft, self.page = workshop, draft, page
        self.whole: Suspended | None = None
        """What the last whole answer is of."""
        self.compared: Suspended | None = None
        """The saved design the page is compared with."""
        self._job: Job | None = None
        self._begin: ui.timer | None = None

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
        self._job = job = Job("Bending the parts")
        try:
            await self._steps(job, built)
        except CancelledError:
            if job is self._job and job.token.cancelled and not self._gone():
                self.page.failed(STOPPED)
        except HalfrollError as fault:
            if job is self._job and not self._gone():
                self.page.failed(str(fault))

    async def _steps(self, job: Job, built: Suspended) -> None:
        """One answer after another, as long as they are wanted."""
        for name in _slow_ones_last(built):
            report = await self._work(job, f"Bending the {name}", partial(self._one, built, name))
            if job is not self._job:
                return
            if report.solved.suspension is not None:
                self.page.bent(built, report.solved.suspension.parts[0])
        report = await self._work(job, job.what, partial(self._report, built, FIRST))
        if job is not self._job:
            return
        self.page.together(built, report)
        if built.design.cone is not None:
            report = await self._work(job, "Looking for the break-up", partial(self._report, built, WHOLE))
            if job is not self._job:
                return
            self.page.broken_up(built, report)
        if report.solved.suspension is not None and report.solved.mass is not None:
            report = await self._work(
                job, "Playing bass tones", partial(self._report, built, WHOLE, distortion=True)
            )
        if job is self._job:
            self.whole = built
            self.page.found(built, report)
            await self._compare(job, built, report)

    async def _work(
        self, job: Job, what: str, function: Callable[[Progress], SuspensionReport]
    ) -> SuspensionReport:
        job.what, job.done, job.step = what, 0.0, ""
        with self.page.panel:
            return await work(what, function, job=job)

    async def _compare(self, job: Job, built: Suspended, report: SuspensionReport) -> None:
        """Have the saved parts computed as well, once, to show what became of them."""
        saved = self.draft.saved_built
        if saved is None or saved is self.compared:
            return
        if saved.design != built.design:
            report = await self._work(job, "Computing what is saved", partial(self._report, saved, FIRST))
        if job is self._job and saved is self.draft.saved_built:
            self.compared = saved
            self.page.compare_with(report)

    def _gone(self) -> bool:
        return bool(ui.context.client.is_deleted)

    # In a thread, which waits for the solver's process.

    def _one(self, built: Suspended, name: str, progress: Progress) -> SuspensionReport:
        """One part alone; the whole finds its result kept."""
        design = (
            replace(built.design, spider=None) if name == "surround" else replace(built.design, surround=None)
        )
        alone = replace(built, design=design)
        return self._report(alone, ("stiffness",), progress, slot=self._slot(built))

    def _report(
        self,
        built: Suspended,
        wants: Sequence[Want],
        progress: Progress,
        *,
        distortion: bool = False,
        slot: str = "",
    ) -> SuspensionReport:
        found: SuspensionReport = solver().run(
            report_of, self.workshop.folder, self.draft.version_id, built.design, slot or self._slot(built), wants, distortion,
            progress=progress,
        )  # fmt: skip
        return found

    def _slot(self, built: Suspended) -> str:
        """Under what name results are kept: the saved design's are not pushed out by those of a draft."""
        draft = self.draft.changed and built is not self.draft.saved_built
        return f"{self.draft.version_id} draft" if draft else self.draft.version_id


def _slow_ones_last(built: Suspended) -> list[str]:
    """The names of the suspension parts there are; a flexure takes some tens of times longer than a part of revolution."""
    parts = {"surround": built.design.surround, "spider": built.design.spider}
    names = [name for name, part in parts.items() if part is not None]
    return sorted(names, key=lambda name: isinstance(parts[name], FlexureDesign))
