"""Kits of a workshop: ``kits/<id>.toml`` read, made, saved, and what they name looked up."""

from __future__ import annotations

from collections.abc import Iterator

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import nearest
from halfroll.workshop import paths, tree
from halfroll.workshop.faults import asked_by, fault_at
from halfroll.workshop.kit_record import KitRecord
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.parts import OwnParts, current_id, own_parts
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_lines import KeyPath, dotted
from halfroll.workshop.toml_read import read_record


def kit_ids(workshop: Workshop) -> list[str]:
    """Ids of all kits."""
    return tree.records_in(workshop.folder, "kits")


def load_kit(workshop: Workshop, kit_id: str) -> Loaded[KitRecord]:
    """The record of a kit; `InputError` with the nearest ids when there is no such."""
    path = paths.kit_path(workshop.folder, kit_id)
    if not path.exists():
        known = kit_ids(workshop)
        raise InputError("There is no such kit", found=repr(kit_id), allowed=nearest(known, kit_id) or known or "none yet",
                         remedy="Make one with halfroll kits new, or on the page /kits")  # fmt: skip
    return read_record(path, KitRecord, kit_id)


def all_kits(workshop: Workshop) -> tuple[list[Loaded[KitRecord]], list[InputError]]:
    """Every kit that can be read, and the faults of the others."""
    known: list[Loaded[KitRecord]] = []
    faults: list[InputError] = []
    for kit_id in kit_ids(workshop):
        try:
            known.append(load_kit(workshop, kit_id))
        except InputError as fault:
            faults.append(fault)
    return known, faults


def add_kit(workshop: Workshop, kit_id: str, record: KitRecord) -> Loaded[KitRecord]:
    """A new kit; the versions and parts it names must be there."""
    path = paths.kit_path(workshop.folder, kit_id)
    owned = own_parts(workshop)
    for one in record.drivers:
        workshop.existing(one.version, "version", key="drivers")
    for key, part in _parts_named(record):
        if current_id(owned, part) not in owned.parts:
            raise _unknown(owned, part, dotted(key))
    return workshop.create_record(path, kit_id, record)


def check_names(workshop: Workshop, loaded: Loaded[KitRecord], owned: OwnParts) -> None:
    """Refuse a kit that names a version or a part that is not there; with file, key and line."""
    for n, one in enumerate(loaded.record.drivers):
        key: KeyPath = ("drivers", n, "version")
        try:
            with asked_by(dotted(key)):
                workshop.existing(one.version, "version")
        except InputError as fault:
            raise fault_at(
                loaded.path, key, "There is no such version", found=one.version, allowed=fault.allowed
            ) from fault
    for key, part in _parts_named(loaded.record):
        if current_id(owned, part) not in owned.parts:
            bare = _unknown(owned, part, "")
            raise fault_at(
                loaded.path, key, bare.message, found=part, allowed=bare.allowed, remedy=bare.remedy
            )


def _parts_named(record: KitRecord) -> Iterator[tuple[KeyPath, str]]:
    for key in ("extras", "spares"):
        for n, one in enumerate(getattr(record, key)):
            yield (key, n, "part"), one.part


def _unknown(owned: OwnParts, part: str, key: str) -> InputError:
    known = [*owned.parts, *owned.renamed]
    return InputError("There is no such part of your own", key=key or None, found=part,
                      allowed=nearest(known, part) or known[:12] or "there is none yet",
                      remedy="Add it under Parts, or mend the name")  # fmt: skip
