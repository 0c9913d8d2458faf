"""Stock in words: rows of a list, the history of a part, what all of it is worth."""

from __future__ import annotations

from collections.abc import Iterable

from halfroll.core.money import format_money
from halfroll.core.text import join_words
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.standing import Standing, StockLine, amount_text
from halfroll.workshop.stock_record import MovementTable


def stock_rows(standings: Iterable[Standing]) -> list[tuple[Standing, tuple[str, str, str, str]]]:
    """Each part with what is in stock, last moved, last counted and worth, in words."""
    return [(one, _row(one)) for one in standings]


def _row(one: Standing) -> tuple[str, str, str, str]:
    return (
        "not counted" if one.amount is None else amount_text(one.amount, one.unit), one.since.isoformat() if one.since else "–",
        one.counted.isoformat() if one.counted else "–", "–" if one.value is None or not one.currency else format_money(one.value, one.currency),
    )  # fmt: skip


def stock_table(standings: Iterable[Standing]) -> Rows:
    """The same as a table."""
    found = tuple((one.part_id, *words) for one, words in stock_rows(standings))
    return Rows(head=("Part", "In stock", "Last moved", "Last counted", "Worth"), rows=found)


def history_rows(standing: Standing) -> Rows:
    """Movements of a part in order, with what each changed and what there was after it."""
    rows = tuple(
        (line.movement.date.isoformat(), _what(line), signed(line.change, standing.unit), amount_text(line.balance, standing.unit), _why(line))
        for line in standing.lines
    )  # fmt: skip
    opening = f"Before the first movement: {amount_text(standing.opening or 0.0, standing.unit)}."
    return Rows(head=("Day", "What", "Change", "In stock", "For"), rows=rows, notes=(opening,))


def worth_words(standings: Iterable[Standing]) -> str:
    """What all that has a price is worth, by currency; currencies are never added."""
    sums: dict[str, float] = {}
    for one in standings:
        if one.value is not None and one.currency:
            sums[one.currency] = sums.get(one.currency, 0.0) + one.value
    return join_words([format_money(value, currency) for currency, value in sums.items()])


def movement_words(movement: MovementTable) -> str:
    """A movement in a few words."""
    return f"{movement.date.isoformat()}, {movement.part} {movement.what} {movement.amount:g}"


def signed(change: float, unit: str) -> str:
    """A change with its sign."""
    return f"{'+' if change > 0 else ''}{amount_text(change, unit)}"


def _what(line: StockLine) -> str:
    return f"{line.movement.what}, below zero" if line.movement.anyway else line.movement.what


def _why(line: StockLine) -> str:
    one = line.movement
    paid = f"{format_money(one.paid, one.currency)}" if one.paid is not None and one.currency else ""
    return ", ".join(word for word in (one.supplier, paid, one.purpose) if word)
