"""The records that go along: versions with their parts and materials, the units, takes and runs that were chosen, and their rigs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, worst
from halfroll.publish.private import published
from halfroll.publish.release.context import Context, NothingError
from halfroll.publish.release.pack import Made
from halfroll.workshop import derive, paths
from halfroll.workshop.bundle_manifest import RECORDS
from halfroll.workshop.bundle_records import PHOTOGRAPHS, photographs_of
from halfroll.workshop.files import read_whole
from halfroll.workshop.guide_record import FILE as GUIDE
from halfroll.workshop.needed import all_named, file_of, files_of_material, files_of_rig, files_of_version
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import load_material, load_part, material_ids, part_ids
from halfroll.workshop.records import UnitRecord
from halfroll.workshop.runs import load_run, run_ids

STANDING = {"stock": None, "formerly": ()}
PRICES = {"price": None, "currency": None, "offers": (), "supplier": "", "date": None, "made_from_cost": None}


def records(context: Context) -> list[Made]:
    """Versions, drivers, own parts and materials; with takes their units and rigs."""
    workshop, files = context.workshop, []
    for driver in dict.fromkeys(id_.split("/")[0] for id_ in context.record.versions):
        files.append(
            _record(f"drivers/{driver}/driver.toml", workshop.driver(driver).record, f"the driver {driver}")
        )
    keys: set[str] = set()
    parts = {id_: load_part(workshop, id_).record for id_ in part_ids(workshop)}
    for id_ in context.record.versions:
        loaded = workshop.version(id_)
        files.append(
            _record(f"drivers/{id_}/version.toml", loaded.record.changed(origin=None), f"the version {id_}")
        )
        files += [_beside(loaded.path.parent, f"drivers/{id_}", name, f"a curve or outline of {id_}")
                  for name in sorted(files_of_version(loaded.record))]  # fmt: skip
        own_guide = loaded.path.parent / GUIDE
        if own_guide.exists():
            files.append(
                Made(
                    path=f"{RECORDS}drivers/{id_}/{GUIDE}",
                    data=read_whole(own_guide),
                    what=f"steps of the guide of {id_} in its maker's words",
                )
            )
        keys |= all_named(loaded.record, parts)
    files += _parts(context, keys, parts)
    return files + _units(context)


def takes(context: Context) -> list[Made]:
    """Recordings of the chosen takes and files of the runs beside them."""
    chosen = chosen_takes(context)
    files = []
    for id_ in chosen:
        loaded = context.workshop.take(id_)
        files.append(
            Made(
                path=f"{RECORDS}{_place(id_)}/take.toml", data=read_whole(loaded.path), what=f"the take {id_}"
            )
        )
        files += [
            _beside(loaded.path.parent, _place(id_), audio.file, f"a recording of {id_}")
            for audio in loaded.record.audio
        ]
    for id_ in chosen_runs(context):
        run = load_run(context.workshop, id_)
        unit_id, kind, name = paths.run_parts(id_)
        place = f"{_unit_place(unit_id)}/{kind}/{name}"
        files.append(
            Made(path=f"{RECORDS}{place}/{kind}.toml", data=read_whole(run.path), what=f"the run {id_}")
        )
        files += [
            _beside(run.path.parent, place, one.file, f"a file of {id_}")
            for one in (*run.record.audio, *run.record.files)
        ]
    if not files:
        raise NothingError("no take of it is there to be chosen")
    return files


def photographs(context: Context) -> list[Made]:
    """Photographs of the units that go along."""
    files = []
    for unit_id in chosen_units(context):
        loaded = context.workshop.unit(unit_id)
        for name in photographs_of(loaded.record):
            place, folder = f"{_unit_place(unit_id)}/{PHOTOGRAPHS}", loaded.path.parent / PHOTOGRAPHS
            files.append(_beside(folder, place, name, f"a photograph of {unit_id}"))
    if not files:
        raise NothingError("no unit that goes along has a photograph")
    return files


def chosen_takes(context: Context) -> list[str]:
    """Ids of the takes that go along: all, the best of each unit, or those named."""
    record = context.record
    if "takes" not in context.contents:
        return []
    if record.takes == "chosen":
        return sorted(record.take_ids, key=paths.natural_key)
    there = [id_ for version in record.versions for id_ in context.workshop.take_ids(version)]
    return there if record.takes == "all" else _best(context, there)


def _best(context: Context, there: list[str]) -> list[str]:
    """Of each unit the take that says most with least against it: one that counts in the figures, with the mildest verdicts."""
    readings = derive.readings(context.workshop, there, progress=context.progress)
    used = {id_ for column in context.counted.columns for id_ in column.takes_used}
    best: dict[str, tuple[tuple[bool, Severity, int], str]] = {}
    for id_ in there:
        one = readings[id_]
        if not one.usable:
            continue
        rank = (id_ not in used, worst(one.verdicts), len(one.verdicts))
        unit = id_.rpartition("/")[0]
        if unit not in best or rank < best[unit][0]:
            best[unit] = (rank, id_)
    return [id_ for _, id_ in best.values()]


def chosen_runs(context: Context) -> list[str]:
    """Ids of the runs that go along; one that is read from takes only where these go along, too."""
    if "takes" not in context.contents or not context.record.runs:
        return []
    taken = set(chosen_takes(context))
    found = []
    for version in context.record.versions:
        for unit_id in context.workshop.unit_ids(version):
            for kind in paths.RUN_KINDS:
                for id_ in run_ids(context.workshop, unit_id, kind):
                    sources = _takes_of_run(load_run(context.workshop, id_).record)
                    if all(f"{unit_id}/{name}" in taken for name in sources):
                        found.append(id_)
    return found


def _takes_of_run(record: Any) -> set[str]:
    names = getattr(record, "takes", None) or (getattr(record, "take", ""),)
    return {name for name in names if name}


def chosen_units(context: Context) -> list[str]:
    """Ids of the units whose takes, runs or photographs go along."""
    ids = ["/".join(id_.split("/")[:3]) for id_ in (*chosen_takes(context), *chosen_runs(context))]
    if "photographs" in context.contents:
        for version in context.record.versions:
            ids += [
                id_
                for id_ in context.workshop.unit_ids(version)
                if photographs_of(context.workshop.unit(id_).record)
            ]
    return list(dict.fromkeys(ids))


def _units(context: Context) -> list[Made]:
    """Units and the rigs of their takes."""
    files = [
        _record(
            f"{_unit_place(id_)}/unit.toml",
            _plain_unit(context, context.workshop.unit(id_).record),
            f"the unit {id_}",
        )
        for id_ in chosen_units(context)
    ]
    rigs = {context.workshop.take(id_).record.rig for id_ in chosen_takes(context)}
    rigs |= {getattr(load_run(context.workshop, id_).record, "rig", "") for id_ in chosen_runs(context)}
    for name in sorted(rigs & set(context.workshop.rig_names())):
        loaded = context.workshop.rig(name)
        files.append(
            _record(f"rigs/{name}.toml", loaded.record.changed(devices=None, limits=None), f"the rig {name}")
        )
        files += [
            _beside(loaded.path.parent, "rigs", curve, f"a microphone's correction of {name}")
            for curve in sorted(files_of_rig(loaded.record))
        ]
    return files


def _plain_unit(context: Context, record: UnitRecord) -> UnitRecord:
    """A unit without the name of who built it and without photographs, unless these go along."""
    off: dict[str, Any] = {} if context.record.builders else {"built_by": ""}
    if "photographs" not in context.contents and photographs_of(record):
        off["photographs"] = ()
    return record.changed(**off)


def _parts(context: Context, keys: set[str], parts: dict[str, PartRecord]) -> list[Made]:
    """Own parts and materials that are named, without what is in stock, and without prices where no bill goes along."""
    files = []
    off = STANDING | ({} if "bill" in context.contents else PRICES)
    for id_ in sorted(keys & parts.keys()):
        known = {key: value for key, value in off.items() if key in PartRecord.model_fields}
        files.append(_record(f"parts/{id_}.toml", parts[id_].changed(**known), f"the part {id_}"))
    for id_ in sorted(keys & set(material_ids(context.workshop))):
        loaded = load_material(context.workshop, id_)
        files.append(_record(f"materials/{id_}.toml", loaded.record, f"the material {id_}"))
        files += [
            _beside(loaded.path.parent, "materials", name, f"the B-H table of {id_}")
            for name in sorted(files_of_material(loaded.record))
        ]
    return files


def _record(path: str, record: Any, what: str) -> Made:
    return Made(path=f"{RECORDS}{path}", data=file_of(published(record)), what=what)


def _beside(folder: Path, place: str, name: str, what: str) -> Made:
    file = folder / name
    if not file.is_file():
        raise InputError(
            "A file that a record names is missing",
            file=str(file),
            remedy="Bring it back, or correct the record",
        )
    return Made(path=f"{RECORDS}{place}/{name}", data=file, what=what)


def _place(take_id: str) -> str:
    return f"{_unit_place(take_id.rpartition('/')[0])}/takes/{take_id.rpartition('/')[2]}"


def _unit_place(unit_id: str) -> str:
    driver, version, unit = unit_id.split("/")
    return f"drivers/{driver}/{version}/units/{unit}"
