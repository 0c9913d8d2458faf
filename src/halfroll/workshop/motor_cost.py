"""What the parts of a design cost: by the maker's own records only. An unknown price is said, never taken for nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.placing.design import Design
from halfroll.motor.placing.stack import assemble
from halfroll.motor.types import Assembly
from halfroll.workshop.part_cost import Cost, cost, in_pack_unit
from halfroll.workshop.part_needs import Need, motor_needs, record_of
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import own_parts
from halfroll.workshop.stock import stock_of

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class CostLine:
    """One thing that is needed: its names in the design, the record it is bought by (None: there is none), its cost (None: no
    record, or an amount the record does not know).
    """

    what: str
    part_id: str | None
    cost: Cost | None

    @property
    def known(self) -> bool:
        """Whether it has a price."""
        return self.cost is not None and self.cost.used is not None


@dataclass(frozen=True, kw_only=True)
class DesignCost:
    """The cost of a design: `used` what its parts are worth and `to_pay` what must be paid for whole packs, by currency;
    `missing` what has no price and is in neither.
    """

    lines: tuple[CostLine, ...]
    used: Mapping[str, float]
    to_pay: Mapping[str, float]
    missing: tuple[str, ...]
    verdicts: tuple[Verdict, ...] = field(default=())

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        return {
            "used": dict(self.used), "to_pay": dict(self.to_pay), "missing": list(self.missing),
            "lines": [
                {"what": line.what, "part": line.part_id, "cost": None if line.cost is None else line.cost.as_dict()}
                for line in self.lines
            ],
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def cost_of(
    workshop: Workshop, design: Design, today: dt.date, assembly: Assembly | None = None
) -> DesignCost:
    """What motor and coil cost: bought parts by the piece, wire by its length with spare, prints by their mass.

    A record is found by its id or, for a key of the catalogue, by what it is a record of. Glue is not counted.
    """
    owned = own_parts(workshop)
    by_record: dict[str, Need] = {}
    lines = []
    for need in motor_needs(design, assembly or assemble(design)):
        part_id = record_of(owned, need.key, need.material)
        if part_id is None:
            lines.append(CostLine(what=_names(need), part_id=None, cost=None))
        else:
            by_record[part_id] = _together(by_record.get(part_id), need)
    held = stock_of(workshop, owned).standings
    for part_id, need in by_record.items():
        priced = _cost(owned.parts[part_id].record, part_id, need, design, today, held[part_id].amount)
        lines.append(CostLine(what=_names(need), part_id=part_id, cost=priced))
    return _summed(lines)


def _together(first: Need | None, second: Need) -> Need:
    if first is None:
        return second
    return replace(
        first,
        names=(*first.names, *second.names),
        pieces=_sum(first.pieces, second.pieces),
        metres=_sum(first.metres, second.metres),
        grams=_sum(first.grams, second.grams),
    )


def _sum(a: float | None, b: float | None) -> float | None:
    return None if a is None and b is None else (a or 0.0) + (b or 0.0)


def _names(need: Need) -> str:
    return ", ".join(need.names)


def _cost(
    record: PartRecord, part_id: str, need: Need, design: Design, today: dt.date, stock: float | None
) -> Cost | None:
    wire = None if design.coil is None or need.metres is None else design.coil.wire
    try:
        amount = in_pack_unit(record, wire=wire, metres=need.metres, grams=need.grams, pieces=need.pieces)
    except InputError:  # a print sold by the piece, say: what it takes of that is not known
        return None
    return cost(record, amount, today, part_id=part_id, stock=stock)


def _summed(lines: list[CostLine]) -> DesignCost:
    used: dict[str, float] = {}
    to_pay: dict[str, float] = {}
    for line in lines:
        if line.cost is not None and line.cost.used is not None and line.cost.currency is not None:
            used[line.cost.currency] = used.get(line.cost.currency, 0.0) + line.cost.used
            to_pay[line.cost.currency] = to_pay.get(line.cost.currency, 0.0) + (line.cost.to_pay or 0.0)
    missing = tuple(line.what for line in lines if not line.known)
    verdicts = [v for line in lines if line.cost is not None for v in line.cost.verdicts]
    if missing:
        verdicts.append(Verdict(
            code="cost-incomplete", severity=Severity.NOTE, data={"missing": list(missing)},
            text=f"The cost leaves out {', '.join(missing)}: no record in parts/ says a price.",
            remedy="Add a part with price, currency and pack size, and name it in the design.",
        ))  # fmt: skip
    return DesignCost(lines=tuple(lines), used=used, to_pay=to_pay, missing=missing, verdicts=tuple(verdicts))
