"""Having moving parts computed after every change, each answer shown as it arrives: a part bent, all together, the break-up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Protocol

from nicegui import ui

from halfroll.app.job import Job, work
from halfroll.app.solver import solver
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_tables import Suspended
from halfroll.core.errors import CancelledError, HalfrollError
from halfroll.core.progress import Progress
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.results import PartResult
from halfroll.workshop import Workshop
from halfroll.workshop.suspension_studies import Want, compute
from halfroll.workshop.suspensions import SuspensionSolved, solve_moving

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

    def together(self, built: Suspended, solved: SuspensionSolved) -> None:
        """Show what the parts do together with the moving mass."""

    def found(self, built: Suspended, solved: SuspensionSolved) -> None:
        """Show the whole answer."""

    def compare_with(self, solved: SuspensionSolved) -> None:
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
            for name in _slow_ones_last(built):
                with self.page.panel:
                    solved = await work(f"Bending the {name}", partial(self._one, built, name), job=job)
                if job is not self._job:
                    return
                if solved.suspension is not None:
                    self.page.bent(built, solved.suspension.parts[0])
            with self.page.panel:
                solved = await work(job.what, partial(self._solve, built, FIRST), job=job)
            if job is not self._job:
                return
            self.page.together(built, solved)
            if built.design.cone is not None:
                with self.page.panel:
                    solved = await work(
                        "Looking for the break-up", partial(self._solve, built, WHOLE), job=job
                    )
            if job is self._job:
                self.whole = built
                self.page.found(built, solved)
                await self._compare(job, built, solved)
        except CancelledError:
            if job is self._job and job.token.cancelled and not self._gone():
                self.page.failed(STOPPED)
        except HalfrollError as fault:
            if job is self._job and not self._gone():
                self.page.failed(str(fault))

    async def _compare(self, job: Job, built: Suspended, solved: SuspensionSolved) -> None:
        """Have the saved parts computed as well, once, to show what became of them."""
        saved = self.draft.saved_built
        if saved is None or saved is self.compared:
            return
        if saved.design != built.design:
            with self.page.panel:
                solved = await work("Computing what is saved", partial(self._solve, saved, FIRST), job=job)
        if job is self._job and saved is self.draft.saved_built:
            self.compared = saved
            self.page.compare_with(solved)

    def _gone(self) -> bool:
        return bool(ui.context.client.is_deleted)

    # In a thread.

    def _one(self, built: Suspended, name: str, progress: Progress) -> SuspensionSolved:
        """One part alone; the whole finds its result kept."""
        other = "spider" if name == "surround" else "surround"
        return self._run(
            replace(built, design=replace(built.design, **{other: None})), ("stiffness",), progress
        )

    def _solve(self, built: Suspended, wants: Sequence[Want], progress: Progress) -> SuspensionSolved:
        return self._run(built, wants, progress)

    def _run(self, built: Suspended, wants: Sequence[Want], progress: Progress) -> SuspensionSolved:
        slot = self.draft.version_id
        if self.draft.changed and built is not self.draft.saved_built:
            slot = f"{slot} draft"
        return solve_moving(self.workshop, built.design, progress, wants=wants, slot=slot,
                            run=lambda study, told: solver().run(compute, study, progress=told))  # fmt: skip


def _slow_ones_last(built: Suspended) -> list[str]:
    """The names of the suspension parts there are; a flexure takes some tens of times longer than a part of revolution."""
    parts = {"surround": built.design.surround, "spider": built.design.spider}
    names = [name for name, part in parts.items() if part is not None]
    return sorted(names, key=lambda name: isinstance(parts[name], FlexureDesign))
