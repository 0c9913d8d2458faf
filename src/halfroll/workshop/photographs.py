"""Photographs of a unit: copied in, hashed, without what a camera adds; and what is there of those a record names."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop import paths
from halfroll.workshop.built_record import PhotographTable
from halfroll.workshop.files import digest, make_folder, read_whole, write_whole
from halfroll.workshop.locking import locked
from halfroll.workshop.picture_bytes import ENDINGS, LARGEST_BYTES, Picture, picture_of

if TYPE_CHECKING:
    from halfroll.workshop.loaded import Loaded
    from halfroll.workshop.records import UnitRecord
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class Photograph:
    """A photograph a record names: where it lies, what it shows, when it was taken, and whether it is there as it was added."""

    unit_id: str
    file: str
    shows: str
    date: dt.date | None
    path: Path
    state: Literal["there", "missing", "changed"]


def photographs_of(workshop: Workshop, unit_id: str) -> tuple[Photograph, ...]:
    """All photographs of a unit; one whose file is gone or was changed says so."""
    folder = paths.photographs_folder(workshop.folder, unit_id)
    return tuple(
        Photograph(
            unit_id=unit_id,
            file=one.file,
            shows=one.shows,
            date=one.date,
            path=folder / one.file,
            state=_state(folder / one.file, one),
        )
        for one in workshop.unit(unit_id).record.photographs
    )


def said_of(photographs: tuple[Photograph, ...]) -> tuple[Verdict, ...]:
    """What must be said of them."""
    said = []
    for one in photographs:
        if one.state == "missing":
            said.append(Verdict(
                code="photograph-missing", severity=Severity.CAUTION, text=f"The photograph {one.file} is named in the record and is not there. It shows: {one.shows.rstrip('.')}.",
                remedy=f"Put it back into {one.path.parent}, or take it out of the record.", data={"file": one.file},
            ))  # fmt: skip
        elif one.state == "changed":
            said.append(Verdict(
                code="photograph-changed", severity=Severity.NOTE, text=f"The photograph {one.file} is not the file that was added.",
                remedy="If it is the right one, take it out of the record and add it again.", data={"file": one.file},
            ))  # fmt: skip
    return tuple(said)


def read_photograph(workshop: Workshop, unit_id: str, file: str) -> Picture:
    """A photograph to be shown or published, without what a camera adds, even where somebody put the file there by hand.

    Raises
    ------
    InputError
        The record names no such file, it is gone, or it is no photograph.
    """
    found = next((one for one in photographs_of(workshop, unit_id) if one.file == file), None)
    if found is None:
        raise InputError(
            "The unit's record must name the photograph",
            file=str(workshop.unit(unit_id).path),
            key="photographs.file",
            found=file,
        )
    return picture_of(read_whole(found.path), file=str(found.path))


def add_photograph(
    workshop: Workshop, unit_id: str, name: str, data: bytes, shows: str, date: dt.date | None = None
) -> tuple[Loaded[UnitRecord], PhotographTable, Picture]:
    """Copy a photograph into a unit's folder and name it in its record; whole or not at all.

    Parameters
    ----------
    name
        File name it came with; the new one is made from it and is free.
    data
        The file. What a camera added is left out of the copy, its place among it.
    shows
        What it shows, for whoever cannot see it.

    Raises
    ------
    InputError
        It is no photograph, is there already, or nothing says what it shows.
    """
    if not shows.strip():
        raise InputError(
            "A photograph must say what it shows",
            key="shows",
            found="nothing",
            remedy="One sentence for whoever cannot see it",
        )
    picture = picture_of(data, file=name)
    loaded, sha256 = workshop.unit(unit_id), digest(picture.data)
    if any(one.sha256 == sha256 for one in loaded.record.photographs):
        raise InputError(
            "This photograph is there already",
            file=name,
            found=next(one.file for one in loaded.record.photographs if one.sha256 == sha256),
        )
    folder = paths.photographs_folder(workshop.folder, unit_id)
    make_folder(folder, durable=workshop.durable)
    with locked(workshop.folder):  # else two who add one of the same name at a time take the same free name
        path = _free(folder, paths.slug(Path(name).stem)[:60] or "photograph", ENDINGS[picture.format])
        write_whole(path, picture.data, durable=workshop.durable)
    table = PhotographTable(file=path.name, shows=shows.strip(), date=date, sha256=sha256)
    try:
        saved = workshop.save(loaded, loaded.record.changed(photographs=(*loaded.record.photographs, table)))
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return saved, table, picture


def read_file(path: Path) -> bytes:
    """A file that is to be added, unless it is too large to be one."""
    try:
        size = path.stat().st_size
    except OSError:
        size = 0  # reading says what is wrong
    if size > LARGEST_BYTES:
        raise InputError(
            "A photograph must not be too large",
            file=str(path),
            found=f"{size / 1e6:.1f} MB",
            allowed=f"up to {LARGEST_BYTES / 1e6:.0f} MB",
        )
    return read_whole(path)


def remove_photograph(workshop: Workshop, unit_id: str, file: str) -> Loaded[UnitRecord]:
    """Take a photograph out of a unit's record, and its file away."""
    loaded = workshop.unit(unit_id)
    rest = tuple(one for one in loaded.record.photographs if one.file != file)
    if len(rest) == len(loaded.record.photographs):
        raise InputError("The unit's record must name the photograph", file=str(loaded.path), key="photographs.file", found=file,
                         allowed=[one.file for one in rest] or "none is named")  # fmt: skip
    saved = workshop.save(loaded, loaded.record.changed(photographs=rest))
    (paths.photographs_folder(workshop.folder, unit_id) / file).unlink(missing_ok=True)
    return saved


def _state(path: Path, table: PhotographTable) -> Literal["there", "missing", "changed"]:
    if not path.is_file():
        return "missing"
    if table.sha256 is None or digest(path.read_bytes()) == table.sha256:
        return "there"
    return "changed"


def _free(folder: Path, stem: str, ending: str) -> Path:
    for n in range(1, 10_000):
        path = folder / (f"{stem}{ending}" if n == 1 else f"{stem}-{n}{ending}")
        if not path.exists():
            return path
    raise InputError("There are too many photographs of one name", found=stem)
