"""Curves as CSV: a first line of column names that carry their units, ``frequency_hz`` first, then numbers."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.workshop.files import read_whole
from halfroll.workshop.toml_read import decode

FREQUENCY = "frequency_hz"


def read_curve(path: Path, columns: tuple[str, ...]) -> dict[str, FloatArray]:
    """Columns of a curve file by name, each of shape (n,); ``frequency_hz`` is always among them.

    Parameters
    ----------
    columns
        Names the other columns may have; one at least must be there. Lines that begin with # are passed over.
    """
    file = str(path)
    lines = [
        (number, line)
        for number, line in enumerate(decode(read_whole(path), file).split("\n"), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise InputError("The curve file is empty", file=file)
    names = _names(lines[0], columns, file)
    rows = [_row(line, names, file) for line in lines[1:]]
    if len(rows) < 2:
        raise InputError("A curve must have two points at least", file=file, found=str(len(rows)))
    table = np.array([values for _, values in rows])
    steps = np.diff(table[:, 0])
    if table[0, 0] <= 0 or (steps <= 0).any():
        wrong = 0 if table[0, 0] <= 0 else int(np.argmax(steps <= 0)) + 1
        raise InputError("Frequencies of a curve must be above 0 Hz and ascending", file=file, key=FREQUENCY,
                         line=rows[wrong][0], found=f"{table[wrong, 0]:g}")  # fmt: skip
    return {name: np.ascontiguousarray(table[:, column]) for column, name in enumerate(names)}


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line]))]


def _names(head: tuple[int, str], columns: tuple[str, ...], file: str) -> list[str]:
    number, line = head
    names = _cells(line)
    allowed = f"{FREQUENCY}, then " + " or ".join(columns)
    if (
        names[0] != FREQUENCY
        or len(names) < 2
        or len(set(names)) < len(names)
        or not set(names[1:]) <= set(columns)
    ):
        raise InputError("The first line must name the columns, separated by commas", file=file, line=number,
                         found=line.strip()[:80], allowed=allowed)  # fmt: skip
    return names


def _row(numbered: tuple[int, str], names: list[str], file: str) -> tuple[int, list[float]]:
    number, line = numbered
    cells = _cells(line)
    if len(cells) != len(names):
        raise InputError("Every line must have as many numbers as there are columns", file=file, line=number,
                         found=line.strip()[:80], allowed=f"{len(names)}, with decimal points")  # fmt: skip
    values = [_number(cell) for cell in cells]
    for name, cell, value in zip(names, cells, values, strict=True):
        if not math.isfinite(value):
            raise InputError(f"{name} must be a number", file=file, key=name, line=number, found=repr(cell))
    return number, values


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return math.nan
