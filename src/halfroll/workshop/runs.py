"""Runs: what is done on the bench with a unit besides takes, one folder each, kept whole or not at all.

A run is a record and the files it came from: recordings, tables. Each kind of run has its model in a module of its own.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field

from halfroll.core.errors import InputError
from halfroll.measure.recording import Role
from halfroll.workshop import paths
from halfroll.workshop.fields import FileName, Moment, Record, Sha256, Table
from halfroll.workshop.files import digest, write_whole
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.locking import locked
from halfroll.workshop.records import AudioTable
from halfroll.workshop.takes import NewAudio, check_together, unfinished
from halfroll.workshop.toml_read import read_record
from halfroll.workshop.toml_write import render
from halfroll.workshop.tree import names_in

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

MODELS = {
    "impedance": "halfroll.workshop.impedance_record:ImpedanceRecord",
    "tones": "halfroll.workshop.tones_record:TonesRecord",
    "joined": "halfroll.workshop.joined_record:JoinedRecord",
    "power": "halfroll.workshop.power_record:PowerRecord",
}
"""Where the model of each kind stands; loaded when a run of that kind is met."""


class FileTable(Table):
    """``[[files]]``: a file of a run that is not audio, and its content hash."""

    file: FileName
    sha256: Sha256


class RunRecord(Record):
    """What every run says of itself; a text in ``leave_out`` takes it out of the figures and says why."""

    when: Moment
    note: str = ""
    leave_out: str = ""
    audio: Annotated[tuple[AudioTable, ...], Field(strict=False)] = ()
    files: Annotated[tuple[FileTable, ...], Field(strict=False)] = ()

    @property
    def roles(self) -> tuple[Role, ...]:
        """Roles of all channels, file after file."""
        return tuple(role for audio in self.audio for role in audio.roles)


def run_model(kind: str) -> type[RunRecord]:
    """The model of a kind of run."""
    module, name = MODELS[kind].split(":")
    model: type[RunRecord] = getattr(importlib.import_module(module), name)
    return model


def run_ids(workshop: Workshop, unit_id: str, kind: str) -> list[str]:
    """Ids of the runs of one kind of a unit, in the order in which a person counts."""
    holder = paths.folder_of(workshop.folder, workshop.existing(unit_id, "unit")) / kind
    return [
        f"{unit_id}/{kind}/{name}"
        for name in names_in(str(holder))
        if (holder / name / f"{kind}.toml").exists()
    ]


def load_run(workshop: Workshop, run_id: str) -> Loaded[Any]:
    """The record of a run; `Workshop.save` writes a changed one back.

    Raises
    ------
    InputError
        There is no such run, or its record is wrong.
    """
    unit_id, kind, _ = paths.run_parts(run_id)
    path = paths.run_path(workshop.folder, run_id)
    if not path.exists():
        there = run_ids(workshop, unit_id, kind)
        raise InputError(f"There is no run {run_id}", file=str(workshop.folder),
                         allowed=there[:12] or f"{unit_id} has no run of this kind yet")  # fmt: skip
    return read_record(path, run_model(kind), run_id)


def add_run(
    workshop: Workshop,
    unit_id: str,
    name: str,
    record: RunRecord,
    *,
    audio: Sequence[NewAudio] = (),
    files: Mapping[str, bytes] | None = None,
) -> Loaded[Any]:
    """A new run of a unit: its files and its record appear together or not at all.

    `record` need not name its files; their tables are filled in here. The kind is that of the record.

    Raises
    ------
    InputError
        There is no such unit, there is such a run already, or the recordings cannot be channels of one.
    """
    kind = record.kind
    run_id = f"{workshop.existing(unit_id, 'unit')}/{kind}/{paths.check_name(name, 'run')}"
    final = paths.run_folder(workshop.folder, run_id)
    others = files or {}
    if audio:
        check_together([(new.origin, new.head) for new in audio])
    whole = record.changed(
        audio=tuple(AudioTable(file=new.file, sha256=new.sha256, roles=new.roles) for new in audio),
        files=tuple(FileTable(file=file, sha256=digest(data)) for file, data in others.items()),
    )
    data = render(whole, None, str(final / f"{kind}.toml"))
    with locked(workshop.folder):
        if final.exists():
            raise InputError(
                f"There is a run {run_id} already", file=str(final), remedy="Choose another name"
            )
        with unfinished(final.parent, name, durable=workshop.durable) as folder:
            for file, content in [(new.file, new.data) for new in audio] + list(others.items()):
                write_whole(folder / file, content, durable=workshop.durable)
            write_whole(folder / f"{kind}.toml", data, durable=workshop.durable)
    return load_run(workshop, run_id)


def free_name(workshop: Workshop, unit_id: str, kind: str, name: str) -> str:
    """The name, with a number behind it when there is such a run already."""
    taken = {run_id.rpartition("/")[2] for run_id in run_ids(workshop, unit_id, kind)}
    numbered = (f"{name}-{number}" for number in range(2, len(taken) + 3))
    return name if name not in taken else next(candidate for candidate in numbered if candidate not in taken)
