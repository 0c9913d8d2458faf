"""What of a driver is printed: from its models, from what a slicer or a scale says, and what is only written down."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from halfroll.builds.bill.shapes import digest, jig_shape, shape_of
from halfroll.builds.types import BillLine
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.suspension.diaphragm.mass import SCALE_U_KG
from halfroll.suspension.models.filament import FLOW_U, filament_use
from halfroll.suspension.models.model import Model
from halfroll.workshop.bill_record import BillTable, PrintedTable
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.models import printing_of, version_models
from halfroll.workshop.part_needs import record_of
from halfroll.workshop.part_record import PackUnit
from halfroll.workshop.parts import OwnParts
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspensions import MovingTables

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

SPEED_M_S = 30e-3
"""How fast a printer lays lines of thin parts on the whole, travel and turns included (common practice; soft filaments are no faster).
Only used where nobody typed the slicer's hours; the estimate may be off by half."""

TYPED_U = FLOW_U
"""Grams a slicer tells are what the printer should lay down."""


@dataclass(frozen=True, kw_only=True)
class Prints:
    """Lines of prints, and what the bill says of lines of the design by their key."""

    lines: tuple[BillLine, ...]
    changed: Mapping[str, dict[str, Any]] = field(default_factory=dict)


def print_lines(
    workshop: Workshop, loaded: Loaded[VersionRecord], owned: OwnParts, stated: BillTable, *, known: Sequence[str], progress: Progress = silent
) -> tuple[Prints, list[BillLine]]:  # fmt: skip
    """Prints that go into every driver, and those that are made once: the jigs.

    `known` are keys of lines that the motor's and the coil's design gave already; a line of the bill with such a name changes its grams
    and hours.
    """
    models = _models(workshop, loaded, progress)
    typed = _typed(stated)
    names = {one.name for one in models}
    if "jig" in typed and (jigs := sorted(name for name in names if name.startswith("jig-"))):
        typed[jigs[0]] = typed.pop("jig")
    shapes = _shapes(workshop, loaded) if models else {}
    made = [
        _of_model(one, shapes[one.name], typed.get(one.name), owned) for one in models if one.name != "former"
    ]
    changed = {name: _told(table) for name, table in typed.items() if name in known}
    loose = [
        _loose(name, table, n, owned)
        for n, (name, table) in enumerate(typed.items(), 1)
        if name not in names and name not in known
    ]
    parts = [*(one for one in made if not one.key.startswith("jig-")), *loose]
    return Prints(lines=tuple(parts), changed=changed), [one for one in made if one.key.startswith("jig-")]


def _models(workshop: Workshop, loaded: Loaded[VersionRecord], progress: Progress) -> tuple[Model, ...]:
    record = loaded.record
    if not MovingTables.of(record).any and (record.motor is None or record.coil is None):
        return ()
    return version_models(workshop, loaded.id, progress=progress)


def _shapes(workshop: Workshop, loaded: Loaded[VersionRecord]) -> dict[str, str]:
    what = printing_of(workshop, loaded.id)
    parts = ("surround", "spider", "cone", "cap", "former")
    found = {name: shape_of(part) for name in parts if (part := getattr(what.design, name)) is not None}
    if what.jig is not None:
        found |= {name: jig_shape(what.jig, name) for name in ("jig-inner", "jig-outer")}
    return found


def _typed(stated: BillTable) -> dict[str, PrintedTable]:
    found: dict[str, PrintedTable] = {}
    for n, one in enumerate(stated.printed, 1):
        if one.name in found:
            raise InputError("Each printed part must stand in the bill once", key=f"bill.printed[{n}].name", found=one.name,
                             remedy="Say how many there are with pieces")  # fmt: skip
        found[one.name] = one
    return found


