"""Grams of glue: of seams by their bead, of the coil by its design, of the moving parts by what was written down."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfroll.builds.types import BillLine
from halfroll.core.errors import InputError
from halfroll.materials.glue import GLUES, Glue
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.wound import wind
from halfroll.workshop.bill_record import BillTable, GluedTable
from halfroll.workshop.parts import OwnParts, current_id
from halfroll.workshop.records import VersionRecord

BEAD_U = 0.15
"""Relative standard uncertainty of the width of a bead laid by hand; its section goes with the square (common practice)."""

GRAMS_U = 0.1
"""Of grams of glue somebody wrote down (own estimate)."""

COIL_U, STATED_U = 0.6, 0.2
"""Of the glue in a coil (see `motor.coil.wound`) and of glue of the moving parts from experience (see `suspension.diaphragm.mass`)."""

COIL_GLUE, JOINT_GLUE = "coil glue", "joint glue"


def glue_lines(
    record: VersionRecord, stated: BillTable, coil: CoilDesign | None, owned: OwnParts
) -> Iterator[BillLine]:
    """Glue of the coil, and of the seams that are written down; without any the grams in the joints of the moving parts."""
    if coil is not None and coil.glue is not None:
        grams = 1e3 * wind(coil).masses.glue
        yield _line(
            COIL_GLUE,
            f"glue of the coil, {coil.glue.title}",
            coil.glue.key,
            grams,
            COIL_U * grams,
            "computed",
            owned,
        )
    for n, one in enumerate(stated.glued, 1):
        yield _seam(one, n, owned)
    if not stated.glued and record.moving is not None and record.moving.glue_g > 0.0:
        grams = record.moving.glue_g
        yield _line(
            JOINT_GLUE, "glue in the joints of the moving parts", "", grams, STATED_U * grams, "design", owned
        )


def bead_grams(length_mm: float, bead_mm: float, density_kg_m3: float) -> float:
    """Mass (g) of a bead of circular section: π/4 · width² · length · density."""
    return 0.25 * math.pi * bead_mm**2 * length_mm * 1e-6 * density_kg_m3


def _seam(one: GluedTable, n: int, owned: OwnParts) -> BillLine:
    key = f"bill.glued[{n}].glue"
    part_id, glue = _glue(one.glue, key, owned)
    if one.grams is not None:
        return _line(
            one.seam, f"glue, {one.seam}", part_id or one.glue, one.grams, GRAMS_U * one.grams, "typed", owned
        )
    if glue is None:
        raise InputError("The part must say which glue it is, for its density, or the seam its grams", key=key, found=one.glue,
                         remedy=f'Add glue = "epoxy" or the like to parts/{part_id}.toml')  # fmt: skip
    assert one.length_mm is not None
    assert one.bead_mm is not None
    grams = bead_grams(one.length_mm, one.bead_mm, glue.density_kg_m3)
    return _line(
        one.seam, f"glue, {one.seam}", part_id or one.glue, grams, 2.0 * BEAD_U * grams, "computed", owned
    )


def _glue(key: str, place: str, owned: OwnParts) -> tuple[str | None, Glue | None]:
    """The part and the kind of glue that a key means."""
    part_id = current_id(owned, key)
    if part_id in owned.parts:
        kind = owned.parts[part_id].record.glue
        return part_id, None if kind is None else GLUES[kind]
    if key in GLUES:
        return _sold_as(key, owned), GLUES[key]
    bottles = [id_ for id_, one in owned.parts.items() if one.record.type == "glue"]
    raise InputError(
        "The glue must be a part or a kind of glue", key=place, found=key, allowed=[*bottles, *GLUES]
    )


def _sold_as(kind: str, owned: OwnParts) -> str | None:
    """The part that is a kind of glue, one with a price if there is such."""
    found = [id_ for id_, one in owned.parts.items() if one.record.glue == kind]
    return min(found, key=lambda id_: owned.parts[id_].record.price is None, default=None)


def _line(key: str, what: str, glue: str, grams: float, u: float, source: str, owned: OwnParts) -> BillLine:
    part_id: str | None = glue if glue in owned.parts else _sold_as(glue, owned) if glue else None
    if part_id is not None and owned.parts[part_id].record.pack_unit != "g":
        part_id = None
    return BillLine(
        key=key,
        what=what,
        kind="glue",
        part_id=part_id,
        amount=grams,
        unit="g",
        shape=part_id or glue,
        u_amount=u,
        source=source,
    )
