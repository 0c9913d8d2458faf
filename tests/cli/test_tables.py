"""Tables on a narrow terminal, and words about a mistyped number."""

from __future__ import annotations

import pytest

from halfroll.cli.tables import fitted

HEAD = ("Part", "Mass", "Known")
ROWS = [("air that moves along with the cone", "0.1303 ± 0.0051\u202fg", "for Sd in a baffle")]


def widths(head: list[str], rows: list[list[str]]) -> list[int]:
    """How wide each column came out."""
    columns = zip(head, *rows, strict=True)
    return [max(len(line) for cell in column for line in cell.split("\n")) for column in columns]


def test_a_table_that_fits_stays_as_it_is() -> None:
    """Nothing is broken where there is room."""
    head, rows = fitted(HEAD, ROWS, 100)
    assert head == list(HEAD)
    assert [cell.replace("\u00a0", " ") for cell in rows[0]] == list(ROWS[0])


@pytest.mark.parametrize("width", [60, 50, 40])
def test_columns_give_way_but_numbers_hold(width: int) -> None:
    """The table keeps within the width, a number keeps its uncertainty and unit, and no word is lost or cut."""
    head, rows = fitted(HEAD, ROWS, width)
    assert sum(widths(head, rows)) + 4 <= width
    assert "0.1303\u00a0±\u00a00.0051\u202fg" in rows[0][1].split("\n")
    assert [" ".join(cell.split("\n")).replace("\u00a0", " ") for cell in rows[0]] == list(ROWS[0])


def test_a_word_that_is_too_long_is_not_cut() -> None:
    """What cannot be narrower stays as wide as its longest word."""
    head, rows = fitted(("a",), [("unbreakable words",)], 4)
    assert widths(head, rows) == [len("unbreakable")]


def test_a_decimal_comma_is_named(workshop, say) -> None:
    """An option with a decimal comma is told how to be written, without words of programmers."""
    code, _, err = say("--workshop", workshop, "models", "dunlin/v1", "--filament", "2,85")
    assert code == 2
    assert "'2,85' is not a number. Write it with a decimal point: 2.85." in err
    assert "float" not in err
