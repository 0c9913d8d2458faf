"""Processes that work beside this one."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator


@contextlib.contextmanager
def deaf_processes() -> Iterator[None]:
    """Processes started meanwhile do not hear an interrupt at the keyboard, from their first moment on.

    The terminal sends it to all processes; this one stops the work, and the others must not complain. Only the main thread can ask for that;
    elsewhere nothing is done, and nobody sits at a keyboard there.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
