"""The other end of the solver's pipe: what its process does. Loads nothing of the pages."""

from __future__ import annotations

import contextlib
import logging
import signal
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

from halfroll.core.errors import CancelledError, HalfrollError, OwnFaultError

log = logging.getLogger(__name__)

Task = Callable[..., Any]
"""A function of a module, called with arguments and a progress callback at the end."""


class SolverLostError(OwnFaultError):
    """The process fell; the next computation starts another."""


def serve(pipe: Connection) -> None:
    """What the process does: load the library, then one task after another until the other end hangs up."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(ImportError):
        import ngsolve  # noqa: F401
    with contextlib.suppress(EOFError, OSError):
        while True:
            asked = pipe.recv()
            if asked == "stop":  # it came after the task had ended
                continue
            task, arguments = asked
            pipe.send(_answer(pipe, task, arguments))


def _answer(pipe: Connection, task: Task, arguments: tuple[Any, ...]) -> tuple[str, Any]:
    def progress(done: float, step: str) -> None:
        if pipe.poll() and pipe.recv() == "stop":
            raise CancelledError("The computation")
        pipe.send(("progress", done, step))

    try:
        return "done", task(*arguments, progress)
    except HalfrollError as fault:
        return "failed", fault
    except (EOFError, OSError):
        raise
    except Exception:
        log.exception("A fault while computing a motor")
        return "failed", SolverLostError(
            "Something in halfroll went wrong while it computed. Nothing was changed."
        )
