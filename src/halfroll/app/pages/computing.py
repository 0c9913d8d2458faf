"""Having a draft computed after every change: at most one computation at a time, what nobody wants any more is stopped."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from functools import partial
from typing import Any, Generic, Protocol, TypeVar

from nicegui import ui

from halfroll.app.draft import Draft
from halfroll.app.job import Job, work
from halfroll.app.typed import without_place
from halfroll.core.errors import CancelledError, HalfrollError, InputError
from halfroll.core.progress import Progress

WAIT_S = 0.05
"""A computation begins when nothing was changed for so long."""

STOPPED = "The computation was stopped."

R = TypeVar("R")


class Answered(Protocol):
    """A page as far as every computation needs it."""

    panel: Any

    def compare_with(self, report: Any) -> None:
        """Show what the saved design gives beside it."""

    def failed(self, words: str) -> None:
        """Say why there is no answer."""


D = TypeVar("D", bound=Draft)
P = TypeVar("P", bound=Answered)


class Computing(ABC, Generic[D, P]):
    """The computation of one page."""

    what = "Computing"
    """What is said of it while it runs."""

    def __init__(self, draft: D, page: P) -> None:
        self.draft, self.page = draft, page
        self.whole: Any = None
        """What the last whole answer is of."""
        self.compared: Any = None
        """The saved design the page is compared with."""
        self._job: Job | None = None
        self._begin: ui.timer | None = None

    @abstractmethod
    async def steps(self, job: Job, built: Any) -> None:
        """Work out one answer after another and show each, as long as they are wanted."""

    @abstractmethod
    def alike(self, saved: Any, built: Any) -> bool:
        """Whether two states of the design have one answer."""

    @abstractmethod
    def of_saved(self, saved: Any, progress: Progress) -> Any:
        """The report of what is saved; runs in a thread."""

    async def after_fault(self, job: Job, built: Any) -> None:
        """What can be shown although there is no answer."""

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

    def wanted(self, job: Job) -> bool:
        """Whether somebody still waits for a job's answer."""
        return job is self._job and not ui.context.client.is_deleted

    async def work(self, job: Job, what: str, function: Callable[[Progress], R], step: str = "") -> R:
        """One part of a job, in a thread."""
        job.what, job.done, job.step = what, 0.0, step
        with self.page.panel:
            return await work(what, function, job=job)

    async def compare(self, job: Job, built: Any, report: Any) -> None:
        """Have the saved design computed as well, once, to show what became of it."""
        saved = self.draft.saved_built
        if saved is None or saved is self.compared:
            return
        if not self.alike(saved, built):
            report = await self.work(job, "Computing what is saved", partial(self.of_saved, saved))
        if job is self._job and saved is self.draft.saved_built:
            self.compared = saved
            self.page.compare_with(report)

    def slot(self, built: Any) -> str:
        """Under what name results are kept: the saved design's are not pushed out by those of a draft."""
        draft = self.draft.changed and built is not self.draft.saved_built
        return f"{self.draft.version_id} draft" if draft else self.draft.version_id

    async def _compute(self) -> None:
        built = self.draft.built
        if built is None:
            return
        self._job = job = Job(self.what)
        try:
            await self.steps(job, built)
        except CancelledError:
            if self.wanted(job) and job.token.cancelled:
                self.page.failed(STOPPED)
        except HalfrollError as fault:
            if self.wanted(job):
                self.page.failed(without_place(fault) if isinstance(fault, InputError) else str(fault))
                await self.after_fault(job, built)
