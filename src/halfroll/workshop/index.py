"""The index: results kept in ``.halfroll/index.sqlite`` so that nothing is read or analysed twice.

It may be deleted at any time, may be damaged or of another make, and the folder may be read-only: then results are
found anew, or kept in memory as long as the program runs. Nothing is ever asked of the person because of it.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from halfroll.workshop.paths import INDEX_FOLDER

APPLICATION_ID = 0x68616C66
LAYOUT = 1
"""Raised whenever the tables change; an index of another layout is thrown away."""

RACY_NS = 2_000_000_000
"""A file changed so short before it was indexed may change once more without its time stamp showing it: the coarsest
stamps in use (FAT) step by two seconds."""

MOST_RESPONSES_IN_MEMORY = 64

_TABLES = """
CREATE TABLE IF NOT EXISTS records (path TEXT PRIMARY KEY, stamp TEXT, seen_ns INTEGER, json TEXT) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS hashes (path TEXT PRIMARY KEY, stamp TEXT, sha256 TEXT) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS readings (key TEXT PRIMARY KEY, take TEXT, response TEXT, json TEXT) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS readings_of_take ON readings (take);
CREATE TABLE IF NOT EXISTS responses (key TEXT PRIMARY KEY, take TEXT, blob BLOB);
CREATE INDEX IF NOT EXISTS responses_of_take ON responses (take);
"""


@dataclass(frozen=True)
class Seen:
    """A record as it was when it was indexed: the file's stamp, when that was (ns), and the record as JSON."""

    stamp: str
    seen_ns: int
    text: str

    def holds(self, stamp: str, mtime_ns: int) -> bool:
        """Whether a file with this stamp and time still says the same."""
        return self.stamp == stamp and self.seen_ns - mtime_ns > RACY_NS


@dataclass(frozen=True, kw_only=True)
class Result:
    """What was worked out for a take: its response packed, and its readings as JSON; None where there is nothing new."""

    take: str
    response_key: str
    response: bytes | None = None
    readings_key: str = ""
    readings: str | None = None


@dataclass
class _Memory:
    """What could not be written to the disk."""

    records: dict[str, Seen] = field(default_factory=dict)
    hashes: dict[str, tuple[str, str]] = field(default_factory=dict)
    readings: dict[str, str] = field(default_factory=dict)
    responses: dict[str, bytes] = field(default_factory=dict)


