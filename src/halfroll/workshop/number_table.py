"""A table of numbers as some program or person wrote it: separator, decimal sign, head and rows are found, not asked.

Any of tab, semicolon, comma or blanks may part the columns, with point or comma in the numbers. Lines before the head
are passed over, and so are blank lines; a sign for a remark before the head is taken off.
"""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

REMARK = re.compile(r"^\s*(?:#+|%+|//+|\*+|!+|'+|;+|rem\b)\s*", re.IGNORECASE)
"""What may stand before a line to say that it is a remark."""

SEPARATORS = ("\t", ";", ",", " ")
NAMES = {"\t": "tabs", ";": "semicolons", ",": "commas", " ": "blanks"}

_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_NO_NUMBER = {"nan", "inf", "+inf", "-inf", "infinity", "-", "–", "--", "n/a", "na", "null", "#n/a", ""}
"""Cells that stand where a number should be."""

SHORTEST = 3


@dataclass(frozen=True, kw_only=True)
class NumberTable:
    """What stands in a table of numbers.

    Parameters
    ----------
    head
        The names of the columns as written, units included.
    values
        Shape (rows, columns).
    lines
        Line of the file each row stands in, shape (rows,).
    head_line
        Line of the head.
    """

    head: tuple[str, ...]
    values: FloatArray
    lines: tuple[int, ...]
    head_line: int


Line = tuple[int, str]


def text_of(data: bytes, file: str) -> str:
    """Bytes as text: by their mark, else as UTF-8, else as Latin-1 (one byte a letter, as older programs write)."""
    if b"\0" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError("The file must be a table as text", file=file, found="binary data",
                         remedy="Export the table as CSV or text")  # fmt: skip
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def read_number_table(text: str, file: str) -> NumberTable:
    """The table in a text.

    Raises
    ------
    InputError
        There is no table, no head over it, a row that has another number of columns or a cell that is no number; or
        points and commas both stand in the numbers.
    """
    lines = [(number, line) for number, line in enumerate(_unfold(text), 1) if line.strip()]
    if not lines:
        raise InputError(
            "The table is empty",
            file=file,
            found="no line with text",
            allowed="a line of names, then rows of numbers",
        )
    separator, columns = _layout(lines, file)
    first = next(i for i, (_, line) in enumerate(lines) if _is_row(line, separator, columns))
    head_line, head = _head(lines[:first], separator, columns, lines[first][0], file)
    rows = [line for line in lines[first:] if not _is_remark(line[1])]
    cells = [_checked(row, separator, columns, head, file) for row in rows]
    _one_decimal_sign(cells, rows, file)
    values = np.array([[float(cell.replace(",", ".")) for cell in row] for row in cells])
    return NumberTable(
        head=head, values=values, lines=tuple(number for number, _ in rows), head_line=head_line
    )


def _unfold(text: str) -> list[str]:
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\ufeff", "").split("\n")


def cells_of(line: str, separator: str) -> list[str]:
    """The cells of a line; a separator at its end opens no further cell."""
    stripped = line.strip("\n")
    if separator == " ":
        return stripped.split()
    cells = [
        cell.strip() for cell in next(csv.reader([stripped], delimiter=separator, skipinitialspace=True))
    ]
    return cells[:-1] if len(cells) > 1 and not cells[-1] else cells


def _layout(lines: list[Line], file: str) -> tuple[str, int]:
    """The separator and the number of columns with which most lines are rows of numbers."""
    best, most = ("", 0), 0
    for separator in SEPARATORS:
        counts: dict[int, int] = {}
        for _, line in lines:
            cells = cells_of(line, separator)
            if len(cells) > 1 and all(_NUMBER.fullmatch(cell) for cell in cells):
                counts[len(cells)] = counts.get(len(cells), 0) + 1
        columns = max(counts, key=lambda n: counts[n], default=0)
        if counts and counts[columns] > most:
            best, most = (separator, columns), counts[columns]
    if most < SHORTEST:
        raise InputError(
            "There is no table of numbers here",
            file=file,
            found=f"{most} rows of two numbers or more",
            allowed="three rows or more, columns parted by tabs, semicolons, commas or blanks",
            remedy="Export the table as text, one row a line",
        )
    return best


def _is_row(line: str, separator: str, columns: int) -> bool:
    cells = cells_of(line, separator)
    return len(cells) == columns and all(_NUMBER.fullmatch(cell) for cell in cells)


