"""Films made on a page, kept until they are fetched: the last few, in a folder that goes when the server stops."""

from __future__ import annotations

import secrets
import shutil
import tempfile
import threading
import zipfile
from collections import OrderedDict
from pathlib import Path

from nicegui import app

MOST = 4
"""So many films are kept; the oldest goes first."""

MEDIA = {".mp4": "video/mp4", ".webm": "video/webm", ".zip": "application/zip"}


class Films:
    """Files by a token that cannot be guessed."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="halfroll-films-"))
        self._there: OrderedDict[str, Path] = OrderedDict()
        self._lock = threading.Lock()

    def place(self, name: str) -> tuple[str, Path]:
        """A token, and where the file of that name is to be written."""
        token = secrets.token_urlsafe(12)
        (self.folder / token).mkdir()
        return token, self.folder / token / name

    def keep(self, token: str, path: Path) -> None:
        """The file is whole; the oldest of too many go."""
        with self._lock:
            self._there[token] = path
            while len(self._there) > MOST:
                _, old = self._there.popitem(last=False)
                shutil.rmtree(old.parent, ignore_errors=True)

    def drop(self, token: str) -> None:
        """Nothing came of it."""
        shutil.rmtree(self.folder / token, ignore_errors=True)

    def get(self, token: str) -> Path | None:
        """The file of a token, None when it is gone."""
        with self._lock:
            return self._there.get(token)

    def close(self) -> None:
        """Take everything away."""
        shutil.rmtree(self.folder, ignore_errors=True)


def films() -> Films:
    """The films of this server."""
    there = getattr(app.state, "films", None)
    if not isinstance(there, Films):
        app.state.films = there = Films()
        app.on_shutdown(_close)
    return there


def zipped(folder: Path, path: Path) -> None:
    """The files of a folder as they are (frames are packed already), in order, with one date for all."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as out:
        for one in sorted(folder.iterdir()):
            out.writestr(zipfile.ZipInfo(one.name), one.read_bytes())


def _close() -> None:
    films().close()
    app.state.films = None
