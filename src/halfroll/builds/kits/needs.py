"""What one kit takes: the bills of its drivers together, extras, less what is left out, with spares."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfroll.builds.kits.types import KitNeed
from halfroll.builds.types import BillLine
from halfroll.workshop.kit_record import KitRecord, SpareTable
from halfroll.workshop.parts import OwnParts, current_id

DUST = 1e-9
"""Sums of tenths are not a piece more."""


@dataclass(frozen=True, kw_only=True)
class KitNeeds:
    """What one kit takes of parts, what the builder prints, what no part record says, hours of printing, and what of it has no hours."""

    needs: tuple[KitNeed, ...]
    by_builder: tuple[tuple[int, BillLine], ...]
    missing: tuple[str, ...]
    print_hours: float
    unused: tuple[str, ...]


def kit_needs(kit: KitRecord, bills: Mapping[str, Sequence[BillLine]], owned: OwnParts) -> KitNeeds:
    """What one kit takes.

    Parameters
    ----------
    bills
        Lines of one driver, by the version a driver of the kit names.

    A thing is left out by its part, or by its name in the bill. What is sold by the piece is put in as whole pieces, spares rounded up.
    """
    amounts: dict[str, float] = {}
    uses: dict[str, list[str]] = {}
    by_builder: list[tuple[int, BillLine]] = []
    missing: list[str] = []
    left_out: set[str] = set()
    hours = 0.0
    leave_out = {current_id(owned, name): name for name in kit.leave_out}
    for driver in kit.drivers:
        for line in bills[driver.version]:
            names = {line.key, line.part_id, line.what} & set(leave_out)
            if names:
                left_out |= {leave_out[name] for name in names if name}
            elif line.kind == "printed" and kit.printed == "by the builder":
                by_builder.append((driver.count, line))
            elif line.part_id is None:
                missing.append(f"{line.what} of {driver.version}")
            else:
                _add(amounts, uses, line.part_id, driver.count * line.amount, line.key)
                hours += driver.count * (line.hours or 0.0)
    for extra in kit.extras:
        _add(amounts, uses, current_id(owned, extra.part), extra.amount, extra.use)
    spares = {current_id(owned, one.part): one for one in kit.spares}
    for part, spare in spares.items():
        if spare.amount and part not in leave_out:  # of a part nothing takes, the spare alone
            _add(amounts, uses, part, 0.0, "")
    needs = tuple(
        _need(part, amount, tuple(dict.fromkeys(uses[part])), spares.get(part), kit.spares_percent, owned)
        for part, amount in amounts.items()
    )
    unused = tuple(name for name in kit.leave_out if name not in left_out)
    return KitNeeds(
        needs=tuple(sorted(needs, key=lambda one: (one.place == "", one.place, one.part_id))), by_builder=tuple(by_builder),
        missing=tuple(dict.fromkeys(missing)), print_hours=hours, unused=unused,
    )  # fmt: skip


def _add(amounts: dict[str, float], uses: dict[str, list[str]], part: str, amount: float, use: str) -> None:
    amounts[part] = amounts.get(part, 0.0) + amount
    uses.setdefault(part, [])
    if use:
        uses[part].append(use)


def _need(
    part: str, amount: float, uses: tuple[str, ...], spare: SpareTable | None, percent: float, owned: OwnParts
) -> KitNeed:
    record = owned.parts[part].record
    if record.pack_unit == "pieces":
        amount = _whole(amount)
    more = amount * percent / 100.0
    if spare is not None:
        more = spare.amount if spare.amount is not None else amount * (spare.percent or 0.0) / 100.0
    if record.pack_unit == "pieces":
        more = _whole(more)
    return KitNeed(
        part_id=part, title=owned.catalogue.parts[part].title, unit=record.pack_unit, amount=amount, spare=more, uses=uses,
        place=record.place, magnet=record.type == "magnet",
    )  # fmt: skip


def _whole(amount: float) -> float:
    return float(math.ceil(amount - DUST))
