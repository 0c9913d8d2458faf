"""Files packed into a ZIP: the same files in the same order give the same bytes on every machine.

Nothing is deflated: how far deflate gets is left to each build of its library, so that equal files would come out as different ZIPs. What is
large in a release (FLAC, 3MF, PDF) is packed by its own format. Times are the release's date, attributes those of a plain file.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import secrets
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.workshop.files import digest, digest_of_file, reporting, sync_folder
from halfroll.workshop.zip_names import MOST_BUNDLE, MOST_FILE, why_not_a_path

UNIX, PLAIN_FILE = 3, 0o100644 << 16


@dataclass(frozen=True, kw_only=True)
class Made:
    """A file of a bundle: its path there, its bytes or the file they are in, and what it is."""

    path: str
    data: bytes | Path
    what: str

    @property
    def size(self) -> int:
        """Bytes."""
        return len(self.data) if isinstance(self.data, bytes) else self.data.stat().st_size

    @property
    def sha256(self) -> str:
        """Hash of its bytes."""
        return digest(self.data) if isinstance(self.data, bytes) else digest_of_file(self.data)


def check_files(files: Sequence[Made]) -> None:
    """Refuse what no bundle can hold: a name or a size that `halfroll release check` would refuse."""
    seen: dict[str, str] = {}
    for made in files:
        reason = why_not_a_path(made.path)
        if reason:
            raise InputError(
                f"A file of the release {reason}", found=made.path, remedy="Give the file a plain name"
            )
        if made.path.casefold() in seen:
            raise InputError(
                "Two files of the release cannot have one name",
                found=f"{made.path} ({seen[made.path.casefold()]}, {made.what})",
            )
        seen[made.path.casefold()] = made.what
        if made.size > MOST_FILE:
            raise InputError("A file of the release is too big", found=f"{made.path}, {made.size / 1e6:.0f} MB",
                             allowed=f"{MOST_FILE // 1_000_000} MB")  # fmt: skip
    total = sum(made.size for made in files)
    if total > 0.99 * MOST_BUNDLE:
        raise InputError("The release is too big for a bundle", found=f"{total / 1e6:.0f} MB", allowed=f"{MOST_BUNDLE // 1_000_000} MB",
                         remedy='Let fewer takes go along, such as takes = "best"')  # fmt: skip


def pack(
    target: Path,
    files: Sequence[Made],
    hashes: Mapping[str, str],
    date: dt.date,
    progress: Progress,
    *,
    durable: bool = True,
) -> str:
    """Write a ZIP whole or not at all, and return the SHA-256 of its bytes.

    Parameters
    ----------
    hashes
        What each file is expected to be, by path: one that changed since it was hashed is refused.
    date
        Written as the time of every file.

    Raises
    ------
    InputError
        It cannot be written, or a file changed meanwhile.
    CancelledError
        Through `progress`; nothing is left.
    """
    unfinished = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    total = sum(made.size for made in files) or 1
    done = 0
    with reporting(target, "written"):
        try:
            with zipfile.ZipFile(unfinished, "x", zipfile.ZIP_STORED, allowZip64=False) as archive:
                for made in sorted(files, key=lambda one: one.path):
                    progress(done / total, f"packing {made.path}")
                    _add(archive, made, hashes.get(made.path), date)
                    done += made.size
            sha256 = digest_of_file(unfinished)
            if durable:
                with unfinished.open("rb") as file:
                    os.fsync(file.fileno())
            unfinished.replace(target)
            if durable:
                sync_folder(target.parent)
        finally:
            unfinished.unlink(missing_ok=True)
    return sha256


def _add(archive: zipfile.ZipFile, made: Made, expected: str | None, date: dt.date) -> None:
    entry = zipfile.ZipInfo(made.path, date_time=(date.year, date.month, date.day, 0, 0, 0))
    entry.compress_type, entry.create_system, entry.external_attr = zipfile.ZIP_STORED, UNIX, PLAIN_FILE
    if isinstance(made.data, bytes):
        archive.writestr(entry, made.data)
        return
    entry.file_size = made.size
    counted = hashlib.sha256()
    with reporting(made.data, "read"), made.data.open("rb") as source, archive.open(entry, "w") as inside:
        while piece := source.read(1 << 20):
            counted.update(piece)
            inside.write(piece)
    if expected is not None and counted.hexdigest() != expected:
        raise InputError(
            "A file changed while the release was made", file=str(made.data), remedy="Build the release again"
        )
