"""Builders' checks of a workshop: ``builders/<check>/check.toml`` and its recordings, read, kept whole or not at all, counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.core.conditions import radius_of_area
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.measure.sweep import Sweep
from halfroll.workshop import paths
from halfroll.workshop.builder_record import BuilderRecord, RecordingTable
from halfroll.workshop.faults import check, fault_at, placed
from halfroll.workshop.files import write_whole
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.locking import locked
from halfroll.workshop.phone_audio import PhoneAudio, read_phone_audio
from halfroll.workshop.records import SweepTable
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import check_hash, unfinished
from halfroll.workshop.toml_read import read_record
from halfroll.workshop.toml_write import render
from halfroll.workshop.tree import names_in

if TYPE_CHECKING:
    from halfroll.measure.phone.placing import Placing
    from halfroll.measure.phone.reading import PhoneReading

PLACES = ("recording", "reference")
"""A recording of the unit, and of a good unit by the same telephone."""

TAKEN = ("new", "file", "sweep.wav", "sheet.pdf")
"""Words that have an address of their own among the checks."""


@dataclass(frozen=True, kw_only=True)
class NewRecording:
    """A recording on its way in: the file, what was played, how far before the cone (cm)."""

    audio: PhoneAudio
    sweep: Sweep
    distance_cm: float = 3.0
    note: str = ""

    def table(self, file: str) -> RecordingTable:
        """Its table in the record, under the name of a file."""
        return RecordingTable(
            file=file, sha256=self.audio.sha256, distance_cm=self.distance_cm, note=self.note, sweep=SweepTable.of(self.sweep)
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Standing:
    """How the checks of a workshop stand: by status, by what it was in the end, and those that cannot be read."""

    checks: tuple[Loaded[BuilderRecord], ...]
    by_status: Mapping[str, int]
    by_fault: Mapping[str, int]
    faults: tuple[InputError, ...] = ()


def check_ids(workshop: Workshop) -> list[str]:
    """Names of all checks."""
    holder = workshop.folder / "builders"
    return [name for name in names_in(str(holder)) if (holder / name / "check.toml").exists()]


def load_check(workshop: Workshop, name: str) -> Loaded[BuilderRecord]:
    """The record of a check.

    Raises
    ------
    InputError
        There is no such check, or its record is wrong.
    """
    path = paths.check_path(workshop.folder, name)
    if not path.exists():
        raise InputError(f"There is no check {name}", file=str(path.parent.parent),
                         allowed=check_ids(workshop)[:12] or "there is no check yet",
                         remedy="Make one with halfroll check VERSION --save NAME, or on the page /builders/new")  # fmt: skip
    return read_record(path, BuilderRecord, name)


def standing(workshop: Workshop) -> Standing:
    """All checks, the newest first, with counts."""
    found, faults = [], []
    for name in check_ids(workshop):
        try:
            found.append(load_check(workshop, name))
        except InputError as fault:
            faults.append(fault)
    found.sort(key=lambda loaded: (loaded.record.date, paths.natural_key(loaded.id)), reverse=True)
    return Standing(
        checks=tuple(found), by_status=Counter(one.record.status for one in found),
        by_fault=Counter(one.record.found_fault for one in found if one.record.found_fault), faults=tuple(faults),
    )  # fmt: skip


def checked_record(workshop: Workshop, data: Mapping[str, Any]) -> BuilderRecord:
    """A record from plain values, such as a form's; its version and unit are in the workshop.

    Raises
    ------
    InputError
        With the key that is wrong.
    """
    record = check(BuilderRecord, {"format": 1, **data}, file="")
    _there(workshop, record)
    return record


def add_check(
    workshop: Workshop, name: str, record: BuilderRecord, recordings: Mapping[str, NewRecording] | None = None
) -> Loaded[BuilderRecord]:
    """A new check: its record and recordings (by `PLACES`) appear together or not at all.

    Raises
    ------
    InputError
        There is such a check, its version or unit is not there, or it is wrong.
    """
    _there(workshop, record)
    if name in TAKEN:
        raise InputError(
            "The name of a check must not be a word with another meaning",
            found=name,
            remedy="Choose another name",
        )
    new = recordings or {}
    files: dict[str, str] = {}
    for place in PLACES:
        if place in new:
            ending = Path(new[place].audio.file).suffix
            files[place] = f"{place}{ending}"
    whole = record.changed(**{place: new[place].table(file) for place, file in files.items()})
    path = paths.check_path(workshop.folder, name)
    data = render(whole, None, str(path))
    with locked(workshop.folder):
        if path.parent.exists():
            raise InputError(f"There is a check {name} already", file=str(path), remedy="Choose another name")
        with unfinished(path.parent.parent, name, durable=workshop.durable) as folder:
            for place, file in files.items():
                write_whole(folder / file, new[place].audio.data, durable=workshop.durable)
            write_whole(folder / "check.toml", data, durable=workshop.durable)
    return load_check(workshop, name)


def save_check(
    workshop: Workshop, loaded: Loaded[BuilderRecord], record: BuilderRecord
) -> Loaded[BuilderRecord]:
    """A changed check; its recordings stay as they are. `ConflictError` when the file was changed meanwhile."""
    _there(workshop, record)
    return workshop.save(loaded, record)


def free_name(workshop: Workshop, wish: str) -> str:
    """A plain name for a new check, with a number behind it when there is one of the name."""
    plain = paths.slug(wish) or "check"
    taken = {*names_in(str(workshop.folder / "builders")), *TAKEN}
    return (
        plain
        if plain not in taken
        else next(f"{plain}-{n}" for n in range(2, 10_000) if f"{plain}-{n}" not in taken)
    )


def placing_of(workshop: Workshop, record: BuilderRecord, distance_cm: float) -> Placing:
    """Where the telephone lay, with the cone's radius where the version says it."""
    from halfroll.measure.phone.placing import Placing

    area = workshop.version(record.version).record.effective_area_cm2
    return Placing(
        mounting=record.mounting, distance_m=0.01 * distance_cm, radius_m=None if area is None else radius_of_area(1e-4 * area)
    )  # fmt: skip


