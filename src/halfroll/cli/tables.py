"""Columns of a table that break between words, never inside a number and its unit, where the terminal is narrow."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

NO_BREAK = "\u00a0"
GAP = 2


def fitted(head: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> tuple[list[str], list[list[str]]]:  # fmt: skip
    """Head and rows with line breaks, so that the columns and two spaces between them fit into `width` characters.

    The widest columns give way first, down to their longest word; what is still too wide stays so.
    """
    table = [[_held(cell) for cell in row] for row in (head, *rows)]
    columns = list(zip(*table, strict=True))
    wide = [max(len(line) for cell in column for line in cell.split("\n")) for column in columns]
    least = [_longest(column) for column in columns]
    room = width - GAP * (len(columns) - 1)
    while sum(wide) > room and (loose := [i for i in range(len(wide)) if wide[i] > least[i]]):
        wide[max(loose, key=lambda i: wide[i])] -= 1
    broken = [[_broken(cell, wide[i]) for i, cell in enumerate(row)] for row in table]
    return broken[0], broken[1:]


def _held(cell: str) -> str:
    """A cell whose numbers hold on to their uncertainty."""
    return cell.replace(" ± ", f"{NO_BREAK}±{NO_BREAK}")


def _longest(column: Sequence[str]) -> int:
    return max((len(word) for cell in column for word in cell.replace("\n", " ").split(" ")), default=1)


def _broken(cell: str, width: int) -> str:
    lines = cell.split("\n")
    return "\n".join(
        part
        for line in lines
        for part in (textwrap.wrap(line, width, break_long_words=False, break_on_hyphens=False) or [""])
    )
