"""Calibrations of the workshop's filaments: what there is, what a new one would change, and saved whole or not at all.

A filament of the catalogue that is calibrated becomes a record of one's own under the same key, so every version that names it follows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.materials.calibrate.types import Creep, Estimate
from halfroll.materials.catalogue import catalogue, nearest
from halfroll.materials.types import Filament
from halfroll.workshop import paths
from halfroll.workshop.calibrated import Calibrated, calibrated
from halfroll.workshop.calibration_record import CalibrationTable
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.material_record import FilamentTable, MaterialRecord
from halfroll.workshop.own_materials import calibrated_of
from halfroll.workshop.parts import add_material, load_material, lookups, material_ids, save_material

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class OwnFilament:
    """A filament with its calibrations; `loaded` is its record, None while it is only in the catalogue."""

    key: str
    calibrated: Calibrated
    loaded: Loaded[MaterialRecord] | None = None

    @property
    def filament(self) -> Filament:
        """What every version that names it is given."""
        return self.calibrated.filament


@dataclass(frozen=True, kw_only=True)
class Trial:
    """What a calibration says by itself, and the filament without and with it."""

    result: Estimate | Creep
    before: OwnFilament
    after: OwnFilament


def filament_of(workshop: Workshop, key: str, *, like: str | None = None) -> OwnFilament:
    """A filament of the workshop or of the catalogue with all its calibrations.

    Parameters
    ----------
    like
        For a key that is not there yet: the filament of the catalogue it starts from.

    Raises
    ------
    InputError
        There is no such filament, it is some other material, or its record is at fault.
    """
    shipped = catalogue()
    if key in material_ids(workshop):
        loaded = load_material(workshop, key)
        if loaded.record.filament is None:
            raise InputError(
                "Only filaments are calibrated", file=str(loaded.path), found=f"{key}, a {loaded.record.what}"
            )
        return OwnFilament(
            key=key, loaded=loaded, calibrated=calibrated_of(key, loaded.record, loaded.path, shipped)
        )
    if key in shipped.filaments and like is None:
        return OwnFilament(key=key, calibrated=calibrated(shipped.filaments[key], ()))
    if like is not None:
        record = _new_record(key, like, "")
        path = paths.material_path(workshop.folder, key)
        return OwnFilament(key=key, calibrated=calibrated_of(key, record, path, shipped))
    known = lookups(workshop).filaments
    raise InputError("There is no filament of that key", found=key, allowed=nearest(known, key) or sorted(known),
                     remedy="Name the filament of the catalogue it is like, and it is made: --like tpu-95a")  # fmt: skip


def filaments(workshop: Workshop) -> dict[str, OwnFilament]:
    """All filaments by key, own ones first; one whose record is at fault is left out."""
    found: dict[str, OwnFilament] = {}
    for key in (*material_ids(workshop), *catalogue().filaments):
        if key not in found:
            try:
                found[key] = filament_of(workshop, key)
            except InputError:
                continue
    return found


def try_calibration(
    workshop: Workshop, key: str, table: CalibrationTable, *, like: str | None = None
) -> Trial:
    """What a calibration would say and change; nothing is saved.

    Raises
    ------
    InputError
        There is no such filament, or the readings cannot be; the key of the reading is named.
    """
    before = filament_of(workshop, key, like=like if key not in material_ids(workshop) else None)
    tables = (*before.calibrated.tables, table)
    after = calibrated(before.calibrated.start, tables)
    result = after.results[-1]
    return Trial(result=result, before=before, after=replace(before, calibrated=after))


def add_calibration(
    workshop: Workshop,
    key: str,
    table: CalibrationTable,
    *,
    like: str | None = None,
    title: str = "",
    loaded: Loaded[MaterialRecord] | None = None,
) -> OwnFilament:
    """Save a calibration with its readings in the filament's record, which is made when there is none.

    Parameters
    ----------
    loaded
        The record as it was when the readings were typed in; by default as it is now.

    Raises
    ------
    InputError
        As for `try_calibration`.
    ConflictError
        The record was changed meanwhile; it is left as it is.
    """
    trial = try_calibration(workshop, key, table, like=like)
    there = loaded or trial.before.loaded
    if there is None:
        record = _new_record(key, like or key, title, (table,))
        add_material(workshop, key, record)
    else:
        save_material(
            workshop, there, with_calibrations(there.record, (*calibrations_in(there.record), table))
        )
    return filament_of(workshop, key)


def use_calibration(
    workshop: Workshop, loaded: Loaded[MaterialRecord], number: int, *, used: bool
) -> OwnFilament:
    """Let a calibration (counted from 1) count or not; its readings stay in the record.

    Raises
    ------
    InputError
        There is no such calibration.
    ConflictError
        The record was changed meanwhile.
    """
    tables = calibrations_in(loaded.record)
    if not 1 <= number <= len(tables):
        raise InputError("There is no calibration of that number", file=str(loaded.path), found=str(number),
                         allowed=f"1 to {len(tables)}" if tables else "it has none")  # fmt: skip
    changed = [
        table.changed(used=used) if place == number else table for place, table in enumerate(tables, 1)
    ]
    save_material(workshop, loaded, with_calibrations(loaded.record, changed))
    return filament_of(workshop, loaded.id)


def calibrations_in(record: MaterialRecord) -> tuple[CalibrationTable, ...]:
    """The calibrations of a filament's record."""
    assert record.filament is not None
    return record.filament.calibrations


def with_calibrations(record: MaterialRecord, tables: Sequence[CalibrationTable]) -> MaterialRecord:
    """The record with other calibrations."""
    assert record.filament is not None
    return record.changed(filament=record.filament.changed(calibrations=tuple(tables)))


def _new_record(key: str, like: str, title: str, tables: tuple[CalibrationTable, ...] = ()) -> MaterialRecord:
    if not title and like != key:
        known = catalogue().filaments.get(like)
        title = f"{key}, like {known.title}" if known is not None else key
    return MaterialRecord(title=title, filament=FilamentTable(like=like, calibrations=tables))


def versions_using(workshop: Workshop, contents: Contents | None = None) -> dict[str, tuple[str, ...]]:
    """By the key of a material, the ids of versions whose records name it, or name a spool of it."""
    contents = contents or read_contents(workshop.folder, workshop.index)
    spools = {
        key: one.material or one.catalogue for key, one in contents.parts.items() if one.type == "filament"
    }
    found: dict[str, list[str]] = {}
    for version_id, record in contents.versions.items():
        for named in dict.fromkeys(_materials_in(record)):
            found.setdefault(spools.get(named) or named, []).append(version_id)
    return {key: tuple(dict.fromkeys(ids)) for key, ids in found.items()}


def _materials_in(value: Any) -> Iterator[str]:
    """Every key under `material` or `former_material` in a record's tables."""
    if isinstance(value, list | tuple):
        for one in value:
            yield from _materials_in(one)
        return
    if not hasattr(type(value), "model_fields"):
        return
    for key, inner in value:
        if isinstance(inner, str) and key in ("material", "former_material"):
            yield inner
        elif not isinstance(inner, str | bytes):
            yield from _materials_in(inner)
