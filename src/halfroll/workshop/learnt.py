"""Accepting what an update found: the material's record takes it on, every version that names the material follows, and it can be undone.

A modulus becomes a calibration of its filament, which can be left out again. A loss factor, density or creep of a filament and the
remanence of a magnet grade become stated values of a record of one's own, with what stood there before beside them under ``[[updates]]``.
What belongs to the one version (thickness, glue, gap) is not touched: its design says it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.workshop import paths
from halfroll.workshop.calibration_record import CalibrationTable, UpdateTable
from halfroll.workshop.calibrations import calibrations_in, filament_of, with_calibrations
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.material_record import FilamentTable, LearntTable, MagnetTable, MaterialRecord
from halfroll.workshop.parts import add_material, load_material, lookups, material_ids, save_material

if TYPE_CHECKING:
    from halfroll.driver.update.types import Cause
    from halfroll.workshop.store import Workshop
    from halfroll.workshop.update import VersionUpdate

STATED = {"loss": ("loss_factor", "loss_factor_u"), "density": ("density_kg_m3", "density_u_kg_m3"),
          "creep": ("creep_per_decade", "creep_per_decade_u"), "remanence": ("br_t", "br_u_t")}  # fmt: skip
"""Keys of a material's table by the last word of an assumption's key."""

WORDS = {
    "loss_factor": "the loss factor",
    "density_kg_m3": "the density",
    "creep_per_decade": "the creep",
    "br_t": "the remanence",
}


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """One thing taken on: the assumption's key, the material's id, in words what changed, and how to undo it."""

    key: str
    material: str
    words: str
    undo: str


def can_accept(cause: Cause) -> bool:
    """Whether a cause moved and belongs to a material, so that other versions can learn it."""
    one = cause.assumption
    what = one.key.rpartition(".")[2]
    return (
        cause.moved
        and one.shared
        and bool(one.record)
        and (what == "modulus" or what in STATED)
        and cause.u_few < 1.0
    )


def accept(
    workshop: Workshop, found: VersionUpdate, keys: Sequence[str], *, on: dt.date | None = None
) -> tuple[Accepted, ...]:
    """Save what was found of some assumptions, all of them or none.

    Raises
    ------
    InputError
        A key is none of the causes that can be accepted, or it was accepted from this version already.
    ConflictError
        A material's record was changed meanwhile; nothing is saved.
    """
    on = on or dt.date.today()
    allowed = {one.assumption.key: one for one in found.update.causes if can_accept(one)}
    for key in keys:
        if key not in allowed:
            raise InputError("Only what moved and belongs to a material can be accepted", key="--accept", found=key,
                             allowed=list(allowed) or "nothing of this version")  # fmt: skip
    by_material: dict[str, list[Cause]] = {}
    for key in dict.fromkeys(keys):
        by_material.setdefault(allowed[key].assumption.record, []).append(allowed[key])
    planned = [
        _planned(workshop, found.version_id, material, causes, on) for material, causes in by_material.items()
    ]
    done: list[tuple[Loaded[MaterialRecord], MaterialRecord | None]] = []
    try:
        for material, there, record, _ in planned:
            if there is None:
                done.append((add_material(workshop, material, record), None))
            else:
                done.append((save_material(workshop, there, record), there.record))
    except BaseException:  # whole or not at all, also when somebody stops it
        for saved, before in done:
            if before is None:
                saved.path.unlink(missing_ok=True)
            else:
                save_material(workshop, saved, before)
        raise
    return tuple(one for *_, accepted in planned for one in accepted)


def _planned(
    workshop: Workshop, version_id: str, material: str, causes: Sequence[Cause], on: dt.date
) -> tuple[str, Loaded[MaterialRecord] | None, MaterialRecord, list[Accepted]]:
    """A material's record with everything accepted in it, and its record as it is; nothing is saved."""
    there = load_material(workshop, material) if material in material_ids(workshop) else None
    record = there.record if there is not None else _new_record(workshop, material)
    accepted = []
    for cause in causes:
        what = cause.assumption.key.rpartition(".")[2]
        if what == "modulus":
            record = _with_modulus(workshop, record, cause, version_id, on)
            undo = f"halfroll calibrate leave-out {material} {len(calibrations_in(record))}, or on the page /materials/{material}"
        else:
            record = _with_value(record, cause, STATED[what], version_id, on)
            undo = f"halfroll update {version_id} --undo {material}"
        words = f"{cause.assumption.label}: {_ratio(cause)} what was assumed, learnt from {version_id}"
        accepted.append(Accepted(key=cause.assumption.key, material=material, words=words, undo=undo))
    return material, there, record, accepted


