"""Names and sizes in a stranger's ZIP: which are not to be written to a disk."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from halfroll.core.errors import InputError

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

STORED, DEFLATED = 0, 8
_DEVICES = {
    "con",
    "prn",
    "aux",
    "nul",
    "conin$",
    "conout$",
    *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³"),
}


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A file in a ZIP: its path, sizes (bytes), CRC-32, method, and where its data begin."""

    path: str
    size: int
    packed: int
    crc: int
    method: int
    start: int


def check_names(path: Path, names: Sequence[str]) -> None:
    """Refuse names that are not to be written, are there twice, or cannot be told apart on every disk."""
    seen: dict[str, str] = {}
    for name in names:
        reason = why_not_a_path(name)
        if reason:
            raise wrong(path, name, reason, "a name that is not to be written to a disk")
        folded = unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
        if folded in seen:
            other = seen[folded]
            what = "is there twice" if other == name else "cannot be told from another on every disk"
            raise wrong(path, name, what, other)
        seen[folded] = name
    for folded, name in seen.items():
        above = folded.split("/")[:-1]
        for depth in range(1, len(above) + 1):
            if "/".join(above[:depth]) in seen:
                raise wrong(path, name, "lies in a folder that is a file", "/".join(above[:depth]))


def why_not_a_path(name: str) -> str:
    """Why a name in a bundle is not to be written to a disk, as the end of a sentence; empty when it may be."""
    if not name or len(name.encode()) > LONGEST_PATH:
        return "has no name, or one too long"
    if any(
        ord(sign) < 32 or 127 <= ord(sign) < 160 or unicodedata.category(sign) in ("Cf", "Cs", "Co")
        for sign in name
    ):
        return "has signs in its name that cannot be seen"
    if name.startswith("/") or "\\" in name or ":" in name:
        return "names a place outside the bundle"
    segments = name.split("/")
    if ".." in segments:
        return "names a place outside the bundle"
    if len(segments) > DEEPEST or any(
        not part or part == "." or part != part.strip() or part.endswith(".") for part in segments
    ):
        return "has a name that is not plain"
    if any(part.startswith(".") for part in segments):
        return "has a hidden name"
    if any(part.split(".")[0].rstrip().casefold() in _DEVICES for part in segments):
        return "has the name of a device"
    if any(sign in name for sign in '<>"|?*'):
        return "has a sign in its name that not every disk takes"
    return ""


def check_sizes(path: Path, entries: Sequence[Entry]) -> None:
    """Refuse what claims to be larger than a bundle is, by itself, by how it is packed, or all together."""
    for entry in entries:
        if entry.size > MOST_FILE:
            raise wrong(
                path,
                entry.path,
                "claims to be bigger than any file of a bundle",
                f"{entry.size} bytes, {MOST_FILE} at most",
            )
        if entry.method == STORED and entry.size != entry.packed:
            raise wrong(
                path,
                entry.path,
                "says two sizes though it is not packed",
                f"{entry.packed} and {entry.size} bytes",
            )
        if entry.size > MOST_RATIO * max(entry.packed, 1):
            raise wrong(
                path,
                entry.path,
                f"claims to become more than {MOST_RATIO} times longer",
                f"{entry.packed} to {entry.size} bytes",
            )
    total = sum(entry.size for entry in entries)
    if total > MOST_TOTAL:
        raise InputError(
            "The bundle claims to hold too much",
            file=str(path),
            found=f"{total} bytes",
            allowed=f"{MOST_TOTAL} bytes at most",
        )


def wrong(path: Path, name: str, what: str, found: str) -> InputError:
    """What is wrong with one entry, with signs in its name that cannot be shown written out."""
    shown = name.encode("unicode_escape").decode() if not name.isprintable() else name
    return InputError(f"{shown[:120]} in the bundle {what}", file=str(path), found=found)
