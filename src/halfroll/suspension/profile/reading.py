"""A free profile from a file: points of a table, or the one open path of a drawing.

x is the radius from the axis, y the height, both in mm; where y = 0 lies does not matter, for heights are counted from the
inner clamp. Whichever way the path was drawn, the points run from the end nearer to the axis outwards.
"""

from __future__ import annotations

from halfroll.core.errors import InputError, choose
from halfroll.suspension.design import Point
from halfroll.suspension.profile.points import FEWEST
from halfroll.suspension.profile.read_csv import csv_points
from halfroll.suspension.profile.read_dxf import dxf_points
from halfroll.suspension.profile.read_svg import svg_points

MOST_BYTES = 1_000_000
"""Of a file: a hundred times what a profile takes."""

UTF_16 = (b"\xff\xfe", b"\xfe\xff")
"""Marks at the beginning of text in which half the bytes may be zero."""

KINDS = {".csv": "a table as text (CSV)", ".svg": "an SVG drawing", ".dxf": "a drawing as text (ASCII DXF)"}

READERS = {".csv": csv_points, ".svg": svg_points, ".dxf": dxf_points}


def read_points(text: str | bytes, suffix: str) -> tuple[Point, ...]:
    """Points (r, z) in metres, from the inner clamp outwards, of a file's content; `suffix` says of what kind it is.

    Raises
    ------
    InputError
        Content that is no such file, or no profile; the caller adds the file's name.
    """
    suffix = suffix.lower()
    suffix = suffix if suffix.startswith(".") else f".{suffix}"
    choose(suffix, READERS, field="The profile's file")
    _check_content(text, suffix)
    content = _text(text) if isinstance(text, bytes) else text.removeprefix("\ufeff")
    if not content.strip():
        raise InputError("The file must hold a profile", found="an empty file")
    points = READERS[suffix](content)
    if len(points) < FEWEST:
        raise InputError(
            f"The file of a profile must hold at least {FEWEST} points", found=f"{len(points)}",
            allowed="points from the inner clamp to the outer one", remedy="Four to twelve points make a smooth line",
        )  # fmt: skip
    return points


def _check_content(content: str | bytes, suffix: str) -> None:
    """Refuse what is far too long for a profile, and binary data, before a reader spends minutes on it."""
    if len(content) > MOST_BYTES:
        raise InputError(
            "The file of a profile must be a small one", found=f"{len(content) / 1e6:.1f} MB", allowed=f"up to {MOST_BYTES / 1e6:g} MB",
            remedy="Keep only the middle line, four to some dozens of points",
        )  # fmt: skip
    if isinstance(content, bytes):
        binary = b"\0" in content and not content.startswith(UTF_16)
    else:
        binary = "\0" in content
    if binary:
        raise InputError(
            f"The file must be {KINDS[suffix]}",
            found="binary data",
            remedy="Save it again as text of that kind",
        )


def _text(raw: bytes) -> str:
    """Text of a file; drawings of older programs are in the Windows code page."""
    if raw.startswith(UTF_16):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")
