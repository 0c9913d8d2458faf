"""What a part can be made from: ``made_from`` of its record, followed as far as it leads."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from halfroll.builds.bill.amounts import Amounts
from halfroll.builds.bill.costing import Costing
from halfroll.builds.types import BillLine
from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.faults import fault_at
from halfroll.workshop.parts import OwnParts, current_id


@dataclass(frozen=True, kw_only=True)
class Rework:
    """So many pieces of a line of the old driver are made into a part of the new one."""

    old: str
    pieces: float
    cost: float | None
    said: str


def check_rings(owned: OwnParts) -> None:
    """Refuse parts that are made from each other in a ring; the files in it are named."""
    for start in owned.parts:
        chain = [start]
        while (below := _below(chain[-1], owned)) is not None:
            if below in chain:
                _refuse(chain[chain.index(below) :], owned)
            chain.append(below)


def said_of_sources(lines: Iterable[BillLine], owned: OwnParts) -> Iterator[Verdict]:
    """A caution where a line's part says that it is made from a part there is no record of."""
    parts = dict.fromkeys(line.part_id for line in lines if line.part_id is not None)
    below = {part: _below(part, owned) for part in parts}
    lost = {
        part: source for part, source in below.items() if source is not None and source not in owned.parts
    }
    if lost:
        named = join_words([f"{part} from {source}" for part, source in lost.items()])
        yield Verdict(
            code="made-from-unknown", severity=Severity.CAUTION, data={"parts": lost},
            text=f"Made from a part there is no record of, so counted as new: {named}.",
            remedy="Correct made_from in the record of the part, or add the part it is made from",
        )  # fmt: skip


def chain_of(part_id: str, owned: OwnParts) -> list[str]:
    """What a part is made from, what that is made from, and so on; empty when it is bought as it is."""
    found: list[str] = []
    at = _below(part_id, owned)
    while at is not None and at not in found:
        found.append(at)
        at = _below(at, owned)
    return found


def rework_of(
    line: BillLine, pieces: float, old: Amounts, spare: Mapping[str, float], costing: Costing
) -> Iterator[Rework]:
    """How pieces of a line can be made from what is left over, the shortest way first."""
    if line.part_id is None or line.unit != "pieces":
        return
    left = dict(spare)
    steps = [line.part_id]
    for source in chain_of(line.part_id, costing.owned):
        for had in old.lines:
            taken = min(pieces, left.get(had.key, 0.0))
            if had.part_id == source and had.unit == "pieces" and taken > 0.0:
                left[had.key] -= taken
                pieces -= taken
                each = _cost(steps, costing)
                yield Rework(
                    old=had.key,
                    pieces=taken,
                    cost=None if each is None else taken * each,
                    said=f"made from the {had.key}",
                )
        steps.append(source)


def _cost(steps: list[str], costing: Costing) -> float | None:
    """What making a part through some steps costs, in the currency of the bills; a step without a cost costs nothing but work."""
    total = 0.0
    for part_id in steps:
        record = costing.owned.parts[part_id].record
        if record.made_from_cost is None or record.currency is None:
            continue
        if costing.currency is None or costing.exchange.rate(record.currency, costing.currency) is None:
            return None
        total += costing.exchange.to(record.made_from_cost, record.currency, costing.currency)
    return total


def _below(part_id: str, owned: OwnParts) -> str | None:
    loaded = owned.parts.get(part_id)
    if loaded is None or loaded.record.made_from is None:
        return None
    return current_id(owned, loaded.record.made_from)


def _refuse(ring: list[str], owned: OwnParts) -> None:
    files = [owned.parts[one].path for one in ring]
    first = files[0]
    raise fault_at(
        first, ("made_from",), "Parts must not be made from each other in a ring",
        found=f"{' from '.join([*ring, ring[0]])}, in {', '.join(str(one) for one in files)}",
        remedy="Take made_from out of one of these files",
    )  # fmt: skip
