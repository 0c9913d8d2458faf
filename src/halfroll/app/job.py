"""Long work on a page: what is being done, how far it is, and a way to stop it.

The work runs in a thread of its own: the transforms and the audio decoding it consists of let other threads run.
"""

from __future__ import annotations

import asyncio
import weakref
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

from nicegui import app, ui

from halfroll.app.dom import el
from halfroll.core.errors import CancelledError
from halfroll.core.progress import CancelToken, Progress

T = TypeVar("T")

SHOW_AFTER_S = 0.4
"""Work that takes longer than this shows its progress (s)."""
_LOOK_EVERY_S = 0.1
_AT_ONCE = 2
"""So many pieces of work run beside each other; more of them wait."""

_running: weakref.WeakSet[Job] = weakref.WeakSet()


class Job:
    """One piece of work in a thread, with its progress as last reported."""

    def __init__(self, what: str) -> None:
        self.what = what
        self.done = 0.0
        self.step = ""
        self.token = CancelToken()
        self.report: Progress = self.token.wrap(self._note, what)
        _running.add(self)

    def _note(self, done: float, step: str) -> None:
        self.done, self.step = min(max(done, 0.0), 1.0), step

    def stop(self) -> None:
        """Ask the work to stop; it ends at its next step with a `CancelledError`."""
        self.token.cancel()


class Panel:
    """The bar of a job, what it is doing, and its stop button."""

    def __init__(self, job: Job) -> None:
        self._job = job
        with el("div", cls="block", role="status") as self._box:
            el("p", job.what)
            with el("div", cls="progress"):
                self._bar = el("i")
            self._step = el("p", cls="quiet small")
            el("button", "Stop", type="button").on("click", job.stop)

    def refresh(self) -> None:
        """Show how far the job is by now."""
        self._bar.style(f"width: {100 * self._job.done:.0f}%")
        self._step.text = self._job.step

    def remove(self) -> None:
        """Take it off the page."""
        self._box.delete()


async def work(what: str, function: Callable[[Progress], T], *, job: Job | None = None) -> T:
    """Run ``function(progress)`` in a thread and return its result, showing a bar and a stop button where we are.

    A page that is closed stops its work, and so does whoever holds the `job`. Raises what the function raises,
    `CancelledError` when it was stopped.
    """
    job = job or Job(what)
    client = ui.context.client
    client.on_delete(job.stop)
    future = asyncio.get_running_loop().run_in_executor(_pool(), function, job.report)
    future.add_done_callback(_heard)
    await asyncio.wait([future], timeout=SHOW_AFTER_S)
    if not future.done():
        panel = Panel(job)
        await client.connected()
        while not future.done() and not client.is_deleted:
            panel.refresh()
            await asyncio.wait([future], timeout=_LOOK_EVERY_S)
        if client.is_deleted:  # the window was closed: nobody is there to be shown anything
            raise CancelledError(what)
        panel.remove()
    return await future


def _heard(future: asyncio.Future[Any]) -> None:
    """Take note of how work ended even when its page is gone: asyncio complains of errors nobody looked at."""
    if not future.cancelled():
        future.exception()


def _pool() -> ThreadPoolExecutor:
    """The threads of this server, started with its first work."""
    pool = getattr(app.state, "work", None)
    if not isinstance(pool, ThreadPoolExecutor):
        app.state.work = pool = ThreadPoolExecutor(_AT_ONCE, thread_name_prefix="halfroll-work")
        app.on_shutdown(_stop_all)
    return pool


def _stop_all() -> None:
    """The server stops: so does all work, at its next step."""
    for job in list(_running):
        job.stop()
    pool = _pool()
    app.state.work = None
    pool.shutdown(wait=False, cancel_futures=True)