def _is_remark(line: str) -> bool:
    return REMARK.match(line) is not None and not re.match(r"^\s*[-+.\d]", line)


def _head(
    before: list[Line], separator: str, columns: int, first: int, file: str
) -> tuple[int, tuple[str, ...]]:
    """The names over the columns: the nearest line above the numbers with as many; a line of units alone joins them."""
    for i in range(len(before) - 1, -1, -1):
        names = _names(before[i][1], separator, columns)
        if names is None:
            continue
        if all(is_unit(name) for name in names) and i > 0:
            above = _names(before[i - 1][1], separator, columns)
            if above is not None:
                joined = tuple(f"{name} ({_bare(unit)})" for name, unit in zip(above, names, strict=True))
                return before[i - 1][0], joined
        return before[i][0], tuple(names)
    raise InputError(
        "A line above the numbers must name the columns and their units",
        file=file,
        line=first,
        found=f"{columns} columns without names" if not before else f"no line with {columns} names",
        allowed="such as: frequency (Hz), modulus (ohm), phase (deg)",
        remedy="Add that line above the numbers",
    )


def _names(line: str, separator: str, columns: int) -> list[str] | None:
    """The names in a line when there are as many as columns, whatever parts them; None when it is no head."""
    bare = REMARK.sub("", line) if _is_remark(line) else line
    for by in (separator, *(s for s in SEPARATORS if s != separator)):
        names = _by_blanks(bare, columns) if by == " " else cells_of(bare, by)
        if len(names) == columns and all(any(c.isalpha() or c in "°Ω%|" for c in name) for name in names):
            return names
    return None


def _by_blanks(line: str, columns: int) -> list[str]:
    """Names parted by blanks, where a name may hold single blanks and a unit in brackets belongs to the name before."""
    wide = re.split(r"\s{2,}|\t", line.strip())
    if len(wide) == columns:
        return wide
    in_brackets = [name.strip() for name in re.findall(r"[^\])]+[\])]", line)]
    if len(in_brackets) == columns and line.rstrip()[-1] in ")]":
        return in_brackets
    names: list[str] = []
    for word in line.split():
        if names and word[0] in "([":
            names[-1] += f" {word}"
        else:
            names.append(word)
    return names


_UNIT = re.compile(
    r"[(\[]?\s*(?:k?hz|k?ohms?|[kK]?[ΩΩ]|deg(?:rees?)?|grad|°|rad(?:ians?)?|db|v|a|1|-)\s*[)\]]?",
    re.IGNORECASE,
)


def is_unit(name: str) -> bool:
    """Whether a name is nothing but a unit."""
    return _UNIT.fullmatch(name.strip()) is not None


def _bare(unit: str) -> str:
    return unit.strip().strip("()[]").strip()


def _checked(row: Line, separator: str, columns: int, head: tuple[str, ...], file: str) -> list[str]:
    number, line = row
    cells = cells_of(line, separator)
    if len(cells) != columns:
        raise InputError(
            "Every row must have as many numbers as there are columns",
            file=file, line=number, found=f"{len(cells)}: {line.strip()[:60]}",
            allowed=f"{columns}, parted by {NAMES[separator]}",
        )  # fmt: skip
    for name, cell in zip(head, cells, strict=True):
        if not _NUMBER.fullmatch(cell):
            raise InputError(
                f"{name} must be a number", file=file, line=number, found=repr(cell),
                remedy="Correct the cell or delete the row" if cell.lower() in _NO_NUMBER or math.isnan(_float(cell)) else None,
            )  # fmt: skip
    return cells


def _float(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return math.nan


def _one_decimal_sign(cells: list[list[str]], rows: list[Line], file: str) -> None:
    """Refuse a table in which some numbers have points and others commas: one of the two may part thousands."""
    with_point = next((i for i, row in enumerate(cells) for cell in row if "." in cell), None)
    with_comma = next((i for i, row in enumerate(cells) for cell in row if "," in cell), None)
    if with_point is not None and with_comma is not None:
        later = max(with_point, with_comma)
        raise InputError(
            "Numbers must have one decimal sign throughout", file=file, line=rows[later][0],
            found=f"points and commas: {rows[later][1].strip()[:60]}", allowed="a point or a comma, and nothing between thousands",
        )  # fmt: skip
