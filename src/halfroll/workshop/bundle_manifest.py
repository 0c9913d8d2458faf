"""``manifest.json`` of a bundle: what it is, whose, for whom, and every file with its size and SHA-256."""

from __future__ import annotations

import json
import unicodedata
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from halfroll.core.errors import InputError
from halfroll.workshop.faults import check
from halfroll.workshop.fields import Date, Sha256, Table

MANIFEST = "manifest.json"
CHECKSUMS = "checksums.txt"
LICENCE = "LICENSE.txt"
README = "README.txt"
RECORDS = "records/"
MODELS = "models/"

BUNDLE: Literal["halfroll release"] = "halfroll release"
BUNDLE_FORMAT = 1
MOST_MANIFEST = 20_000_000
MOST_RECORD = 4_000_000
"""Bytes of the manifest and of a record: hundreds of times what they have."""
_SHOWN = 200


class FileLine(Table):
    """One file: its path in the bundle, size (bytes), hash, which content it belongs to, and what it is in words."""

    kind: ClassVar[str] = "manifest"

    path: Annotated[str, Field(min_length=1)]
    size: Annotated[int, Field(ge=0)]
    sha256: Sha256
    content: str
    what: str = ""


class LicenceLine(Table):
    """The licence: SPDX identifier, title, and the file that tells of it."""

    kind: ClassVar[str] = "manifest"

    id: Annotated[str, Field(min_length=1, max_length=100)]
    title: str = ""
    file: str = LICENCE


class ProgramLine(Table):
    """What made the bundle."""

    kind: ClassVar[str] = "manifest"

    name: str
    version: str


class LeftOutLine(Table):
    """A content that is not in the bundle, and why."""

    kind: ClassVar[str] = "manifest"

    content: str
    why: str = ""


class Manifest(Table):
    """A bundle's manifest."""

    kind: ClassVar[str] = "manifest"

    bundle: Literal["halfroll release"]
    format: int
    release: Annotated[str, Field(min_length=1, max_length=200)]
    title: str
    date: Date
    audience: str
    early: bool = False
    authors: Annotated[tuple[str, ...], Field(strict=False)] = ()
    licence: LicenceLine
    program: ProgramLine
    versions: Annotated[tuple[str, ...], Field(strict=False)]
    settings: dict[str, Any] = Field(default_factory=dict)
    left_out: Annotated[tuple[LeftOutLine, ...], Field(strict=False)] = ()
    files: Annotated[tuple[FileLine, ...], Field(strict=False)]

    def bytes_of(self) -> bytes:
        """The file: JSON with sorted keys, the files by their path."""
        raw = self.model_dump(mode="json")
        raw["files"] = sorted(raw["files"], key=lambda line: line["path"])
        return json.dumps(raw, sort_keys=True, indent=1, ensure_ascii=False).encode() + b"\n"


def checksums(lines: dict[str, str]) -> bytes:
    """Hashes by path as ``sha256sum`` writes and checks them."""
    return "".join(f"{lines[path]}  {path}\n" for path in sorted(lines)).encode()


def read_manifest(data: bytes, file: str) -> Manifest:
    """The manifest in its bytes.

    Raises
    ------
    InputError
        It is no manifest, one of a newer halfroll, or has something in it that is not to be shown or kept.
    """
    raw = parse_json(data, file)
    if not isinstance(raw, dict) or raw.get("bundle") != BUNDLE:
        raise InputError("The manifest is not that of a release of halfroll", file=file, key="bundle",
                         found=_short(raw.get("bundle") if isinstance(raw, dict) else raw), allowed=BUNDLE)  # fmt: skip
    found = raw.get("format")
    if not isinstance(found, int) or isinstance(found, bool) or found < 1:
        raise InputError(
            "The manifest does not say its format",
            file=file,
            key="format",
            found=_short(found),
            allowed=str(BUNDLE_FORMAT),
        )
    if found > BUNDLE_FORMAT:
        raise InputError("The bundle was made by a newer halfroll", file=file, key="format", found=found, allowed=str(BUNDLE_FORMAT),
                         remedy="Update halfroll")  # fmt: skip
    return check(Manifest, raw, file=file)


def parse_json(data: bytes, file: str) -> Any:
    """JSON in UTF-8 without doubled keys, endless nesting or signs that are no text."""
    try:
        raw = json.loads(data.decode(), object_pairs_hook=_once, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        reason = "it is nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise InputError("The file is not valid JSON", file=file, found=_short(reason)) from error
    require_text(raw, file)
    return raw


def require_text(raw: Any, file: str) -> None:
    """Refuse plain values with text in them that would do something to a terminal, or cannot be written to a file."""
    waiting = [raw]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            waiting += [*value, *value.values()]
        elif isinstance(value, list | tuple):
            waiting += value
        elif isinstance(value, str) and any(_bad(sign) for sign in value):
            raise InputError(
                "There are signs in a text that cannot be seen or written", file=file, found=_short(value)
            )


def _bad(sign: str) -> bool:
    """Control signs but line ends and tabs; halves of signs; what turns the direction of writing."""
    if sign in "\n\r\t":
        return False
    return (
        unicodedata.category(sign) in ("Cc", "Cs")
        or sign in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    )


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        raise ValueError(f"a key is there twice: {next(key for key in keys if keys.count(key) > 1)}")
    return found


def _no_number(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."
