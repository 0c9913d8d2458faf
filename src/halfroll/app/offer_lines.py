"""Offers as they are typed: one a line, supplier; price with currency; what a pack holds; day."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from halfroll.app.typed import number_or_text
from halfroll.core.errors import InputError
from halfroll.workshop.part_record import OfferTable

HINT = "One a line: supplier; price and currency; a pack holds; day. Such as: Harbour Stores; 3.60 EUR; 1; 2026-06-01"


def lines_of(offers: Sequence[OfferTable]) -> str:
    """Offers as they are typed."""
    return "\n".join(
        f"{one.supplier}; {one.price:g} {one.currency}; {one.pack_size:g}"
        + (f"; {one.date.isoformat()}" if one.date else "")
        for one in offers
    )


def offers_in(text: str) -> list[dict[str, Any]]:
    """Offers as tables of a record, not checked but for their form.

    Raises
    ------
    InputError
        A line does not have supplier and price.
    """
    return [_offer(line) for line in text.splitlines() if line.strip()]


def _offer(line: str) -> dict[str, Any]:
    words = [one.strip() for one in line.split(";")]
    price = re.fullmatch(r"(\S+)\s+([A-Za-z]+)", words[1]) if len(words) > 1 else None
    if price is None or len(words) > 4:
        raise InputError(
            "An offer must be supplier; price and currency; a pack holds; day",
            key="offers",
            found=line.strip(),
        )
    found: dict[str, Any] = {
        "supplier": words[0],
        "price": number_or_text(price[1]),
        "currency": price[2].upper(),
    }
    if len(words) > 2 and words[2]:
        found["pack_size"] = number_or_text(words[2])
    if len(words) > 3 and words[3]:
        found["date"] = words[3]
    return found
