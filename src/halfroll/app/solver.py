"""The motor's solver in a process of its own, started once and kept warm, so that a page answers while it works.

The finite-element library holds the interpreter while it works and may fall with all it holds: neither may happen to the
server. One thing is computed at a time; what nobody wants any more is stopped at its next step, or with its process.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import threading
import time
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from nicegui import app

from halfroll.app.solver_process import SolverLostError, Task, serve
from halfroll.core.progress import Progress

LOOK_EVERY_S = 0.03
STOP_WITHIN_S = 4.0
"""Work that does not heed a stop for so long is ended with its process (s)."""


class Solver:
    """The process and the way to it. `run` may be called from any thread."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    def warm(self) -> None:
        """Start the process if it does not run, without waiting for it."""
        if self._turn.acquire(blocking=False):
            try:
                self._running()
            finally:
                self._turn.release()

    def run(self, task: Task, *arguments: Any, progress: Progress) -> Any:
        """``task(*arguments, progress)`` in the process; blocks.

        Raises what the task raises; `CancelledError` when `progress` does; `SolverLostError` when the process falls.
        """
        while not self._turn.acquire(timeout=LOOK_EVERY_S):
            progress(0.0, "waiting for another computation")
        try:
            pipe = self._running()
            pipe.send((task, arguments))
            return self._heard(pipe, progress)
        except (EOFError, OSError) as fault:
            self.close()
            raise SolverLostError(
                "The computation broke down and was given up. Nothing was changed; change something or try again."
            ) from fault
        finally:
            self._turn.release()

    def close(self) -> None:
        """End the process, whatever it does. The server that stops and the work that breaks off may both come here at once."""
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if process is not None:
            process.kill()
            process.join(5.0)
        if pipe is not None:
            with contextlib.suppress(OSError):  # the other one was faster
                pipe.close()

    def _running(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._pipe is None:
            self.close()
            context = multiprocessing.get_context("spawn")
            self._pipe, there = context.Pipe()
            process = context.Process(target=serve, args=(there,), daemon=True, name="halfroll solver")
            process.start()
            self._process = process  # only now: whoever closes meanwhile must find one that runs, or none
            there.close()
        return self._pipe

    def _heard(self, pipe: Connection, progress: Progress) -> Any:
        done, step = 0.0, "starting"
        while True:
            try:
                progress(done, step)
            except BaseException:
                self._stop(pipe)
                raise
            if not pipe.poll(LOOK_EVERY_S):
                continue
            word, *said = pipe.recv()
            if word == "progress":
                done, step = said
            elif word == "done":
                return said[0]
            else:
                raise said[0]

    def _stop(self, pipe: Connection) -> None:
        """Have the task stopped; if it does not heed, end the process."""
        deadline = time.monotonic() + STOP_WITHIN_S
        try:
            pipe.send("stop")
            while time.monotonic() < deadline:
                if pipe.poll(LOOK_EVERY_S) and pipe.recv()[0] != "progress":
                    return
        except (EOFError, OSError):
            pass
        self.close()


def solver() -> Solver:
    """The solver of this server."""
    found = getattr(app.state, "solver", None)
    if not isinstance(found, Solver):
        app.state.solver = found = Solver()
        app.on_shutdown(found.close)
    return found
