"""The sound card while a page is open: meters when nothing plays, one piece of work at a time, and a stop that always works.

Everything a card does happens in one thread; the page only looks at the latest levels.
"""

from __future__ import annotations

import asyncio
import threading
import weakref
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import TYPE_CHECKING, TypeVar

from nicegui import app

from halfroll.app.job import Job
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.progress import Progress

if TYPE_CHECKING:
    from halfroll.measure.capture import CaptureSetup, Levels, SoundCard

T = TypeVar("T")

LISTEN_EVERY_S = 0.08
WAIT_STEPS = 50
"""So many tenths of a second a page waits for another one to let go of the card."""

_in_use = threading.Lock()
_open: weakref.WeakSet[Sounding] = weakref.WeakSet()


class Sounding:
    """The sound card of one open page; `job` is what it does now, `fault` why it stopped by itself."""

    def __init__(self) -> None:
        self.card: SoundCard | None = None
        self.setup: CaptureSetup | None = None
        self.job: Job | None = None
        self.fault = ""
        self._pool: ThreadPoolExecutor | None = None
        self._interrupt = threading.Event()

    @property
    def levels(self) -> Levels | None:
        """The latest levels of the inputs; None when no card is open."""
        return None if self.card is None else self.card.last

    async def open(self, setup: CaptureSetup) -> None:
        """Open the card, or leave it open when it is the same.

        Raises
        ------
        InputError
            Another window uses it, or it cannot be opened.
        """
        if self.card is not None and self.setup == setup:
            return
        await self.close()
        if not await _taken():
            raise InputError("The sound card is in use by another window of halfroll",
                             remedy="Close that window, or its meters")  # fmt: skip
        pool = self._pool = ThreadPoolExecutor(1, thread_name_prefix="halfroll-sound")
        if not _open:
            app.on_shutdown(_close_all)
        _open.add(self)
        self.fault = ""
        try:
            self.card = await asyncio.get_running_loop().run_in_executor(pool, _card, setup)
        except BaseException:
            await self.close()
            raise
        self.setup = setup
        self._listen()

    async def run(self, what: str, function: Callable[[SoundCard, Progress], T]) -> T:
        """Run ``function(card, progress)`` in the thread of the card; `stop` ends it.

        Raises what the function raises; a card that was lost is closed.
        """
        card, pool = self.card, self._pool
        if card is None or pool is None:
            raise InputError("The sound card is not open")
        if self.job is not None:
            raise InputError("The sound card is busy", found=self.job.what, remedy="Stop that first")
        job = self.job = Job(what)
        self._interrupt.set()
        try:
            return await asyncio.get_running_loop().run_in_executor(pool, function, card, job.report)
        except InputError as fault:
            if card.lost:
                self.fault = str(fault)
                await self.close()
            raise
        finally:
            self.job = None
            self._listen()

    def stop(self) -> None:
        """Take the sound away; what was being done ends with a `CancelledError`."""
        if self.job is not None:
            self.job.stop()

    async def close(self) -> None:
        """Silence, and let the card go."""
        pool, self._pool = self._pool, None
        self.stop()
        self._interrupt.set()
        if pool is None:
            return
        card, self.card, self.setup = self.card, None, None
        if card is not None:
            with suppress(RuntimeError):  # the loop may be closing
                await asyncio.get_running_loop().run_in_executor(pool, card.close)
        pool.shutdown(wait=False)
        _open.discard(self)
        _in_use.release()

    def _listen(self) -> None:
        """Keep the levels fresh until something else is to be done."""
        self._interrupt = threading.Event()
        if self._pool is not None and self.card is not None:
            self._pool.submit(self._listening, self.card, self._interrupt)

    def _listening(self, card: SoundCard, interrupt: threading.Event) -> None:
        try:
            while not interrupt.wait(LISTEN_EVERY_S):
                card.listen()
        except HalfrollError as fault:
            self.fault = str(fault)


async def _taken() -> bool:
    """Take the card for this page. A page that was just closed or loaded anew lets go of it within seconds."""
    for _ in range(WAIT_STEPS):
        if _in_use.acquire(blocking=False):
            return True
        await asyncio.sleep(0.1)
    return False


def _card(setup: CaptureSetup) -> SoundCard:
    from halfroll.measure.capture import SoundCard

    return SoundCard(setup)


async def _close_all() -> None:
    """The server stops: so does every sound."""
    for sounding in list(_open):
        await sounding.close()
