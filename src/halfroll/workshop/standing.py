"""Where a part stands: its movements in order, what each changed, and what there is after it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from halfroll.core.text import MINUS, THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.part_record import PackUnit, PartRecord
from halfroll.workshop.stock_record import MovementTable

DECIMALS = 6
"""Amounts are kept to a millionth of their unit, so that sums of tenths come out even."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Booked:
    """A movement and where it stands."""

    movement: MovementTable
    file: Path
    index: int


@dataclass(frozen=True, kw_only=True)
class StockLine:
    """A movement, what it changed (of a count: the difference to what the books said), and the amount after it."""

    booked: Booked
    change: float
    balance: float

    @property
    def movement(self) -> MovementTable:
        """The movement itself."""
        return self.booked.movement

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        one = self.movement
        return {
            "date": one.date, "part": one.part, "what": one.what, "amount": one.amount, "change": self.change, "balance": self.balance,
            "paid": one.paid, "currency": one.currency, "supplier": one.supplier or None, "unit": one.unit or None, "kit": one.kit or None,
            "note": one.note or None, "anyway": bool(one.anyway), "number": one.number,
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Where one part stands.

    Parameters
    ----------
    amount
        What there is, in `unit`; None where nobody ever said.
    opening
        What there was before the first movement: the record's ``stock``.
    since
        Day of the last movement; None where there is none and the record's count is all that is known.
    counted
        Day of the last count; None where it never was counted.
    negative_on
        First day on which it stood below zero.
    lines
        Its history in order.
    value, currency
        What it is worth at the price of the record, else at what was paid last; None where neither is known.
    """

    part_id: str
    unit: PackUnit
    amount: float | None
    opening: float | None
    since: dt.date | None = None
    counted: dt.date | None = None
    negative_on: dt.date | None = None
    lines: tuple[StockLine, ...] = ()
    value: float | None = None
    currency: str | None = None
    verdicts: tuple[Verdict, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        return {
            "part": self.part_id, "amount": self.amount, "unit": self.unit, "opening": self.opening, "since": self.since,
            "counted": self.counted, "negative_on": self.negative_on, "value": self.value, "currency": self.currency,
            "history": [line.as_dict() for line in self.lines], "verdicts": [v.as_dict() for v in self.verdicts],
        }  # fmt: skip


def standing_of(part_id: str, record: PartRecord, booked: Sequence[Booked]) -> Standing:
    """Where a part stands after movements in order."""
    lines: list[StockLine] = []
    balance = record.stock or 0.0
    for one in booked:
        after = _after(balance, one.movement)
        lines.append(StockLine(booked=one, change=round(after - balance, DECIMALS), balance=after))
        balance = after
    known = bool(lines) or record.stock is not None
    value, currency = _value(record, lines, balance) if known else (None, None)
    below = next((line.movement.date for line in lines if line.balance < 0), None)
    counts = [line.movement.date for line in lines if line.movement.what == "counted"]
    return Standing(
        part_id=part_id, unit=record.pack_unit, amount=balance if known else None, opening=record.stock,
        since=lines[-1].movement.date if lines else None, counted=counts[-1] if counts else None,
        negative_on=below, lines=tuple(lines), value=value, currency=currency,
        verdicts=() if below is None else (_negative(part_id, record.pack_unit, lines),),
    )  # fmt: skip


def _after(balance: float, movement: MovementTable) -> float:
    if movement.what == "counted":
        return round(movement.amount, DECIMALS)
    sign = 1.0 if movement.what == "bought" else -1.0
    return round(balance + sign * movement.amount, DECIMALS)


def _value(record: PartRecord, lines: Sequence[StockLine], balance: float) -> tuple[float | None, str | None]:
    held = max(0.0, balance)
    if record.price is not None:
        return record.price * held / record.pack_size, record.currency
    for line in reversed(lines):
        if line.movement.paid is not None:
            return line.movement.paid * held / line.movement.amount, line.movement.currency
    return None, None


def _negative(part_id: str, unit: PackUnit, lines: Sequence[StockLine]) -> Verdict:
    first = next(line for line in lines if line.balance < 0)
    lowest = min(line.balance for line in lines)
    day = first.movement.date.isoformat()
    mended = next((one for one in lines[lines.index(first) :] if one.movement.what == "counted"), None)
    now = lines[-1].balance
    text = f"The books of {part_id} went below zero on {day}, to {amount_text(lowest, unit)} at the lowest"
    if now < 0:
        text += f", and stand at {amount_text(now, unit)} now"
    elif mended is not None:
        text += f"; the count of {mended.movement.date.isoformat()} set them right"
    return Verdict(
        code="stock-negative", severity=Severity.NOTE if mended is not None and now >= 0 else Severity.CAUTION, text=f"{text}.",
        remedy="" if mended is not None and now >= 0 else "Count what is there and book the count",
        data={"part": part_id, "first_day": day, "lowest": lowest, "amount": now, "unit": unit},
    )  # fmt: skip


def amount_text(amount: float, unit: str) -> str:
    """An amount in words with its unit, ``12 pieces``, ``80.5 g``, never as a power of ten."""
    value = round(amount, 2) if abs(amount) >= 1 else round(amount, 4)
    number = f"{abs(value):.4f}".rstrip("0").rstrip(".")
    sign = MINUS if value < 0 else ""
    if unit == "pieces":
        return f"{sign}{number} {'piece' if abs(value) == 1 else 'pieces'}"
    return f"{sign}{number}{THIN}{unit}"


def about_text(amount: float, unit: str) -> str:
    """The same to three digits: what is computed is known no better. Pieces are counted, so they stay."""
    return amount_text(amount if unit == "pieces" else float(f"{amount:.3g}"), unit)
