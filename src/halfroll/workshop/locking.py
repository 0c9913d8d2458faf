"""One writer at a time in a workshop, also across programs."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from filelock import FileLock, Timeout

from halfroll.core.errors import InputError
from halfroll.workshop.files import reporting
from halfroll.workshop.paths import LOCK_FILE

PATIENCE_S = 20.0
"""How long a save waits for another program's save; one takes milliseconds, an import of long takes some seconds."""


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the workshop's lock inside the block.

    The lock file lies beside the records, not in ``.halfroll``, which anybody may delete at any time.
    """
    lock = FileLock(folder / LOCK_FILE, timeout=PATIENCE_S)
    try:
        with reporting(folder, "written"):
            lock.acquire(poll_interval=0.01)
    except Timeout as error:
        raise InputError("Another program is writing to this workshop", file=str(folder),
                         remedy="Wait until it is done, then try again; nothing was changed") from error  # fmt: skip
    try:
        yield
    finally:
        lock.release()
