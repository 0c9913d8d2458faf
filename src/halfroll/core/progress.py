"""Progress and cancelling, the same for a terminal, a page and a test."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from halfroll.core.errors import CancelledError

Progress = Callable[[float, str], None]
"""``progress(done, what)``: `done` runs from 0 to 1, `what` says what is being done.

The callback may raise `CancelledError`; whoever calls it lets that pass and leaves nothing half-done.
"""


def silent(done: float, what: str) -> None:
    """Report nothing."""


@dataclass(frozen=True)
class CancelToken:
    """Set from one thread, seen by the work in another."""

    _event: threading.Event = field(default_factory=threading.Event)

    def cancel(self) -> None:
        """Ask the work to stop at its next step."""
        self._event.set()

    @property
    def cancelled(self) -> bool:
        """Whether stopping was asked for."""
        return self._event.is_set()

    def wrap(self, progress: Progress, what: str = "The work") -> Progress:
        """A progress callback that raises `CancelledError` once `cancel` was called."""

        def report(done: float, step: str) -> None:
            if self.cancelled:
                raise CancelledError(what)
            progress(done, step)

        return report


def part(progress: Progress, start: float, stop: float) -> Progress:
    """The stretch from `start` to `stop` of a longer work as a progress callback of its own."""

    def report(done: float, what: str) -> None:
        progress(start + (stop - start) * done, what)

    return report
