"""Having moving parts computed after every change, each answer shown as it arrives: a part bent, all together, the break-up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Protocol

from halfroll.app.job import Job
from halfroll.app.pages.computing import Answered, Computing
from halfroll.app.solver import solver
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_tables import Suspended
from halfroll.app.suspension_task import report_of
from halfroll.core.progress import Progress
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.results import PartResult
from halfroll.workshop import Workshop
from halfroll.workshop.suspension_report import SuspensionReport
from halfroll.workshop.suspension_studies import Want

FIRST: tuple[Want, ...] = ("stiffness", "mass")
WHOLE: tuple[Want, ...] = ("stiffness", "mass", "break-up")


class Shown(Answered, Protocol):
    """The page as far as the computation needs it."""

    def bent(self, built: Suspended, part: PartResult) -> None:
        """Show one part bent."""

    def together(self, built: Suspended, report: SuspensionReport) -> None:
        """Show what the parts do together with the moving mass."""

    def broken_up(self, built: Suspended, report: SuspensionReport) -> None:
        """Show where the diaphragm stops moving as one piece."""

    def found(self, built: Suspended, report: SuspensionReport) -> None:
        """Show the whole answer, with the distortion."""


class SuspensionSolving(Computing[SuspensionDraft, Shown]):
    """The computation of one page."""

    what = "Bending the parts"
    whole: Suspended | None

    def __init__(self, workshop: Workshop, draft: SuspensionDraft, page: Shown) -> None:
        super().__init__(draft, page)
        self.workshop = workshop

    async def steps(self, job: Job, built: Suspended) -> None:
        """See `Computing.steps`."""
        for name in _slow_ones_last(built):
            report = await self.work(job, f"Bending the {name}", partial(self._one, built, name))
            if job is not self._job:
                return
            if report.solved.suspension is not None:
                self.page.bent(built, report.solved.suspension.parts[0])
        report = await self.work(job, job.what, partial(self._report, built, FIRST))
        if job is not self._job:
            return
        self.page.together(built, report)
        if built.design.cone is not None:
            report = await self.work(job, "Looking for the break-up", partial(self._report, built, WHOLE))
            if job is not self._job:
                return
            self.page.broken_up(built, report)
        if report.solved.suspension is not None and report.solved.mass is not None:
            report = await self.work(
                job, "Playing bass tones", partial(self._report, built, WHOLE, distortion=True)
            )
        if job is self._job:
            self.whole = built
            self.page.found(built, report)
            await self.compare(job, built, report)

    def alike(self, saved: Suspended, built: Suspended) -> bool:
        """See `Computing.alike`."""
        return saved.design == built.design

    # In a thread, which waits for the solver's process.

    def _one(self, built: Suspended, name: str, progress: Progress) -> SuspensionReport:
        """One part alone; the whole finds its result kept."""
        design = (
            replace(built.design, spider=None) if name == "surround" else replace(built.design, surround=None)
        )
        alone = replace(built, design=design)
        return self._report(alone, ("stiffness",), progress, slot=self.slot(built))

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
            report_of, self.workshop.folder, self.draft.version_id, built.design, slot or self.slot(built), wants, distortion,
            progress=progress,
        )  # fmt: skip
        return found

    def of_saved(self, saved: Suspended, progress: Progress) -> SuspensionReport:
        """See `Computing.of_saved`."""
        return self._report(saved, FIRST, progress)


def _slow_ones_last(built: Suspended) -> list[str]:
    """The names of the suspension parts there are; a flexure takes some tens of times longer than a part of revolution."""
    parts = {"surround": built.design.surround, "spider": built.design.spider}
    names = [name for name, part in parts.items() if part is not None]
    return sorted(names, key=lambda name: isinstance(parts[name], FlexureDesign))
