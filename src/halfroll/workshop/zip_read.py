"""A ZIP file from a stranger, read without trust: everything it claims is checked before a byte of it is unpacked.

Only the plain kind is taken, which one program packed in one go: the entries lie one behind the other from the first byte to the
directory, the directory says of each what its own head says, and nothing lies before, between or behind. So there is one way to
read it, and no other program can find other files in it. Layout: PKWARE's application note APPNOTE.TXT, sections 4.3 and 4.4.
"""

from __future__ import annotations

import os
import stat
import struct
import unicodedata
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from halfroll.core.errors import InputError
from halfroll.workshop.files import reporting

MB = 1_000_000
MOST_BUNDLE = 2_000 * MB
"""Bytes of the file itself: below the 4 GiB from which a ZIP needs other heads, and more than takes of a version need."""
MOST_FILE = 500 * MB
MOST_TOTAL = 4_000 * MB
"""Bytes of one entry and of all, unpacked."""
MOST_ENTRIES = 20_000
MOST_RATIO = 100
"""How many times longer an entry may become when it is unpacked. Text of numbers gives 5 to 20; the method's utmost is 1032."""
LONGEST_PATH = 240
DEEPEST = 12
CHUNK = 1 << 20

_END = struct.Struct("<4s4H2LH")
_CENTRAL = struct.Struct("<4s6H3L5H2L")
_LOCAL = struct.Struct("<4s5H3L2H")
_STORED, _DEFLATED = 0, 8
_UTF8 = 0x0800
_HARMLESS = _UTF8 | 0x0006
"""Flags that change nothing here: names in UTF-8, and how hard the packer tried."""
_DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$", *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³")}


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A file in a ZIP: its path, sizes (bytes), CRC-32, method, and where its data begin."""

    path: str
    size: int
    packed: int
    crc: int
    method: int
    start: int


class ZipFile:
    """The files of a ZIP; made by `open_zip`, which has checked all that can be checked without unpacking."""

    def __init__(self, path: Path, file: BinaryIO, entries: Sequence[Entry]) -> None:
        self.path = path
        self.entries = {entry.path: entry for entry in entries}
        self._file = file

    def __enter__(self) -> ZipFile:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def chunks(self, path: str) -> Iterator[bytes]:
        """The bytes of a file, piece by piece; no more than its declared size is ever made.

        Raises
        ------
        InputError
            It is longer or shorter than declared, or damaged.
        """
        entry = self.entries[path]
        crc, size = 0, 0
        for chunk in _unpacked(self._file, entry, str(self.path)):
            size += len(chunk)
            if size > entry.size:
                raise _wrong(self.path, path, "becomes longer than it says", f"more than {entry.size} bytes")
            crc = zlib.crc32(chunk, crc)
            yield chunk
        if size != entry.size:
            raise _wrong(self.path, path, "is shorter than it says", f"{size} bytes of {entry.size}")
        if crc != entry.crc:
            raise _wrong(self.path, path, "is damaged: its check sum (CRC-32) is another", f"{crc:08x}")

    def read(self, path: str, *, most: int) -> bytes:
        """All bytes of a small file; `InputError` when it says to have more than `most`."""
        entry = self.entries[path]
        if entry.size > most:
            raise _wrong(self.path, path, "is too long for what it is", f"{entry.size} bytes, {most} at most")
        return b"".join(self.chunks(path))


def open_zip(path: Path) -> ZipFile:
    """Open a ZIP and check its directory, its names and its sizes.

    Raises
    ------
    InputError
        It is no ZIP of the plain kind, or holds a name or a size that is not to be unpacked. The entry is named.
    """
    with reporting(path, "read"):
        size = path.stat().st_size
        if not path.is_file():
            raise InputError("A bundle is a file", file=str(path))
        if size > MOST_BUNDLE:
            raise InputError("The bundle is too big", file=str(path), found=f"{size} bytes", allowed=f"{MOST_BUNDLE} bytes at most")
        file = path.open("rb")
    try:
        with reporting(path, "read"):
            entries = _directory(path, file, size)
            _check_names(path, [entry.path for entry in entries])
            _check_sizes(path, entries)
        return ZipFile(path, file, entries)
    except BaseException:
        file.close()
        raise


# The directory.


def _directory(path: Path, file: BinaryIO, size: int) -> list[Entry]:
    """Entries by the directory, each held against its own head."""
    count, length, start = _end(path, file, size)
    file.seek(start)
    directory = file.read(length)
    entries, at, expected = [], 0, 0
    heads = []
    for _ in range(count):
        if at + _CENTRAL.size > length:
            raise _no_zip(path, "its directory is cut off")
        head = _CENTRAL.unpack_from(directory, at)
        end = at + _CENTRAL.size + head[10] + head[11] + head[12]
        if head[0] != b"PK\x01\x02" or end > length:
            raise _no_zip(path, "its directory is damaged")
        raw = directory[at + _CENTRAL.size : at + _CENTRAL.size + head[10]]
        heads.append((head, raw))
        at = end
    if at != length:
        raise _no_zip(path, "its directory holds more than it says")
    for head, raw in sorted(heads, key=lambda one: int(one[0][16])):
        entry = _entry(path, file, head, raw, expected, start)
        expected = entry.start + entry.packed
        entries.append(entry)
    if expected != start:
        raise _no_zip(path, "something lies between its files and its directory")
    return entries


def _end(path: Path, file: BinaryIO, size: int) -> tuple[int, int, int]:
    """Number of entries, length and place of the directory, from the last 22 bytes."""
    if size < _END.size:
        raise _no_zip(path, f"{size} bytes")
    file.seek(0)
    if file.read(4) not in (b"PK\x03\x04", b"PK\x05\x06"):
        raise _no_zip(path, "it does not begin as one")
    file.seek(size - _END.size)
    sign, disk, first, here, count, length, start, comment = _END.unpack(file.read(_END.size))
    if sign != b"PK\x05\x06" or comment:
        raise _no_zip(path, "something lies behind its end")
    if disk or first or here != count:
        raise _no_zip(path, "it is a part of several")
    if count == 0xFFFF or 0xFFFFFFFF in (length, start):
        raise _no_zip(path, "it is of the kind for more than 4 GB")
    if count > MOST_ENTRIES:
        raise InputError("The bundle holds too many files", file=str(path), found=count, allowed=f"{MOST_ENTRIES} at most")
    if start + length != size - _END.size:
        raise _no_zip(path, "its directory does not lie where it says")
    if count == 0:
        raise InputError("There is nothing in this ZIP file", file=str(path))
    return count, length, start


def _entry(path: Path, file: BinaryIO, head: Sequence[int], raw: bytes, expected: int, limit: int) -> Entry:
    """One entry; its own head must say the same and lie where the entry before ended."""
    _, _, _, flags, method, _, _, crc, packed, size, _, extra, _, disk, _, attributes, offset = head
    name = _decoded(path, raw, flags)
    if flags & 0x2041:
        raise _wrong(path, name, "is encrypted", "a password would be needed")
    if flags & ~_HARMLESS:
        raise _wrong(path, name, "is packed in a way that is not taken", f"flags 0x{flags:04x}")
    if method not in (_STORED, _DEFLATED):
        raise _wrong(path, name, "is packed by a method that is not taken", f"method {method}; stored (0) and deflated (8) are")
    kind = attributes >> 16
    if kind and not stat.S_ISREG(kind) and stat.S_IFMT(kind):
        raise _wrong(path, name, "is not a plain file", "a link, a folder or a device")
    if 0xFFFFFFFF in (packed, size, offset) or disk:
        raise _wrong(path, name, "claims more than a bundle can hold", f"{size} bytes" if size != 0xFFFFFFFF else "4 GB or more")
    if offset != expected:
        raise _wrong(path, name, "overlaps another or leaves a gap", f"byte {offset}, {expected} expected")
    file.seek(offset)
    local_head = file.read(_LOCAL.size)
    if len(local_head) < _LOCAL.size:
        raise _wrong(path, name, "is cut off", "no head")
    sign, _, local_flags, local_method, _, _, local_crc, local_packed, local_size, n_name, n_extra = _LOCAL.unpack(local_head)
    same = (local_flags, local_method, local_crc, local_packed, local_size) == (flags, method, crc, packed, size)
    if sign != b"PK\x03\x04" or not same or file.read(n_name) != raw:
        raise _wrong(path, name, "says something else in its own head than in the directory", "name, size or method")
    if extra or n_extra:
        raise _wrong(path, name, "has an extra field, which a bundle has not", f"{max(extra, n_extra)} bytes")
    start = offset + _LOCAL.size + n_name
    if start + packed > limit:
        raise _wrong(path, name, "reaches into the directory", f"{packed} bytes")
    return Entry(path=name, size=size, packed=packed, crc=crc, method=method, start=start)


def _decoded(path: Path, raw: bytes, flags: int) -> str:
    try:
        return raw.decode("utf-8" if flags & _UTF8 else "ascii")
    except UnicodeDecodeError as error:
        shown = raw.decode("latin-1").encode("unicode_escape").decode()
        raise _wrong(path, shown, "has a name that cannot be read", "not in UTF-8, or not said to be") from error


# Names and sizes.


def _check_names(path: Path, names: Sequence[str]) -> None:
    seen: dict[str, str] = {}
    for name in names:
        reason = why_not_a_path(name)
        if reason:
            raise _wrong(path, name, reason, "a name that is not to be written to a disk")
        folded = unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
        if folded in seen:
            other = seen[folded]
            what = "is there twice" if other == name else "cannot be told from another on every disk"
            raise _wrong(path, name, what, other)
        seen[folded] = name
    for folded, name in seen.items():
        above = folded.split("/")[:-1]
        for depth in range(1, len(above) + 1):
            if "/".join(above[:depth]) in seen:
                raise _wrong(path, name, "lies in a folder that is a file", "/".join(above[:depth]))


def why_not_a_path(name: str) -> str:
    """Why a name in a bundle is not to be written to a disk, as the end of a sentence; empty when it may be."""
    if not name or len(name.encode()) > LONGEST_PATH:
        return "has no name, or one too long"
    if any(ord(sign) < 32 or 127 <= ord(sign) < 160 or unicodedata.category(sign) in ("Cf", "Cs", "Co") for sign in name):
        return "has signs in its name that cannot be seen"
    if name.startswith("/") or "\\" in name or ":" in name:
        return "names a place outside the bundle"
    segments = name.split("/")
    if ".." in segments:
        return "names a place outside the bundle"
    if len(segments) > DEEPEST or any(not part or part == "." or part != part.strip() or part.endswith(".") for part in segments):
        return "has a name that is not plain"
    if any(part.startswith(".") for part in segments):
        return "has a hidden name"
    if any(part.split(".")[0].rstrip().casefold() in _DEVICES for part in segments):
        return "has the name of a device"
    if any(sign in name for sign in '<>"|?*'):
        return "has a sign in its name that not every disk takes"
    return ""


def _check_sizes(path: Path, entries: Sequence[Entry]) -> None:
    for entry in entries:
        if entry.size > MOST_FILE:
            raise _wrong(path, entry.path, "claims to be bigger than any file of a bundle", f"{entry.size} bytes, {MOST_FILE} at most")
        if entry.method == _STORED and entry.size != entry.packed:
            raise _wrong(path, entry.path, "says two sizes though it is not packed", f"{entry.packed} and {entry.size} bytes")
        if entry.size > MOST_RATIO * max(entry.packed, 1):
            raise _wrong(path, entry.path, f"claims to become more than {MOST_RATIO} times longer", f"{entry.packed} to {entry.size} bytes")
    total = sum(entry.size for entry in entries)
    if total > MOST_TOTAL:
        raise InputError("The bundle claims to hold too much", file=str(path), found=f"{total} bytes", allowed=f"{MOST_TOTAL} bytes at most")


# Data.


def _unpacked(file: BinaryIO, entry: Entry, shown: str) -> Iterator[bytes]:
    """The data of an entry, never more than a piece at a time, whatever it claims."""
    left, at = entry.packed, entry.start
    machine = zlib.decompressobj(-zlib.MAX_WBITS) if entry.method == _DEFLATED else None
    while left:
        file.seek(at)
        data = file.read(min(CHUNK, left))
        if not data:
            raise _wrong(Path(shown), entry.path, "is cut off", f"{left} bytes are lacking")
        left, at = left - len(data), at + len(data)
        if machine is None:
            yield data
            continue
        try:
            yield machine.decompress(data, CHUNK)
            while machine.unconsumed_tail:
                yield machine.decompress(machine.unconsumed_tail, CHUNK)
        except zlib.error as error:
            raise _wrong(Path(shown), entry.path, "is damaged and cannot be unpacked", "not what deflate makes") from error
        if machine.eof and (left or machine.unused_data):
            raise _wrong(Path(shown), entry.path, "has something behind its data", f"{left + len(machine.unused_data)} bytes")
    if machine is not None and not machine.eof:
        yield from _rest(machine, shown, entry)


def _rest(machine: zlib._Decompress, shown: str, entry: Entry) -> Iterator[bytes]:
    """What the machine still holds when all was fed to it; a stream that has not ended then is cut off."""
    while True:
        try:
            piece = machine.decompress(b"", CHUNK)
        except zlib.error as error:
            raise _wrong(Path(shown), entry.path, "is damaged and cannot be unpacked", "not what deflate makes") from error
        if piece:
            yield piece
            continue
        if not machine.eof:
            raise _wrong(Path(shown), entry.path, "is cut off", "its packed data have no end")
        return


def _wrong(path: Path, name: str, what: str, found: str) -> InputError:
    shown = name.encode("unicode_escape").decode() if not name.isprintable() else name
    return InputError(f"{shown[:120]} in the bundle {what}", file=str(path), found=found)


def _no_zip(path: Path, found: str) -> InputError:
    return InputError(
        "This is not a ZIP file of the plain kind a bundle is", file=str(path), found=found,
        remedy="Get the bundle once more, and do not unpack and pack it again",
    )  # fmt: skip


def free_bytes(folder: Path) -> int:
    """Bytes that can still be written to the disk of a folder."""
    import shutil

    return shutil.disk_usage(os.path.realpath(folder)).free
