"""Reading and writing whole files: a write is complete or did not happen, and every failure is said in words."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from halfroll.core.errors import InputError

_READ_ONLY = {errno.EACCES, errno.EPERM, errno.EROFS}
_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}


def digest(data: bytes) -> str:
    """SHA-256 of some bytes, as hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def digest_of_file(path: Path) -> str:
    """SHA-256 of a file's bytes, as hexadecimal digits (what ``sha256sum`` prints)."""
    with reporting(path, "read"), path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def read_whole(path: Path) -> bytes:
    """All bytes of a file."""
    with reporting(path, "read"):
        return path.read_bytes()


def write_whole(path: Path, data: bytes, *, durable: bool = True) -> None:
    """Replace the file at `path` by `data`, or leave it exactly as it was.

    The data go to a temporary file in the same folder, which then takes the name. With `durable` both the file and
    its folder are on the disk when this returns.
    """
    target = Path(os.path.realpath(path))  # a link stays a link; what it points to is replaced
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    with reporting(path, "written"):
        try:
            with temporary.open("xb") as file:
                file.write(data)
                file.flush()
                if durable:
                    os.fsync(file.fileno())
            if target.exists():
                shutil.copymode(target, temporary)
            temporary.replace(target)
        finally:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
        if durable:
            sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """Have the names in a folder written to the disk (Windows does that by itself and cannot be asked)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path, *, durable: bool = False) -> None:
    """Make a folder and its parents; no fault when it is there. With `durable` it is on the disk when this returns."""
    with reporting(folder, "made"):
        missing = [path for path in (folder, *folder.parents) if not path.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        if durable:
            for path in missing:
                sync_folder(path.parent)


def free_bytes(folder: Path) -> int:
    """Bytes that can still be written to the disk of a folder."""
    return shutil.disk_usage(os.path.realpath(folder)).free


@contextlib.contextmanager
def reporting(path: Path, done: str) -> Iterator[None]:
    """Turn the operating system's refusals inside the block into an `InputError` that names the path."""
    try:
        yield
    except OSError as error:
        raise _in_words(error, path, done) from error


def _in_words(error: OSError, path: Path, done: str) -> InputError:
    file = str(path)
    if isinstance(error, FileNotFoundError):
        return InputError("The file is missing" if done == "read" else "The folder is missing", file=file,
                          remedy="Check the name, or bring the file back")  # fmt: skip
    if isinstance(error, IsADirectoryError):
        return InputError("A file is wanted here; this is a folder", file=file)
    if isinstance(error, NotADirectoryError | FileExistsError):
        return InputError("A folder is wanted here; a file has that name", file=file)
    if error.errno in _READ_ONLY and done == "read":
        return InputError("The file may not be read by you", file=file, remedy="Change its permissions")
    if error.errno in _READ_ONLY:
        return InputError("The folder is read-only, so nothing was written", file=file,
                          remedy="Change its permissions, or copy the workshop to a folder that is yours")  # fmt: skip
    if error.errno in _FULL:
        return InputError("The disk is full, so nothing was written", file=file, remedy="Free some space")
    return InputError(f"This could not be {done}: {error.strerror or error}", file=file)
