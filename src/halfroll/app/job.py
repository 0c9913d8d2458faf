"""Long work on a page: what is being done, how far it is, and a way to stop it.

The work runs in a thread of its own: the transforms and the audio decoding it consists of let other threads run.
"""

from __future__ import annotations

import asyncio
import weakref
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from nicegui import app, ui

from halfroll.app.dom import Plain, el
from halfroll.core.errors import CancelledError
from halfroll.core.progress import CancelToken, Progress

T = TypeVar("T")

SHOW_AFTER_S = 0.4
"""Work that takes longer than this shows its progress (s)."""
_LOOK_EVERY_S = 0.1

_running: weakref.WeakSet[Job] = weakref.WeakSet()


class Job:
    """One piece of work in a thread, with its progress as last reported."""

    def __init__(self, what: str) -> None:
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


async def work(what: str, function: Callable[[Progress], T]) -> T:
    """Run ``function(progress)`` in a thread and return its result, showing a bar and a stop button where we are.

    A page that is closed stops its work. Raises what the function raises, `CancelledError` when it was stopped.
    """
    job = Job(what)
    client = ui.context.client
    client.on_delete(job.stop)
    future = asyncio.get_running_loop().run_in_executor(_pool(), function, job.report)
    await asyncio.wait([future], timeout=SHOW_AFTER_S)
    if not future.done():
        with _panel(what, job) as panel:
            bar, step = panel.bar, panel.step  # type: ignore[attr-defined]
        await client.connected()
        while not future.done() and not client.is_deleted:
            bar.style(f"width: {100 * job.done:.0f}%")
            step.text = job.step
            await asyncio.wait([future], timeout=_LOOK_EVERY_S)
        if client.is_deleted:  # the window was closed: nobody is there to be shown anything
            raise CancelledError(what)
        panel.delete()
    return await future


def _panel(what: str, job: Job) -> Plain:
    with el("div", cls="block", role="status") as panel:
        el("p", what)
        with el("div", cls="progress"):
            panel.bar = el("i")  # type: ignore[attr-defined]
        panel.step = el("p", cls="quiet small")  # type: ignore[attr-defined]
        el("button", "Stop", type="button").on("click", job.stop)
    return panel


def _pool() -> ThreadPoolExecutor:
    if not hasattr(app.state, "halfroll_pool"):
        app.state.halfroll_pool = ThreadPoolExecutor(max_workers=2, thread_name_prefix="halfroll-work")
        app.on_shutdown(_stop_all)
    return app.state.halfroll_pool  # type: ignore[no-any-return]


def _stop_all() -> None:
    """The server stops: so does all work, at its next step."""
    for job in list(_running):
        job.stop()
    pool = app.state.halfroll_pool
    del app.state.halfroll_pool
    pool.shutdown(wait=False, cancel_futures=True)
