"""All records of a workshop at once, from the index where the files have not changed."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from halfroll.core.errors import InputError
from halfroll.workshop import paths
from halfroll.workshop.fields import Record
from halfroll.workshop.index import Index
from halfroll.workshop.material_record import MaterialRecord
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.records import DriverRecord, RigRecord, TakeRecord, UnitRecord, VersionRecord
from halfroll.workshop.runs import RunRecord, run_model
from halfroll.workshop.toml_read import read_record
from halfroll.workshop.tree import names_in, records_in

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, kw_only=True)
class Contents:
    """Every record of a workshop by id (rigs by name), and what is wrong with those that could not be read.

    Ids stand in the order in which a person counts; the fault of a rig stands under `rig_fault` of its name, that of a part or
    material alike under ``part <id>`` or ``material <id>``. Dates in keys halfroll does not know come as text.
    """

    drivers: dict[str, DriverRecord]
    versions: dict[str, VersionRecord]
    units: dict[str, UnitRecord]
    takes: dict[str, TakeRecord]
    rigs: dict[str, RigRecord]
    faults: dict[str, InputError]
    runs: dict[str, RunRecord] = field(default_factory=dict)
    parts: dict[str, PartRecord] = field(default_factory=dict)
    materials: dict[str, MaterialRecord] = field(default_factory=dict)

    def below(self, id_: str) -> list[str]:
        """Ids of the takes of a driver, version or unit."""
        return [take for take in self.takes if take.startswith(f"{id_}/")]

    def runs_below(self, id_: str, kind: str) -> list[str]:
        """Ids of the runs of one kind of a driver, version or unit."""
        return [run for run in self.runs if run.startswith(f"{id_}/") and run.split("/")[3] == kind]


BESIDE: tuple[type[Record], ...] = (RigRecord, PartRecord, MaterialRecord)
"""Records that stand beside the drivers."""


def rig_fault(name: str) -> str:
    """The key in `Contents.faults` of a rig, which no id can be."""
    return f"rig {name}"


@dataclass(frozen=True)
class _Found:
    """A record file: id, path within the workshop, stamp and time of change."""

    id: str
    path: str
    stamp: str
    mtime_ns: int


def read_contents(folder: Path, index: Index) -> Contents:
    """Read all records of the workshop in `folder`; a record with a fault is reported, not raised."""
    reader = _Reader(folder, index)
    found: dict[str, list[_Found]] = {level: [] for level in (*paths.LEVELS, *paths.RUN_KINDS)}
    for one in _walk(str(folder), "", None, reader.faults):
        depth = one.id.count("/")
        found[paths.LEVELS[depth] if depth < len(paths.LEVELS) else one.id.split("/")[3]].append(one)
    contents = Contents(
        rigs=reader.read(list(_beside(str(folder), "rigs")), RigRecord),
        parts=reader.read(list(_beside(str(folder), "parts")), PartRecord),
        materials=reader.read(list(_beside(str(folder), "materials")), MaterialRecord),
        drivers=reader.read(found["driver"], DriverRecord),
        versions=reader.read(found["version"], VersionRecord),
        units=reader.read(found["unit"], UnitRecord),
        takes=reader.read(found["take"], TakeRecord),
        runs={
            id_: run
            for kind in paths.RUN_KINDS
            if found[kind]
            for id_, run in reader.read(found[kind], run_model(kind)).items()
        },
        faults=reader.faults,
    )
    reader.keep()
    return contents


class _Reader:
    """Reads record files, from the index where it can, and notes what the index should learn."""

    def __init__(self, folder: Path, index: Index) -> None:
        self._folder = folder
        self._index = index
        self._known = index.records()
        self._fresh: list[tuple[str, str, str]] = []
        self._met: set[str] = set()
        self.faults: dict[str, InputError] = {}

    def read(self, found: list[_Found], model: type[R]) -> dict[str, R]:
        """Records of one kind by id."""
        records = {}
        for one in found:
            try:
                records[one.id] = self._read_one(one, model)
            except InputError as fault:
                self.faults[f"{model.kind} {one.id}" if model in BESIDE else one.id] = fault
        return records

    def _read_one(self, one: _Found, model: type[R]) -> R:
        self._met.add(one.path)
        paths.check_name(one.id.rpartition("/")[2], model.kind, file=str(self._folder / one.path))
        seen = self._known.get(one.path)
        if seen is not None and seen.holds(one.stamp, one.mtime_ns):
            try:
                return model.model_validate_json(seen.text)
            except ValidationError:  # indexed by a halfroll with other rules
                pass
        record = read_record(self._folder / one.path, model, one.id).record
        self._fresh.append((one.path, one.stamp, record.model_dump_json()))
        return record

    def keep(self) -> None:
        """Let the index learn what was read, and forget files that are gone."""
        self._index.put_records(self._fresh, self._known.keys() - self._met)


def _beside(folder: str, holder: str) -> Iterator[_Found]:
    """Record files that stand one beside the other in a folder of the workshop."""
    for name in records_in(Path(folder), holder):
        if one := _stamped(name, folder, f"{holder}/{name}.toml"):
            yield one


def _walk(folder: str, above: str, id_: str | None, faults: dict[str, InputError]) -> Iterator[_Found]:
    """Record files from a level of the tree downwards; a folder without its record is not looked into.

    Paths are plain texts here: thousands of them are met whenever a workshop is opened.
    """
    depth = 0 if id_ is None else id_.count("/") + 1
    if depth == len(paths.LEVELS):
        return
    level = paths.LEVELS[depth]
    holder = above if level == "version" else f"{above}{level}s/"
    try:
        names = names_in(f"{folder}/{holder}")
    except InputError as fault:
        faults[id_ or "drivers"] = fault
        return
    for name in names:
        child = name if id_ is None else f"{id_}/{name}"
        if one := _stamped(child, folder, f"{holder}{name}/{level}.toml"):
            yield one
            if level == "unit":
                yield from _runs(folder, f"{holder}{name}/", child)
            yield from _walk(folder, f"{holder}{name}/", child, faults)


def _runs(folder: str, above: str, unit_id: str) -> Iterator[_Found]:
    """Record files of the runs of a unit."""
    for kind in names_in(f"{folder}/{above}"):
        if kind in paths.RUN_KINDS:
            for name in names_in(f"{folder}/{above}{kind}"):
                if one := _stamped(f"{unit_id}/{kind}/{name}", folder, f"{above}{kind}/{name}/{kind}.toml"):
                    yield one


def _stamped(id_: str, folder: str, path: str) -> _Found | None:
    try:
        stat = os.stat(f"{folder}/{path}")  # noqa: PTH116
    except OSError:
        return None
    return _Found(id_, path, stamp_of(stat), stat.st_mtime_ns)


def stamp_of(stat: os.stat_result) -> str:
    """What changes when a file is replaced or written to: time of change, length and number on the disk."""
    return f"{stat.st_mtime_ns}:{stat.st_size}:{stat.st_ino}"