class Index:
    """The index of one workshop folder. May be used from several threads and programs at once."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / INDEX_FOLDER / "index.sqlite"
        self._memory = _Memory()

    def records(self) -> dict[str, Seen]:
        """All indexed records by path within the workshop."""
        rows = self._rows("SELECT path, stamp, seen_ns, json FROM records")
        return {path: Seen(*rest) for path, *rest in rows} | self._memory.records

    def put_records(self, rows: Iterable[tuple[str, str, str]], gone: Iterable[str] = ()) -> None:
        """Keep records as (path, stamp, JSON); forget those that are gone."""
        seen = {path: Seen(stamp, time.time_ns(), text) for path, stamp, text in rows}
        values = [(path, row.stamp, row.seen_ns, row.text) for path, row in seen.items()]
        lost = [(path,) for path in gone]

        def write(db: sqlite3.Connection) -> None:
            db.executemany("INSERT OR REPLACE INTO records VALUES (?, ?, ?, ?)", values)
            db.executemany("DELETE FROM records WHERE path = ?", lost)

        if (values or lost) and not self._write(write):
            self._memory.records |= seen

    def hashes(self) -> dict[str, tuple[str, str]]:
        """(stamp, SHA-256) of audio files by path within the workshop."""
        rows = self._rows("SELECT path, stamp, sha256 FROM hashes")
        return {path: (stamp, sha256) for path, stamp, sha256 in rows} | self._memory.hashes

    def put_hashes(self, rows: dict[str, tuple[str, str]]) -> None:
        """Keep (stamp, SHA-256) of audio files."""
        values = [(path, *row) for path, row in rows.items()]

        def write(db: sqlite3.Connection) -> None:
            db.executemany("INSERT OR REPLACE INTO hashes VALUES (?, ?, ?)", values)

        if values and not self._write(write):
            self._memory.hashes |= rows

    def readings(self, keys: Iterable[str]) -> dict[str, str]:
        """Kept readings (JSON) by key, of those asked for."""
        wanted = list(keys)
        asked = "SELECT key, json FROM readings WHERE key IN (SELECT value FROM json_each(?))"
        rows = self._rows(asked, json.dumps(wanted))
        return dict(rows) | {
            key: self._memory.readings[key] for key in wanted if key in self._memory.readings
        }

    def response(self, key: str) -> bytes | None:
        """A kept response; None when there is none."""
        if key in self._memory.responses:
            return self._memory.responses[key]
        rows = self._rows("SELECT blob FROM responses WHERE key = ?", key)
        return bytes(rows[0][0]) if rows else None

    def known_responses(self, keys: Iterable[str]) -> set[str]:
        """Those of some keys under which a response is kept."""
        wanted = list(keys)
        rows = self._rows(
            "SELECT key FROM responses WHERE key IN (SELECT value FROM json_each(?))", json.dumps(wanted)
        )
        return {key for (key,) in rows} | {key for key in wanted if key in self._memory.responses}

    def put_results(self, results: Iterable[Result]) -> None:
        """Keep what was worked out for takes; what belongs to older recordings or records of them goes."""
        kept = list(results)

        def write(db: sqlite3.Connection) -> None:
            for result in kept:
                _put_result(db, result)

        if not self._write(write):
            for result in kept:
                self._remember(result)

    def _remember(self, result: Result) -> None:
        kept = self._memory.responses
        if result.response is not None:
            kept[result.response_key] = result.response
        while len(kept) > MOST_RESPONSES_IN_MEMORY:
            kept.pop(next(iter(kept)), None)
        if result.readings is not None:
            self._memory.readings[result.readings_key] = result.readings

    def _rows(self, query: str, *values: str) -> list[Any]:
        """The rows a query finds; none when the index cannot be read."""
        if not self._file.exists():
            return []
        try:
            with self._open() as db:
                return db.execute(query, values).fetchall()
        except sqlite3.Error as error:
            if _useless(error):
                self._throw_away()
            return []

    def _write(self, work: Callable[[sqlite3.Connection], object]) -> bool:
        """Let `work` write to the index, made anew if it is useless; False when it cannot be written."""
        for _ in range(2):
            try:
                self._file.parent.mkdir(exist_ok=True)
                with self._open() as db:
                    work(db)
                return True
            except OSError:
                return False
            except sqlite3.Error as error:
                if not _useless(error):
                    return False
                self._throw_away()
        return False

    @contextlib.contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        """A connection inside the block, committed at its end. It is closed again so that the file can be deleted."""
        with contextlib.closing(sqlite3.connect(self._file, timeout=5.0)) as db, db:
            _prepare(db)
            yield db

    def _throw_away(self) -> None:
        for suffix in ("", "-journal", "-wal", "-shm"):
            with contextlib.suppress(OSError):
                self._file.with_name(self._file.name + suffix).unlink(missing_ok=True)


class _ForeignError(sqlite3.DatabaseError):
    """The file is a database, but not this one."""


def _prepare(db: sqlite3.Connection) -> None:
    """Make the tables in an empty file; refuse a database that is not an index of this layout."""
    if _marks(db) == (APPLICATION_ID, LAYOUT):
        return
    db.execute("BEGIN IMMEDIATE")  # another program may be making them: wait for it, then look again
    marks = _marks(db)
    if marks != (APPLICATION_ID, LAYOUT):
        (tables,) = db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if (*marks, tables) != (0, 0, 0):
            raise _ForeignError("not an index of this layout")
        for statement in _TABLES.strip().rstrip(";").split(";"):
            db.execute(statement)
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute(f"PRAGMA user_version = {LAYOUT}")
    db.commit()


def _marks(db: sqlite3.Connection) -> tuple[int, int]:
    """Whose file it is, and its layout; zeros in an empty one."""
    (application,) = db.execute("PRAGMA application_id").fetchone()
    (layout,) = db.execute("PRAGMA user_version").fetchone()
    return application, layout


def _put_result(db: sqlite3.Connection, result: Result) -> None:
    older = (result.take, result.response_key)
    db.execute("DELETE FROM responses WHERE take = ? AND key <> ?", older)
    db.execute("DELETE FROM readings WHERE take = ? AND response <> ?", older)
    if result.response is not None:
        response = (result.response_key, result.take, result.response)
        db.execute("INSERT OR REPLACE INTO responses VALUES (?, ?, ?)", response)
    if result.readings is not None:
        readings = (result.readings_key, result.take, result.response_key, result.readings)
        db.execute("INSERT OR REPLACE INTO readings VALUES (?, ?, ?, ?)", readings)


def _useless(error: sqlite3.Error) -> bool:
    """Whether an error says that the file is damaged or not ours, and not only busy, full or read-only."""
    name = getattr(error, "sqlite_errorname", "") or ""
    return isinstance(error, _ForeignError) or name.startswith(
        ("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_ERROR")
    )
