"""What the parts of a design cost: by the maker's own records only. An unknown price is said, never taken for nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.types import Filament, StockPart
from halfroll.motor.coil.wound import wind
from halfroll.motor.heat.masses import mass_kg
from halfroll.motor.placing.design import Design
from halfroll.motor.placing.stack import assemble
from halfroll.motor.types import Assembly, Filler
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.part_cost import Cost, cost, in_pack_unit
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import own_parts

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


@dataclass(frozen=True, kw_only=True)
class _Need:
    """What is needed of one record: names in the design, amounts by unit."""

    names: tuple[str, ...]
    pieces: float | None = None
    metres: float | None = None
    grams: float | None = None


def cost_of(
    workshop: Workshop, design: Design, today: dt.date, assembly: Assembly | None = None
) -> DesignCost:
    """What motor and coil cost: bought parts by the piece, wire by its length with spare, prints by their mass.

    A record is found by its id or, for a key of the catalogue, by what it is a record of. Glue is not counted.
    """
    owned = own_parts(workshop)
    by_record: dict[str, _Need] = {}
    lines = []
    for key, material, need in _needs(design, assembly or assemble(design)):
        part_id = _record_of(key, material, owned.parts, owned.catalogue)
        if part_id is None:
            lines.append(CostLine(what=_names(need), part_id=None, cost=None))
        else:
            by_record[part_id] = _together(by_record.get(part_id), need)
    for part_id, need in by_record.items():
        record = owned.parts[part_id].record
        lines.append(
            CostLine(what=_names(need), part_id=part_id, cost=_cost(record, part_id, need, design, today))
        )
    return _summed(lines)


def _needs(design: Design, assembly: Assembly) -> Iterator[tuple[str | None, str, _Need]]:
    """Everything that is needed, with the key of what it is bought as and that of its material."""
    for part in design.motor.parts:
        body = assembly.body(part.name)
        if part.part is None and isinstance(body.matter, Filler):
            yield part.material.key, part.material.key, _Need(names=(part.name,), grams=1e3 * mass_kg(body))
        else:
            yield part.part, part.material.key, _Need(names=(part.name,), pieces=1.0)
    if design.coil is not None:
        wound = wind(design.coil)
        metres = wound.wire_to_buy_m
        yield design.coil.wire.key, design.coil.wire.key, _Need(names=("wire",), metres=metres)
        former = design.coil.former
        grams = 1e3 * wound.masses.former
        yield (
            former.key,
            former.key,
            _Need(names=("former",), grams=grams)
            if isinstance(former, Filament)
            else _Need(names=("former",)),
        )


def _record_of(
    key: str | None, material: str, own: Mapping[str, Loaded[PartRecord]], known: Catalogue
) -> str | None:
    """Id of the record something is bought by: the key itself, else one that is of that key of the catalogue or that material, one
    with a price if there is such.
    """
    if key is None or key in own:
        return key
    found = [id_ for id_, loaded in own.items() if _sells(loaded.record, known.parts[id_], key, material)]
    return min(found, key=lambda id_: own[id_].record.price is None, default=None)


def _sells(record: PartRecord, part: StockPart, key: str, material: str) -> bool:
    """Whether a record is one of a key of the catalogue; of another material it is something else, such as another grade."""
    if record.type == "filament" and part.material == key:
        return True
    return part.wire == key or (record.catalogue == key and record.material in (None, material))


def _together(first: _Need | None, second: _Need) -> _Need:
    if first is None:
        return second
    return _Need(
        names=(*first.names, *second.names),
        pieces=_sum(first.pieces, second.pieces),
        metres=_sum(first.metres, second.metres),
        grams=_sum(first.grams, second.grams),
    )


def _sum(a: float | None, b: float | None) -> float | None:
    return None if a is None and b is None else (a or 0.0) + (b or 0.0)


def _names(need: _Need) -> str:
    return ", ".join(need.names)


def _cost(record: PartRecord, part_id: str, need: _Need, design: Design, today: dt.date) -> Cost | None:
    wire = None if design.coil is None or need.metres is None else design.coil.wire
    try:
        amount = in_pack_unit(record, wire=wire, metres=need.metres, grams=need.grams, pieces=need.pieces)
    except InputError:  # a print sold by the piece, say: what it takes of that is not known
        return None
    return cost(record, amount, today, part_id=part_id)


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