def read_new(
    workshop: Workshop,
    record: BuilderRecord,
    recordings: Mapping[str, NewRecording],
    progress: Progress = silent,
) -> PhoneReading | None:
    """What recordings tell that are not kept yet; None without one of the unit. Of both, the difference."""
    from halfroll.measure.phone.reading import against, read_phone

    found = {}
    for number, place in enumerate(place for place in PLACES if place in recordings):
        new = recordings[place]
        here = part(progress, number / len(recordings), (number + 1) / len(recordings))
        placing = placing_of(workshop, record, new.distance_cm)
        try:
            found[place] = read_phone(new.audio.samples, new.audio.rate_hz, new.sweep, placing, here)
        except InputError as fault:
            raise placed(fault, file=new.audio.file, key=place) from fault
    if "recording" not in found:
        return None
    return against(found["recording"], found["reference"]) if "reference" in found else found["recording"]


def kept_recordings(loaded: Loaded[BuilderRecord]) -> dict[str, NewRecording]:
    """The recordings of a kept check, by place."""
    found = {}
    for place in PLACES:
        table: RecordingTable | None = getattr(loaded.record, place)
        if table is None:
            continue
        path = loaded.path.parent / table.file
        audio = read_phone_audio(path)
        check_hash(path, audio.sha256, table.sha256)
        found[place] = NewRecording(
            audio=audio, sweep=table.sweep.sweep(), distance_cm=table.distance_cm, note=table.note
        )
    return found


def check_named(workshop: Workshop, loaded: Loaded[BuilderRecord]) -> None:
    """Refuse a kept check that names a version or unit that is not there; with file, key and line."""
    try:
        _there(workshop, loaded.record)
    except InputError as fault:
        key = fault.place.key or "version"
        raise fault_at(
            loaded.path, (key,), fault.message, found=fault.found, allowed=fault.allowed, remedy=fault.remedy
        ) from fault


def _there(workshop: Workshop, record: BuilderRecord) -> None:
    """Refuse a version or unit that is not in the workshop."""
    workshop.existing(record.version, "version", key="version")
    if record.from_unit is not None:
        workshop.existing(record.from_unit, "unit", key="from_unit")
        if paths.version_of(record.from_unit) != record.version:
            raise InputError("The unit must be one of the version", key="from_unit", found=record.from_unit, allowed=f"{record.version}/...")  # fmt: skip