def _ratio(cause: Cause) -> str:
    return f"{cause.value / cause.assumption.value:.3g} times"


def _new_record(workshop: Workshop, material: str) -> MaterialRecord:
    known = lookups(workshop)
    title = known.material(material).title
    if material in known.filaments:
        return MaterialRecord(title=title, filament=FilamentTable(like=material))
    if material in known.magnets:
        return MaterialRecord(title=title, magnet=MagnetTable(like=material))
    raise InputError("What was learnt can be kept of filaments and magnet grades", found=material)


def _with_modulus(
    workshop: Workshop, record: MaterialRecord, cause: Cause, version_id: str, on: dt.date
) -> MaterialRecord:
    assert record.filament is not None
    tables = calibrations_in(record)
    if any(one.used and one.update is not None and one.update.version == version_id for one in tables):
        raise InputError("What this version says of the modulus was accepted already", found=cause.assumption.key,
                         remedy=f"Leave the earlier one out first, on the page /materials/{cause.assumption.record}")  # fmt: skip
    one = cause.assumption
    table = CalibrationTable(
        date=on, lines=filament_of(workshop, one.record).filament.modulus_lines, note=f"From the update of {version_id}.",
        update=UpdateTable(version=version_id, assumed_mpa=1e-6 * one.value, assumed_u_percent=100.0 * one.u / one.value,
                           moved_sd=cause.z_few, moved_u_sd=cause.u_few),
    )  # fmt: skip
    return with_calibrations(record, (*tables, table))


def _with_value(
    record: MaterialRecord, cause: Cause, names: tuple[str, str], version_id: str, on: dt.date
) -> MaterialRecord:
    what = record.what
    table = getattr(record, what)
    if any(one.version == version_id and one.key == names[0] for one in record.updates):
        raise InputError("What this version says of it was accepted already", found=cause.assumption.key,
                         remedy=f"Undo the earlier one first: halfroll update {version_id} --undo {cause.assumption.record}")  # fmt: skip
    value, u = cause.value, cause.value_u
    if names[0] == "br_t":  # the assumption is a ratio to the grade's remanence
        base = table.br_t if table.br_t is not None else _grade_br(record)
        value, u = base * cause.value / cause.assumption.value, base * cause.value_u / cause.assumption.value
    entry = LearntTable(date=on, version=version_id, key=names[0], before=getattr(table, names[0]), before_u=getattr(table, names[1]),
                        after=value, after_u=u)  # fmt: skip
    return record.changed(
        **{what: table.changed(**{names[0]: value, names[1]: u})}, updates=(*record.updates, entry)
    )


def _grade_br(record: MaterialRecord) -> float:
    from halfroll.materials.catalogue import catalogue

    assert record.magnet is not None
    assert record.magnet.like is not None
    return catalogue().magnets[record.magnet.like].br_t


def undo(workshop: Workshop, material: str) -> LearntTable:
    """Put back what stood in a material's record before the latest update of it was accepted.

    Raises
    ------
    InputError
        Nothing was accepted there, or the value was changed since.
    ConflictError
        The record was changed meanwhile.
    """
    there = load_material(workshop, material)
    record = there.record
    if not record.updates:
        raise InputError("No update was accepted for this material", file=str(paths.material_path(workshop.folder, material)), found=material,
                         remedy=f"A modulus is left out on the page /materials/{material}")  # fmt: skip
    last, what = record.updates[-1], record.what
    table = getattr(record, what)
    second = next(u for name, u in STATED.values() if name == last.key)
    if getattr(table, last.key) != last.after:
        raise InputError("The value was changed since the update was accepted", file=str(there.path), key=f"{what}.{last.key}",
                         found=f"{getattr(table, last.key)}", remedy="Correct it by hand")  # fmt: skip
    changed: dict[str, Any] = {last.key: last.before, second: last.before_u}
    save_material(
        workshop, there, record.changed(**{what: table.changed(**changed)}, updates=record.updates[:-1])
    )
    return last


def accepted_before(workshop: Workshop, version_id: str) -> list[tuple[str, str, bool]]:
    """What was accepted from a version and still counts: material, what of it, and whether it is a modulus."""
    found = []
    for material in material_ids(workshop):
        try:
            record = load_material(workshop, material).record
        except InputError:  # its own page says what is wrong with it
            continue
        tables = () if record.filament is None else calibrations_in(record)
        found += [
            (material, "the modulus", True)
            for one in tables
            if one.used and one.update is not None and one.update.version == version_id
        ]
        if record.updates and record.updates[-1].version == version_id:
            found.append((material, WORDS[record.updates[-1].key], False))
    return found
