"""What is made once for all workers of a test run."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from filelock import FileLock


def made_once(shared: Path, name: str, make: Callable[[Path], object]) -> Path:
    """The folder of this name in the one the workers share, as `make` left it; it is made at the first call and must not be changed.

    `make` gets the folder, empty. Whoever comes meanwhile waits; what was left unfinished is made anew.
    """
    folder, done = shared / name, shared / f"{name}.done"
    with FileLock(shared / f"{name}.lock"):
        if not done.exists():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(parents=True)
            make(folder)
            done.touch()
    return folder
