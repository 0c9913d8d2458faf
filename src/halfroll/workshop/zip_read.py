"""A ZIP file from a stranger, read without trust: everything it claims is checked before a byte of it is unpacked.

Only the plain kind is taken, which one program packed in one go: the entries lie one behind the other from the first byte to the
directory, the directory says of each what its own head says, and nothing lies before, between or behind. So there is one way to
read it, and no other program can find other files in it. Layout: PKWARE's application note APPNOTE.TXT, sections 4.3 and 4.4.
"""

from __future__ import annotations

import stat
import struct
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

from halfroll.core.errors import InputError
from halfroll.workshop.files import reporting
from halfroll.workshop.zip_names import (
    DEFLATED,
    MOST_BUNDLE,
    MOST_ENTRIES,
    STORED,
    Entry,
    check_names,
    check_sizes,
    wrong,
)

CHUNK = 1 << 20

_END = struct.Struct("<4s4H2LH")
_CENTRAL = struct.Struct("<4s6H3L5H2L")
_LOCAL = struct.Struct("<4s5H3L2H")
_UTF8 = 0x0800
_HARMLESS = _UTF8 | 0x0006
"""Flags that change nothing here: names in UTF-8, and how hard the packer tried."""


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
                raise wrong(self.path, path, "becomes longer than it says", f"more than {entry.size} bytes")
            crc = zlib.crc32(chunk, crc)
            yield chunk
        if size != entry.size:
            raise wrong(self.path, path, "is shorter than it says", f"{size} bytes of {entry.size}")
        if crc != entry.crc:
            raise wrong(self.path, path, "is damaged: its check sum (CRC-32) is another", f"{crc:08x}")

    def read(self, path: str, *, most: int) -> bytes:
        """All bytes of a small file; `InputError` when it says to have more than `most`."""
        entry = self.entries[path]
        if entry.size > most:
            raise wrong(self.path, path, "is too long for what it is", f"{entry.size} bytes, {most} at most")
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
            raise InputError(
                "The bundle is too big",
                file=str(path),
                found=f"{size} bytes",
                allowed=f"{MOST_BUNDLE} bytes at most",
            )
        file = path.open("rb")
    try:
        with reporting(path, "read"):
            entries = _directory(path, file, size)
            check_names(path, [entry.path for entry in entries])
            check_sizes(path, entries)
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
        raise InputError(
            "The bundle holds too many files", file=str(path), found=count, allowed=f"{MOST_ENTRIES} at most"
        )
    if start + length != size - _END.size:
        raise _no_zip(path, "its directory does not lie where it says")
    if count == 0:
        raise InputError("There is nothing in this ZIP file", file=str(path))
    return count, length, start


def _entry(path: Path, file: BinaryIO, head: Sequence[int], raw: bytes, expected: int, limit: int) -> Entry:
    """One entry; its own head must say the same and lie where the entry before ended."""
    _, _, _, flags, method, _, _, crc, packed, size, _, extra, _, _, _, _, offset = head
    name = _decoded(path, raw, flags)
    _refuse_kind(path, name, head)
    if offset != expected:
        raise wrong(path, name, "overlaps another or leaves a gap", f"byte {offset}, {expected} expected")
    behind, own_extra = _own_head(path, name, file, offset, (flags, method, crc, packed, size), raw)
    if extra or own_extra:
        raise wrong(
            path, name, "has an extra field, which a bundle has not", f"{max(extra, own_extra)} bytes"
        )
    if behind + packed > limit:
        raise wrong(path, name, "reaches into the directory", f"{packed} bytes")
    return Entry(path=name, size=size, packed=packed, crc=crc, method=method, start=behind)


