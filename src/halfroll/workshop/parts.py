"""Parts and materials of one's own: what there is, the shipped catalogue with them in it, and what an amount costs.

Catalogue prices do not exist: only the maker's own records say what a part costs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeVar

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue, catalogue, nearest
from halfroll.materials.types import Conductor, Filament, MagnetGrade, Steel, StockPart, Wire
from halfroll.workshop import paths, tree
from halfroll.workshop.faults import fault_at
from halfroll.workshop.fields import Record
from halfroll.workshop.files import make_folder, read_whole, write_whole
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.material_record import MaterialRecord
from halfroll.workshop.own_materials import Made, material_of, part_of, read_bh
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_read import read_record

R = TypeVar("R", bound=Record)
T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class OwnParts:
    """All records in ``parts/`` and ``materials/`` by id, what they describe, and the faults of those that cannot be read.

    `renamed` is the id of a part by each it had before; one that two parts claim is among `part_faults`.
    """

    parts: Mapping[str, Loaded[PartRecord]]
    materials: Mapping[str, Loaded[MaterialRecord]]
    catalogue: Catalogue
    part_faults: Mapping[str, InputError]
    material_faults: Mapping[str, InputError]
    renamed: Mapping[str, str] = field(default_factory=dict)

    @property
    def faults(self) -> list[InputError]:
        """Every fault once."""
        return [*self.part_faults.values(), *self.material_faults.values()]


def part_ids(workshop: Workshop) -> list[str]:
    """Ids of all parts of one's own."""
    return tree.records_in(workshop.folder, "parts")


def material_ids(workshop: Workshop) -> list[str]:
    """Ids of all materials of one's own."""
    return tree.records_in(workshop.folder, "materials")


def load_part(workshop: Workshop, part_id: str) -> Loaded[PartRecord]:
    """The record of a part; `InputError` with the nearest ids when there is no such."""
    return _load(paths.part_path(workshop.folder, part_id), PartRecord, part_id, part_ids(workshop))


def load_material(workshop: Workshop, material_id: str) -> Loaded[MaterialRecord]:
    """The record of a material; `InputError` with the nearest ids when there is no such."""
    path = paths.material_path(workshop.folder, material_id)
    return _load(path, MaterialRecord, material_id, material_ids(workshop))


def add_part(workshop: Workshop, part_id: str, record: PartRecord) -> Loaded[PartRecord]:
    """A new part; its material and catalogue key must exist, and no other part may have or have had its id."""
    path = paths.part_path(workshop.folder, part_id)
    _check_ids(workshop, part_id, record, path)
    part_of(part_id, record, path, lookups(workshop))
    return workshop.create_record(path, part_id, record)


def save_part(workshop: Workshop, loaded: Loaded[PartRecord], record: PartRecord) -> Loaded[PartRecord]:
    """A changed part; `ConflictError` when the file was changed meanwhile."""
    _check_ids(workshop, loaded.id, record, loaded.path)
    part_of(loaded.id, record, loaded.path, lookups(workshop))
    return workshop.save(loaded, record)


def _check_ids(workshop: Workshop, part_id: str, record: PartRecord, path: Path) -> None:
    """Refuse an id that another part had before, and a former id that another part has or had."""
    owned = own_parts(workshop)
    others = {**{id_: id_ for id_ in owned.parts}, **owned.renamed}
    for id_ in (part_id, *record.formerly):
        if (holder := others.get(id_)) not in (None, part_id):
            raise InputError("One part only can be or have been called so", file=str(path), key="formerly", found=f"{id_}, which is {holder}'s",
                             remedy="Choose another name, or take it out of formerly there")  # fmt: skip


def add_material(workshop: Workshop, material_id: str, record: MaterialRecord) -> Loaded[MaterialRecord]:
    """A new material; a B-H file it names must lie in ``materials/`` already."""
    path = paths.material_path(workshop.folder, material_id)
    _free_for(material_id, record, path)
    material_of(material_id, record, path, catalogue())
    return workshop.create_record(path, material_id, record)


def add_steel(
    workshop: Workshop, material_id: str, table: Path, record: MaterialRecord
) -> Loaded[MaterialRecord]:
    """A new steel whose B-H table is copied from a CSV file; `record` is all but the name of the table.

    Raises
    ------
    InputError
        The table is no magnetisation curve (the line is named), or there is a material of that id, or a file of the table's
        name, already.
    """
    read_bh(table)
    path = paths.material_path(workshop.folder, material_id)
    _free_for(material_id, record, path)
    copied = path.with_suffix(".csv")
    if path.exists() or copied.exists():
        raise InputError(f"There is a material {material_id} already", file=str(path if path.exists() else copied),
                         remedy="Choose another name")  # fmt: skip
    make_folder(copied.parent, durable=workshop.durable)
    write_whole(copied, read_whole(table), durable=workshop.durable)
    try:
        return workshop.create_record(path, material_id, record)
    except InputError:
        copied.unlink(missing_ok=True)
        raise


def _free_for(material_id: str, record: MaterialRecord, path: Path) -> None:
    """Refuse a key that is something else in the catalogue: a steel n42 would hide the magnet grade from every design."""
    shipped = catalogue()
    kinds = {"magnet": shipped.magnets, "steel": shipped.steels, "conductor": shipped.conductors, "wire": shipped.wires,
             "filament": shipped.filaments}  # fmt: skip
    for kind, entries in kinds.items():
        if material_id in entries and getattr(record, kind) is None:
            raise InputError("A material of your own must not have a key that is something else in the catalogue",
                             file=str(path), found=f"{material_id}, a {kind}", remedy="Choose another name")  # fmt: skip


