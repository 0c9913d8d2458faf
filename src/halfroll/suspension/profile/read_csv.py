"""Points of a profile from a table."""

from __future__ import annotations

import csv
import io
import math

from halfroll.core.errors import InputError
from halfroll.suspension.design import Point

COLUMNS = {"r_mm": "r", "x_mm": "r", "x": "r", "r": "r", "z_mm": "z", "y_mm": "z", "y": "z", "z": "z"}
"""Names of columns; without a unit they are mm, too."""

ALLOWED = "a first line r_mm,z_mm (or x,y), then one point a line"


def csv_points(text: str) -> tuple[Point, ...]:
    """Points (r, z) in metres of a table with the columns r_mm and z_mm, or x and y in mm; commas, semicolons or tabs.

    Raises
    ------
    InputError
        Columns or numbers that are missing or are none, with the line.
    """
    lines = [
        (number, row) for number, row in enumerate(text.splitlines(), 1) if row.strip() and row[0] != "#"
    ]
    if not lines:
        raise InputError("The table must hold points", found="nothing but remarks", allowed=ALLOWED)
    mark = max(",;\t", key=lines[0][1].count)
    head = [name.strip().strip('"').lower() for name in lines[0][1].split(mark)]
    columns = {COLUMNS[name]: n for n, name in enumerate(head) if name in COLUMNS}
    if set(columns) != {"r", "z"}:
        raise InputError(
            "The table must name its columns", line=lines[0][0], found=lines[0][1].strip(), allowed=ALLOWED
        )
    points = tuple(_point(row, mark, columns, number) for number, row in lines[1:])
    return points[::-1] if points and points[0][0] > points[-1][0] else points


def _point(row: str, mark: str, columns: dict[str, int], number: int) -> Point:
    cells = next(csv.reader(io.StringIO(row), delimiter=mark))
    values = []
    for name in ("r", "z"):
        cell = cells[columns[name]].strip() if columns[name] < len(cells) else ""
        try:
            value = float(cell.replace(",", ".") if mark != "," else cell)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise InputError(
                f"{name} of a point must be a number in mm", line=number, found=cell or "nothing"
            )
        values.append(1e-3 * value)
    return values[0], values[1]
