"""What one driver of a version takes: bought parts, wire, prints and glue, each with where its amount comes from.

Bought parts and wire come from the design of motor and coil just as its cost does (`workshop.part_needs`), prints from the models
that are printed, the rest from ``[bill]``. Grams a slicer or a scale tells go before computed ones.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from halfroll.builds.bill.glue import glue_lines
from halfroll.builds.bill.prints import print_lines
from halfroll.builds.bill.seams import Seam, seams_of
from halfroll.builds.bill.shapes import body_shape, coil_shape
from halfroll.builds.types import BillLine
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import format_stated
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.catalogue import nearest
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.placing.design import Design
from halfroll.motor.types import Assembly
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.motor_design import coil_of, in_record
from halfroll.workshop.motors import load_motor
from halfroll.workshop.part_cost import in_pack_unit
from halfroll.workshop.part_needs import Need, coil_needs, motor_needs, record_of
from halfroll.workshop.part_record import PackUnit
from halfroll.workshop.parts import OwnParts, current_id, own_parts
from halfroll.workshop.records import BillTable, VersionRecord
from halfroll.workshop.suspensions import MovingTables

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

WIRE_U, FORMER_U = 0.02, 0.02
"""Relative standard uncertainty of a wire's length and a former's mass from the coil's design (turns by hand; own estimate)."""

WIRE = "coil wire"


@dataclass(frozen=True, kw_only=True)
class Amounts:
    """What one driver takes.

    `lines` go into every driver, `tools` are made once for any number of them. `seams` tell what is glued to what. `work_hours` is
    None where nobody said.
    """

    version: Loaded[VersionRecord]
    lines: tuple[BillLine, ...]
    tools: tuple[BillLine, ...]
    seams: tuple[Seam, ...]
    work_hours: float | None
    verdicts: tuple[Verdict, ...] = field(default=())

    def line(self, key: str) -> BillLine | None:
        """The line of a key; None where there is none."""
        return next((one for one in self.lines if one.key == key), None)


def amounts_of(
    workshop: Workshop, version_id: str, *, owned: OwnParts | None = None, progress: Progress = silent
) -> Amounts:
    """What one driver of a version takes.

    Raises
    ------
    InputError
        There is no such version, it has neither a design nor a bill, or what it says cannot be; with file, key and line.
    """
    owned = owned or own_parts(workshop)
    loaded = workshop.version(version_id)
    record, stated = loaded.record, loaded.record.bill or BillTable()
    motor = None if record.motor is None else load_motor(workshop, version_id)
    with in_record(loaded):
        coil = _coil(loaded, motor.design if motor else None, owned)
        _need_something(loaded, motor is not None or coil is not None)
        lines = [] if motor is None else list(_motor_lines(motor.design, motor.assembly, owned))
        lines += [] if coil is None else list(_coil_lines(coil, owned))
        prints, tools = print_lines(
            workshop, loaded, owned, stated, known=tuple(one.key for one in lines), progress=progress
        )
        lines = [
            replace(one, **override) if (override := prints.changed.get(one.key)) else one for one in lines
        ]
        lines += prints.lines
        lines += _bought_lines(stated, owned)
        lines = _told_apart(lines)
        seams = seams_of(record, stated, motor.design if motor else None, tuple(one.key for one in lines))
        lines = _told_apart([*lines, *glue_lines(record, stated, coil, owned)])
    return Amounts(version=loaded, lines=tuple(lines), tools=tuple(tools), seams=seams, work_hours=stated.work_hours,
                   verdicts=tuple(_unit_verdicts(lines, owned)))  # fmt: skip


def _need_something(loaded: Loaded[VersionRecord], designed: bool) -> None:
    record = loaded.record
    if (
        designed
        or MovingTables.of(record).any
        or (record.bill and (record.bill.bought or record.bill.printed or record.bill.glued))
    ):
        return
    raise InputError(
        f"The version {loaded.id} has neither a design nor a bill", key="bill", found="no table [motor], [cone] or [bill]",
        remedy="Design its motor and suspension, or write what it is made of into [bill]",
    )  # fmt: skip


def _coil(loaded: Loaded[VersionRecord], design: Design | None, owned: OwnParts) -> CoilDesign | None:
    """The coil, which may be designed without a motor."""
    if design is not None or loaded.record.coil is None:
        return None if design is None else design.coil
    return coil_of(loaded.record.coil, owned.catalogue)


