"""Reading record files: TOML text into a checked record, with a message for everything that can be wrong."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Verdict
from halfroll.workshop import faults
from halfroll.workshop.fields import Record
from halfroll.workshop.files import digest, read_whole
from halfroll.workshop.loaded import Loaded

R = TypeVar("R", bound=Record)


def read_record(path: Path, model: type[R], id_: str) -> Loaded[R]:
    """The record in a file; `InputError` names file, key and line of what is wrong."""
    data = read_whole(path)
    record, notes = parse_record(data, model, str(path))
    return Loaded(id=id_, path=path, record=record, revision=digest(data), notes=notes)


def parse_record(data: bytes, model: type[R], file: str) -> tuple[R, tuple[Verdict, ...]]:
    """The record in a file's bytes, and notes on keys halfroll does not know."""
    text = decode(data, file)
    raw = parse(text, file)
    faults.check_format(model, raw, file=file, text=text)
    return faults.check(model, raw, file=file, text=text), faults.notes(model, raw, file)


def decode(data: bytes, file: str) -> str:
    """A file's bytes as text with a line feed at line ends; a byte order mark in front is let pass."""
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise InputError(
            "The file must be text in UTF-8",
            file=file,
            line=data.count(b"\n", 0, error.start) + 1,
            found=f"byte 0x{data[error.start]:02x}",
            remedy="Save it as UTF-8 in your editor",
        ) from error


def parse(text: str, file: str) -> dict[str, Any]:
    """TOML text as plain values; a syntax fault is named with its line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        place = re.search(r"\(at line (\d+), column \d+\)", message)
        last = len(text.rstrip("\n").split("\n"))
        line = int(place[1]) if place else last  # else: "at end of document"
        reason = re.sub(r"\s*\(at .*\)$", "", message)
        found = text.split("\n")[line - 1].strip()
        raise InputError(f"The file is not valid TOML: {reason}", file=file, line=line,
                         found=found[:80] or "the end of the file",
                         remedy=_remedy(found)) from error  # fmt: skip


def _remedy(line: str) -> str:
    """What is wrong most often in a line that is not TOML: a decimal comma, or a unit behind the number."""
    if comma := re.search(r"=\s*([-+]?\d+),(\d+)\s*(?:#|$)", line):
        return f"Write the number with a decimal point: {comma[1]}.{comma[2]}"
    if unit := re.search(r"=\s*([-+]?\d+(?:\.\d+)?)\s*[^\W\d]+\s*(?:#|$)", line):
        return f"Write the number without its unit, which the key names: {unit[1]}"
    return "Correct this line"
