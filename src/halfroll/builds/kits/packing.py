"""Booking a batch that was packed: each part of it as used, whole or not at all."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from halfroll.builds.kits.plan import plan
from halfroll.builds.kits.types import KitPlan
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import count
from halfroll.workshop.stock import move
from halfroll.workshop.stock_record import MovementTable

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


def pack(
    workshop: Workshop, kit_id: str, n: int, *, date: dt.date, note: str = "", anyway: bool = False, progress: Progress = silent
) -> tuple[KitPlan, tuple[MovementTable, ...]]:  # fmt: skip
    """Book `n` packed kits: the plan they were packed by, and the movements written.

    Raises
    ------
    RefusedError
        The stock does not hold so much, and `anyway` is not said; nothing is booked.
    InputError
        As `plan`; or the kit has nothing in its bag.
    """
    planned = plan(workshop, kit_id, n, progress=progress)
    if not planned.parts:
        raise InputError("There is nothing in the bag of this kit to be booked", found=kit_id)
    return planned, move(workshop, *movements_of(planned, date=date, note=note), anyway=anyway)


def movements_of(planned: KitPlan, *, date: dt.date, note: str = "") -> tuple[MovementTable, ...]:
    """What packing a plan takes out of the stock."""
    batch = f"{planned.kit_id} {date.isoformat()} packed {planned.n}"
    words = note or f"packed {count(planned.n, 'kit')}"
    return tuple(
        MovementTable(date=date, part=part.need.part_id, what="used", amount=round(part.needed, 6), kit=planned.kit_id,
                      batch=batch, note=words)
        for part in planned.parts
        if part.needed > 0
    )  # fmt: skip