def _of_model(model: Model, shape: str, told: PrintedTable | None, owned: OwnParts) -> BillLine:
    """A print of the design: computed grams, unless the bill, a scale or the slicer says others."""
    use = filament_use(model)
    grams, u, source = 1e3 * use.mass_kg, 1e3 * use.mass_u_kg, "computed"
    if use.slicer_kg is not None:
        grams, u, source = 1e3 * use.slicer_kg, 1e3 * FLOW_U * use.slicer_kg, "slicer"
    if use.weighed_kg is not None:
        grams, u, source = 1e3 * use.weighed_kg, 1e3 * SCALE_U_KG, "weighed"
    if told is not None and told.grams is not None:
        grams, u, source = told.grams, TYPED_U * told.grams, "slicer"
    pieces = 1 if told is None else told.pieces
    material = (told.material if told is not None else None) or model.material.key
    hours, hours_source = _hours(told, model.print.line_width_m * model.print.layer_m, use.volume_m3)
    part_id, unit, amount, u = _sold(material, pieces * grams, pieces * u, owned)
    return BillLine(
        key=model.name, what=model.title[:1].lower() + model.title[1:], kind="printed", part_id=part_id, amount=amount, unit=unit, shape=shape,
        hours=pieces * hours, hours_source=hours_source, pieces=float(pieces), u_amount=u, source=source,
    )  # fmt: skip


def _hours(told: PrintedTable | None, line_m2: float, volume_m3: float) -> tuple[float, str]:
    """Hours for one piece: typed, else as long as the line is over the usual speed."""
    if told is not None and told.hours is not None:
        return told.hours, "typed"
    return volume_m3 / (line_m2 * SPEED_M_S) / 3600.0, "estimated"


def _told(told: PrintedTable) -> dict[str, Any]:
    """What the bill says of a print that the motor's or the coil's design has."""
    found: dict[str, Any] = {}
    if told.hours is not None:
        found |= {"hours": told.pieces * told.hours, "hours_source": "typed"}
    if told.grams is not None:
        found |= {
            "amount": told.pieces * told.grams,
            "u_amount": TYPED_U * told.pieces * told.grams,
            "source": "slicer",
        }
    return found


def _loose(name: str, told: PrintedTable, n: int, owned: OwnParts) -> BillLine:
    """A print the design does not know."""
    for key in ("material", "grams"):
        if getattr(told, key) is None:
            raise InputError(f"{key} must be stated of a printed part that the design does not know", key=f"bill.printed[{n}].{key}",
                             found=f"nothing for {name}")  # fmt: skip
    assert told.material is not None
    assert told.grams is not None
    _check_material(told.material, n, owned)
    part_id, unit, amount, u = _sold(
        told.material, told.pieces * told.grams, TYPED_U * told.pieces * told.grams, owned
    )
    hours = None if told.hours is None else told.pieces * told.hours
    return BillLine(
        key=name, what=name if told.pieces == 1 else f"{name}, {told.pieces} pieces", kind="printed", part_id=part_id, amount=amount,
        unit=unit, shape=digest((name, part_id or told.material, round(told.grams, 4), told.how)), hours=hours,
        hours_source="" if hours is None else "typed", pieces=float(told.pieces), u_amount=u, source="typed",
    )  # fmt: skip


def _check_material(key: str, n: int, owned: OwnParts) -> None:
    """Refuse what is neither a filament nor a part."""
    from halfroll.materials.catalogue import found_in
    from halfroll.workshop.parts import current_id

    if current_id(owned, key) not in owned.parts:
        found_in(owned.catalogue.filaments, key, "filament", key=f"bill.printed[{n}].material")


def _sold(
    material: str, grams: float, u: float, owned: OwnParts
) -> tuple[str | None, PackUnit, float, float]:
    """Grams by the spool they come from; without one that is sold by mass just as grams."""
    part_id = record_of(owned, material, material)
    if part_id is None or owned.parts[part_id].record.pack_unit != "g" or not math.isfinite(grams):
        return None, "g", grams, u
    return part_id, "g", grams, u