def _refuse_kind(path: Path, name: str, head: Sequence[int]) -> None:
    """Refuse what is encrypted, packed in another way, no plain file, or of the kind for more than 4 GB."""
    _, _, _, flags, method, _, _, _, packed, size, _, _, _, disk, _, attributes, offset = head
    if flags & 0x2041:
        raise wrong(path, name, "is encrypted", "a password would be needed")
    if flags & ~_HARMLESS:
        raise wrong(path, name, "is packed in a way that is not taken", f"flags 0x{flags:04x}")
    if method not in (STORED, DEFLATED):
        found = f"method {method}; stored (0) and deflated (8) are"
        raise wrong(path, name, "is packed by a method that is not taken", found)
    kind = attributes >> 16
    if kind and not stat.S_ISREG(kind) and stat.S_IFMT(kind):
        raise wrong(path, name, "is not a plain file", "a link, a folder or a device")
    if 0xFFFFFFFF in (packed, size, offset) or disk:
        found = f"{size} bytes" if size != 0xFFFFFFFF else "4 GB or more"
        raise wrong(path, name, "claims more than a bundle can hold", found)


def _own_head(
    path: Path, name: str, file: BinaryIO, offset: int, said: tuple[int, ...], raw: bytes
) -> tuple[int, int]:
    """Where the data of an entry begin, and the length of its extra field, after its own head said what the directory says.

    `said` are flags, method, CRC-32, and the packed and unpacked size by the directory.
    """
    file.seek(offset)
    local_head = file.read(_LOCAL.size)
    if len(local_head) < _LOCAL.size:
        raise wrong(path, name, "is cut off", "no head")
    sign, _, flags, method, _, _, crc, packed, size, n_name, n_extra = _LOCAL.unpack(local_head)
    same = (flags, method, crc, packed, size) == said and file.read(n_name) == raw
    if sign != b"PK\x03\x04" or not same:
        differing = "says something else in its own head than in the directory"
        raise wrong(path, name, differing, "name, size or method")
    return offset + _LOCAL.size + n_name, n_extra


def _decoded(path: Path, raw: bytes, flags: int) -> str:
    try:
        return raw.decode("utf-8" if flags & _UTF8 else "ascii")
    except UnicodeDecodeError as error:
        shown = raw.decode("latin-1").encode("unicode_escape").decode()
        raise wrong(
            path, shown, "has a name that cannot be read", "not in UTF-8, or not said to be"
        ) from error


# Data.


def _unpacked(file: BinaryIO, entry: Entry, shown: str) -> Iterator[bytes]:
    """The data of an entry, never more than a piece at a time, whatever it claims."""
    left, at = entry.packed, entry.start
    machine = zlib.decompressobj(-zlib.MAX_WBITS) if entry.method == DEFLATED else None
    while left:
        file.seek(at)
        data = file.read(min(CHUNK, left))
        if not data:
            raise wrong(Path(shown), entry.path, "is cut off", f"{left} bytes are lacking")
        left, at = left - len(data), at + len(data)
        if machine is None:
            yield data
            continue
        try:
            yield machine.decompress(data, CHUNK)
            while machine.unconsumed_tail:
                yield machine.decompress(machine.unconsumed_tail, CHUNK)
        except zlib.error as error:
            raise wrong(
                Path(shown), entry.path, "is damaged and cannot be unpacked", "not what deflate makes"
            ) from error
        if machine.eof and (left or machine.unused_data):
            raise wrong(
                Path(shown),
                entry.path,
                "has something behind its data",
                f"{left + len(machine.unused_data)} bytes",
            )
    if machine is not None and not machine.eof:
        yield from _rest(machine, shown, entry)


def _rest(machine: zlib._Decompress, shown: str, entry: Entry) -> Iterator[bytes]:
    """What the machine still holds when all was fed to it; a stream that has not ended then is cut off."""
    while True:
        try:
            piece = machine.decompress(b"", CHUNK)
        except zlib.error as error:
            raise wrong(
                Path(shown), entry.path, "is damaged and cannot be unpacked", "not what deflate makes"
            ) from error
        if piece:
            yield piece
            continue
        if not machine.eof:
            raise wrong(Path(shown), entry.path, "is cut off", "its packed data have no end")
        return


def _no_zip(path: Path, found: str) -> InputError:
    return InputError(
        "This is not a ZIP file of the plain kind a bundle is", file=str(path), found=found,
        remedy="Get the bundle once more, and do not unpack and pack it again",
    )  # fmt: skip
