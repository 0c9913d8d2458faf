"""Parts, materials and rigs of a bundle in a workshop: what it has alike is shared, what is something else gets another name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from halfroll.core.verdicts import Verdict
from halfroll.materials.catalogue import catalogue
from halfroll.workshop import paths
from halfroll.workshop.bundle_manifest import Manifest
from halfroll.workshop.bundle_records import Bundled
from halfroll.workshop.fields import Record
from halfroll.workshop.needed import files_of_material, files_of_rig, named_anew, named_by_part
from halfroll.workshop.parts import load_material, load_part, material_ids, part_ids
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_write import plain, render

FREE_OF_PARTS = (
    "price",
    "currency",
    "pack_size",
    "pack_unit",
    "stock",
    "supplier",
    "date",
    "offers",
    "notes",
    "title",
    "formerly",
    "format",
)
"""Keys of a part in which two workshops may differ and still mean the same thing."""
FREE_OF_MATERIALS = ("title", "source", "notes", "format")


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What to write where.

    Parameters
    ----------
    new
        New bytes by path in the workshop.
    copied
        Files that are copied as they are: path in the workshop to path in the bundle.
    drivers
        What each driver of the bundle is called here.
    renamed
        Parts, materials and rigs that got another name: ``parts/ring-60`` to its new id.
    shared
        Parts, materials and rigs the workshop has alike already.
    """

    drivers: Mapping[str, str]
    new: dict[str, bytes] = field(default_factory=dict)
    copied: dict[str, str] = field(default_factory=dict)
    renamed: dict[str, str] = field(default_factory=dict)
    shared: list[str] = field(default_factory=list)
    verdicts: list[Verdict] = field(default_factory=list)

    def version_id(self, id_: str) -> str:
        """The id here of a version of the bundle."""
        driver, _, rest = id_.partition("/")
        return f"{self.drivers[driver]}/{rest}"


def plan_parts(workshop: Workshop, manifest: Manifest, found: Bundled, plan: Plan) -> dict[str, str]:
    """Parts and materials: alike ones are shared, others of a name that is taken get a new one. Returns the new names by the old."""
    names = {}
    own = {"parts": set(part_ids(workshop)), "materials": set(material_ids(workshop))}
    shipped = catalogue()
    known = {
        *shipped.parts,
        *shipped.magnets,
        *shipped.steels,
        *shipped.conductors,
        *shipped.wires,
        *shipped.filaments,
    }
    taken = {*own["parts"], *own["materials"], *known, *found.parts, *found.materials}
    for id_ in [*dict.fromkeys([*found.parts, *found.materials])]:
        alike = _alike(workshop, found, id_, own)
        if alike is None and id_ not in own["parts"] | own["materials"] | known:
            continue
        if alike:
            continue
        names[id_] = _free(id_, manifest.release, taken)
        taken.add(names[id_])
    for holder, records in (("parts", found.parts), ("materials", found.materials)):
        for id_, (record, data) in records.items():
            if id_ not in names and id_ in own[holder]:
                plan.shared.append(f"{holder}/{id_}")
                continue
            here = names.get(id_, id_)
            if here != id_:
                plan.renamed[f"{holder}/{id_}"] = here
            _put_record(
                plan,
                holder,
                here,
                named_anew(record, names, keys=("material", "made_from")),
                data,
                f"{holder}/{here}.toml",
            )
    return names


def _put_record(plan: Plan, holder: str, here: str, record: Any, data: bytes, path: str) -> None:
    """A part or material under its name here, with a B-H table under a name that is free as the record is."""
    for table in files_of_material(record) if holder == "materials" else ():
        plan.copied[f"materials/{here}.csv"] = f"records/materials/{table}"
        record = record.changed(steel=record.steel.changed(table=f"{here}.csv"))
    plan.new[path] = render(record, data, path)


def _alike(
    workshop: Workshop, found: Bundled, id_: str, own: Mapping[str, set[str]], asked: tuple[str, ...] = ()
) -> bool | None:
    """Whether what the workshop has of an id means the same as what the bundle has; None where it has nothing of that id.

    A part means the same only when what it is made of does, too.
    """
    if id_ in asked:  # parts made from each other: nothing new is told by going round
        return None
    said: list[bool | None] = []
    if id_ in found.parts and id_ in own["parts"]:
        record = found.parts[id_][0]
        said.append(_same(load_part(workshop, id_).record, record, FREE_OF_PARTS))
        said += [_alike(workshop, found, key, own, (*asked, id_)) for key in named_by_part(record)]
    if id_ in found.materials and id_ in own["materials"]:
        here = load_material(workshop, id_)
        same = _same(here.record, found.materials[id_][0], FREE_OF_MATERIALS)
        tables = files_of_material(found.materials[id_][0]) | files_of_material(here.record)
        said.append(
            same and not tables
        )  # what a table beside it says is not compared: it gets a name of its own
    for ours, theirs in (("parts", "materials"), ("materials", "parts")):
        if id_ in own[ours] and id_ not in getattr(found, ours) and id_ in getattr(found, theirs):
            said.append(False)  # here it is a part, there a material: one would hide the other
    known = [one for one in said if one is not None]
    return all(known) if known else None


def _same(one: Record, other: Record, free: Iterable[str]) -> bool:
    first, second = (
        {key: value for key, value in plain(record).items() if key not in free} for record in (one, other)
    )
    return first == second


def _free(id_: str, release: str, taken: set[str]) -> str:
    name = f"{id_[:48]}-{paths.slug(release)[:24]}".strip("-._")
    numbered = (name if n == 1 else f"{name}-{n}" for n in range(1, 10_000))
    return next(one for one in numbered if one not in taken)


def plan_rigs(workshop: Workshop, manifest: Manifest, found: Bundled, plan: Plan) -> dict[str, str]:
    """Rigs likewise; a correction curve goes along under a name of its own."""
    names, own = {}, set(workshop.rig_names())
    taken = {*own, *found.rigs}
    for id_, (record, data) in found.rigs.items():
        if id_ in own and _same(
            workshop.rig(id_).record, record, ("title", "notes", "devices", "limits", "format")
        ):
            plan.shared.append(f"rigs/{id_}")
            continue
        here = id_ if id_ not in own else _free(id_, manifest.release, taken)
        taken.add(here)
        if here != id_:
            names[id_] = here
            plan.renamed[f"rigs/{id_}"] = here
        curves: dict[str, str] = {}
        for curve in files_of_rig(record):
            curves[curve] = f"{here}-correction-{len(curves) + 1}.csv"
            plan.copied[f"rigs/{curves[curve]}"] = f"records/rigs/{curve}"
        plan.new[f"rigs/{here}.toml"] = render(
            named_anew(record, curves, keys=("correction",)), data, f"rigs/{here}.toml"
        )
    return names
