"""A bill as it is typed: one line a thing, its values parted by semicolons."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from halfroll.app.typed import number_or_text
from halfroll.core.errors import InputError
from halfroll.workshop.bill_record import BillTable, BoughtTable, GluedTable, PrintedTable

Row = dict[str, Any]

HINTS = {
    "bought": "One a line: part; how much one driver takes; what it is for. Such as: screws-m4; 8; frame screws",
    "printed": "One a line: name; filament or spool; grams; hours; pieces; how. Of a part of the design the name and what the slicer says: cone; ; 3.1; 0.7",
    "glued": "One a line: seam; glue; what it joins with +; length x bead in mm, or grams; opens. Such as: cone to frame; epoxy; cone + frame; 217 x 1.2",
}  # fmt: skip


def texts_of(bill: BillTable | None) -> dict[str, str]:
    """What stands in the fields of a bill, by key."""
    bill = bill or BillTable()
    return {
        "work_hours": "" if bill.work_hours is None else f"{bill.work_hours:g}",
        "bought": "\n".join(_bought_text(one) for one in bill.bought),
        "printed": "\n".join(_printed_text(one) for one in bill.printed),
        "glued": "\n".join(_glued_text(one) for one in bill.glued),
    }


def bill_in(texts: dict[str, str]) -> Row:
    """A bill as a table of a record, not checked but for its form.

    Raises
    ------
    InputError
        A line is not as it must be; `place.key` is the field.
    """
    found: Row = {
        key: [read(line, key) for line in texts[key].splitlines() if line.strip()]
        for key, read in _READ.items()
    }
    if texts["work_hours"].strip():
        found["work_hours"] = number_or_text(texts["work_hours"])
    return {key: value for key, value in found.items() if value != []}


def _bought_text(one: BoughtTable) -> str:
    return _joined(one.part, f"{one.amount:g}", one.use)


def _printed_text(one: PrintedTable) -> str:
    numbers = ("" if value is None else f"{value:g}" for value in (one.grams, one.hours))
    return _joined(
        one.name, one.material or "", *numbers, "" if one.pieces == 1 else str(one.pieces), one.how
    )


def _glued_text(one: GluedTable) -> str:
    much = f"{one.grams:g} g" if one.grams is not None else f"{one.length_mm:g} x {one.bead_mm:g}"
    return _joined(one.seam, one.glue, " + ".join(one.joins), much, "opens" if one.opens else "")


def _joined(*words: str) -> str:
    return re.sub(r"(; )+$", "", "; ".join(words) + "; ")


def _bought(line: str, key: str) -> Row:
    part, amount, use = _words(line, key, 3)
    return _said(part=part, amount=number_or_text(amount), use=use)


def _printed(line: str, key: str) -> Row:
    name, material, grams, hours, pieces, how = _words(line, key, 6)
    if pieces and not pieces.isdigit():
        raise InputError(
            "The pieces of a print must be a whole number", key=key, found=f"{pieces} in: {line.strip()}"
        )
    return _said(name=name, material=material, grams=number_or_text(grams), hours=number_or_text(hours),
                 pieces=int(pieces) if pieces else None, how=how)  # fmt: skip


def _glued(line: str, key: str) -> Row:
    seam, glue, joins, much, opens = _words(line, key, 5)
    if opens not in ("", "opens"):
        raise InputError(
            "Behind the amount of a seam only the word opens may stand",
            key=key,
            found=f"{opens} in: {line.strip()}",
        )
    found = _said(seam=seam, glue=glue, joins=[one.strip() for one in joins.split("+") if one.strip()])
    bead = re.fullmatch(r"(\S+)\s*[x×]\s*(\S+?)(\s*mm)?", much)
    grams = re.fullmatch(r"(\S+?)\s*g", much)
    if bead is not None:
        found |= {"length_mm": number_or_text(bead[1]), "bead_mm": number_or_text(bead[2])}
    elif grams is not None:
        found["grams"] = number_or_text(grams[1])
    else:
        raise InputError("The amount of a seam must be length x bead in mm, or grams", key=key, found=line.strip(),
                         allowed="such as 217 x 1.2, or 0.4 g")  # fmt: skip
    return found | ({"opens": True} if opens else {})


_READ: dict[str, Callable[[str, str], Row]] = {"bought": _bought, "printed": _printed, "glued": _glued}


def _words(line: str, key: str, most: int) -> list[str]:
    words = [one.strip() for one in line.split(";")]
    if len(words) > most or not words[0]:
        raise InputError(
            f"A line must have {most} values at most, parted by semicolons, and begin with one",
            key=key,
            found=line.strip(),
        )
    return [*words, *[""] * (most - len(words))]


def _said(**values: Any) -> Row:
    return {key: value for key, value in values.items() if value not in (None, "", [])}