def _motor_lines(design: Design, assembly: Assembly, owned: OwnParts) -> Iterator[BillLine]:
    for need in motor_needs(replace(design, coil=None), assembly):
        (name,) = need.names
        part_id = record_of(owned, need.key, need.material)
        amount, unit, part_id = _amount(need, part_id, owned, None)
        shape = part_id if part_id and need.kind == "part" else body_shape(assembly.body(name), need.material)
        yield BillLine(
            key=name, what=name, kind="bought" if need.kind == "part" else "printed", part_id=part_id, amount=amount, unit=unit,
            shape=shape, source="design" if need.kind == "part" else "computed",
        )  # fmt: skip


def _coil_lines(coil: CoilDesign, owned: OwnParts) -> Iterator[BillLine]:
    shape = coil_shape(coil)
    for need in coil_needs(coil):
        part_id = record_of(owned, need.key, need.material)
        amount, unit, part_id = _amount(need, part_id, owned, coil)
        wire = need.kind == "wire"
        printed = not wire and not getattr(coil.former, "sheet", True)
        what = f"{WIRE}, {coil.wire.title}" if wire else f"former, {coil.former.title}"
        yield BillLine(
            key=WIRE if wire else "former", what=what, kind="wire" if wire else "printed" if printed else "bought", part_id=part_id,
            amount=amount, unit=unit, shape=shape, u_amount=(WIRE_U if wire else FORMER_U) * amount, source="computed",
        )  # fmt: skip


def _amount(
    need: Need, part_id: str | None, owned: OwnParts, coil: CoilDesign | None
) -> tuple[float, PackUnit, str | None]:
    """Amount and unit as the part is sold; in its own unit, and without a part, where that cannot be told."""
    if part_id is not None:
        record = owned.parts[part_id].record
        wire = None if coil is None or need.metres is None else coil.wire
        try:
            amount = in_pack_unit(record, wire=wire, metres=need.metres, grams=need.grams, pieces=need.pieces)
            return amount, record.pack_unit, part_id
        except InputError:
            pass  # sold in a unit that says nothing of this amount: as good as no record
    own: tuple[tuple[float | None, PackUnit], ...] = (
        (need.pieces, "pieces"),
        (need.metres, "m"),
        (need.grams, "g"),
    )
    return *next(((a, u) for a, u in own if a is not None), (1.0, "pieces")), None


def _bought_lines(stated: BillTable, owned: OwnParts) -> Iterator[BillLine]:
    for n, one in enumerate(stated.bought, 1):
        part_id = current_id(owned, one.part)
        if part_id not in owned.parts:
            raise InputError("There is no part of that id in parts/", key=f"bill.bought[{n}].part", found=one.part,
                             allowed=nearest(owned.parts, one.part) or list(owned.parts)[:12] or "there is no part yet",
                             remedy=f"Add it with: halfroll parts add {one.part}")  # fmt: skip
        record = owned.parts[part_id].record
        if record.pack_unit == "pieces" and one.amount != int(one.amount):
            raise InputError("A part that is sold by the piece must be needed in whole pieces", key=f"bill.bought[{n}].amount",
                             found=format_stated(one.amount, ""))  # fmt: skip
        title = record.title or part_id
        yield BillLine(
            key=one.use or part_id, what=f"{one.use}, {title}" if one.use else title, kind="bought", part_id=part_id, amount=one.amount,
            unit=record.pack_unit, shape=part_id, pieces=one.amount if record.pack_unit == "pieces" else 1.0, source="typed",
        )  # fmt: skip


def _told_apart(lines: list[BillLine]) -> list[BillLine]:
    """Lines of one name are numbered from the second on."""
    seen: dict[str, int] = {}
    found = []
    for line in lines:
        seen[line.key] = n = seen.get(line.key, 0) + 1
        found.append(line if n == 1 else replace(line, key=f"{line.key} {n}"))
    return found


def _unit_verdicts(lines: list[BillLine], owned: OwnParts) -> Iterator[Verdict]:
    """What is said of lines without a record."""
    missing = [line.key for line in lines if line.part_id is None]
    broken = [str(fault) for fault in owned.part_faults.values()]
    if missing:
        yield Verdict(
            code="cost-incomplete", severity=Severity.CAUTION if broken else Severity.NOTE, data={"missing": missing, "unreadable": broken},
            text=f"The cost leaves out {', '.join(missing)}: no record in parts/ {'that can be read ' if broken else ''}says a price.",
            remedy=f"First put right what cannot be read: {' '.join(broken)}" if broken else
            "Add a part with price, currency and pack size, and name it in the design or the bill.",
        )  # fmt: skip