def save_material(
    workshop: Workshop, loaded: Loaded[MaterialRecord], record: MaterialRecord
) -> Loaded[MaterialRecord]:
    """A changed material; `ConflictError` when the file was changed meanwhile."""
    material_of(loaded.id, record, loaded.path, catalogue())
    return workshop.save(loaded, record)


def lookups(workshop: Workshop) -> Catalogue:
    """The shipped catalogue with the workshop's own parts and materials in it; own ones go first.

    A record with a fault is left out; asking for its key raises the fault.
    """
    return own_parts(workshop).catalogue


def resolve(workshop: Workshop, key: str, **place: Any) -> StockPart:
    """The part of a key, own or of the catalogue; `InputError` with the nearest keys when there is no such."""
    return lookups(workshop).part(key, **place)


def own_parts(workshop: Workshop) -> OwnParts:
    """Everything in ``parts/`` and ``materials/``; a fault is reported, not raised."""
    made: list[Made] = []
    materials: dict[str, Loaded[MaterialRecord]] = {}
    material_faults: dict[str, InputError] = {}
    for id_ in material_ids(workshop):
        try:
            one = load_material(workshop, id_)
            made.append(material_of(id_, one.record, one.path, catalogue()))
            materials[id_] = one
        except InputError as fault:
            material_faults[id_] = fault
    known = _with_materials(catalogue(), made).with_own(faults=material_faults)
    parts: dict[str, Loaded[PartRecord]] = {}
    part_faults: dict[str, InputError] = {}
    found: list[StockPart] = []
    for id_ in part_ids(workshop):
        try:
            loaded = load_part(workshop, id_)
            found.append(part_of(id_, loaded.record, loaded.path, known))
            parts[id_] = loaded
        except InputError as fault:
            part_faults[id_] = fault
    renamed, claimed = _renamed(parts)
    part_faults |= claimed
    return OwnParts(
        parts=parts, materials=materials, part_faults=part_faults, material_faults=material_faults, renamed=renamed,
        catalogue=_with_parts(known, found, renamed).with_own(faults=part_faults),
    )  # fmt: skip


def current_id(owned: OwnParts, part_id: str) -> str:
    """The id a part has now, whether it is named by that or by one it had before; an id that no part has or had is given back.

    Raises
    ------
    InputError
        Two parts say that they had this id; both files are named.
    """
    if part_id in owned.part_faults:
        raise owned.part_faults[part_id]
    return part_id if part_id in owned.parts else owned.renamed.get(part_id, part_id)


def _renamed(parts: Mapping[str, Loaded[PartRecord]]) -> tuple[dict[str, str], dict[str, InputError]]:
    """The id of a part by each it had before, and what is wrong with those that are claimed twice."""
    holders: dict[str, list[Loaded[PartRecord]]] = {}
    for loaded in parts.values():
        for old in dict.fromkeys(loaded.record.formerly):
            holders.setdefault(old, []).append(loaded)
    renamed, faults = {}, {}
    for old, claims in holders.items():
        if old in parts:
            claims = [parts[old], *claims]
        if len(claims) == 1:
            renamed[old] = claims[0].id
            continue
        faults[old] = fault_at(
            claims[-1].path, ("formerly",), "One part only can be or have been called so",
            found=f"{old}, claimed by {' and '.join(str(one.path) for one in claims)}",
            remedy="Take it out of formerly in all but one of them",
        )  # fmt: skip
    return renamed, faults


def _with_materials(shipped: Catalogue, made: list[Made]) -> Catalogue:
    return shipped.with_own(
        magnets=[one for one in made if isinstance(one, MagnetGrade)],
        steels=[one for one in made if isinstance(one, Steel)],
        conductors=[one for one in made if isinstance(one, Conductor)],
        wires=[one for one in made if isinstance(one, Wire)],
        filaments=[one for one in made if isinstance(one, Filament)],
    )


def _with_parts(known: Catalogue, parts: list[StockPart], renamed: Mapping[str, str]) -> Catalogue:
    """Parts, and spools also as the wire or filament they hold, so that a design can name the very spool; each under the ids it had
    before, too.
    """
    wires = [replace(known.wires[part.wire], key=part.key) for part in parts if part.wire is not None]
    spools = [part for part in parts if part.kind == "filament" and part.material in known.filaments]
    filaments = [replace(known.filaments[part.material], key=part.key) for part in spools if part.material]
    own = known.with_own(wires=wires, filaments=filaments, parts=parts)
    return replace(
        own,
        wires=_also(own.wires, renamed),
        filaments=_also(own.filaments, renamed),
        parts=_also(own.parts, renamed),
    )


def _also(entries: Mapping[str, T], renamed: Mapping[str, str]) -> Mapping[str, T]:
    """The same entries under their earlier keys, too; they say the present one."""
    return {**entries, **{old: entries[new] for old, new in renamed.items() if new in entries}}


def _load(path: Path, model: type[R], id_: str, there: list[str]) -> Loaded[R]:
    if not path.exists():
        raise InputError(f"There is no {model.kind} {id_}", file=str(path.parent),
                         allowed=nearest(there, id_) or there[:12] or f"there is no {model.kind} yet")  # fmt: skip
    return read_record(path, model, id_)
