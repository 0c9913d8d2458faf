"""Releases of a workshop: their records, who may have which from when on, and which takes go along."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from halfroll.core.errors import InputError, RefusedError
from halfroll.workshop import paths, tree
from halfroll.workshop.faults import check, fault_at
from halfroll.workshop.files import read_whole, write_whole
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.release_record import AudienceTable, ReleaseRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_read import decode, read_record

LONGEST_LICENCE = 200_000
"""Bytes of a licence's text: the longest common ones have a quarter of that."""


@dataclass(frozen=True, kw_only=True)
class Turn:
    """One audience and one release: from which date on it may have it, and whether that is reached."""

    release_id: str
    title: str
    versions: tuple[str, ...]
    audience: str
    date: dt.date
    out: bool

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "release": self.release_id, "title": self.title, "versions": list(self.versions), "audience": self.audience,
            "date": self.date.isoformat(), "out": self.out,
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Due:
    """What is out on a day, the newest first; what comes next, the nearest first; and records that cannot be read."""

    today: dt.date
    out: tuple[Turn, ...]
    next: tuple[Turn, ...]
    faults: tuple[InputError, ...] = ()


def release_ids(workshop: Workshop) -> list[str]:
    """Ids of all releases."""
    holder = workshop.folder / "releases"
    return [name for name in tree.names_in(str(holder)) if (holder / name / "release.toml").exists()]


def load_release(workshop: Workshop, release_id: str) -> Loaded[ReleaseRecord]:
    """The record of a release.

    Raises
    ------
    InputError
        There is no such release, or its record is wrong.
    """
    path = paths.release_path(workshop.folder, release_id)
    if not path.exists():
        raise InputError(f"There is no release {release_id}", file=str(workshop.folder / "releases"),
                         allowed=release_ids(workshop)[:12] or "there is no release yet",
                         remedy="Make one with halfroll release new, or on the page /releases")  # fmt: skip
    return read_record(path, ReleaseRecord, release_id)


def new_release(
    workshop: Workshop, release_id: str, record: ReleaseRecord, licence: Path | None = None
) -> Loaded[ReleaseRecord]:
    """A new release; whole or not at all.

    Parameters
    ----------
    licence
        A file with the licence's text, which is copied beside the record under the name that gives it.

    Raises
    ------
    InputError
        There is one of that id, it names what is not in the workshop, or the text of the licence cannot be read.
    """
    path = paths.release_path(workshop.folder, release_id)
    if release_id == "marks":
        raise InputError("The name of a release must not be a word with another meaning on disk", found=release_id,
                         remedy="Choose another name")  # fmt: skip
    check_named(workshop, record, path)
    text = None if licence is None else _licence_data(licence)
    loaded = workshop.create_record(path, release_id, record)
    if text is not None and record.licence_file is not None:
        try:
            write_whole(path.parent / record.licence_file, text, durable=workshop.durable)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
    return loaded


def save_release(
    workshop: Workshop, loaded: Loaded[ReleaseRecord], record: ReleaseRecord
) -> Loaded[ReleaseRecord]:
    """A changed release; `ConflictError` when the file was changed meanwhile."""
    check_named(workshop, record, loaded.path)
    return workshop.save(loaded, record)


def checked_record(data: Mapping[str, Any]) -> ReleaseRecord:
    """A record from plain values, such as a form's; `InputError` or `FaultsError` with the keys."""
    return check(ReleaseRecord, {"format": 1, **data}, file="")


def check_named(workshop: Workshop, record: ReleaseRecord, path: Path) -> None:
    """Refuse a record that names versions or takes that are not there; its file, key and line are named."""
    for version_id in record.versions:
        _there(workshop, version_id, "version", "versions", path)
    for take_id in record.take_ids:
        _there(workshop, take_id, "take", "take_ids", path)
        if paths.version_of(take_id) not in record.versions:
            raise fault_at(path, ("take_ids",), "A take of a release must be of one of its versions", found=take_id,
                           allowed=record.versions)  # fmt: skip


def _there(workshop: Workshop, id_: str, level: str, key: str, path: Path) -> None:
    try:
        workshop.existing(id_, level, key=key)
    except InputError as fault:
        raise fault_at(path, (key,), fault.message, found=fault.found, allowed=fault.allowed) from fault


def due(workshop: Workshop, today: dt.date) -> Due:
    """Which audience may have which release on a day, and what comes next."""
    turns, faults = [], []
    for release_id in release_ids(workshop):
        try:
            record = load_release(workshop, release_id).record
        except InputError as fault:
            faults.append(fault)
            continue
        turns += turns_of(release_id, record, today)
    out = sorted(
        (turn for turn in turns if turn.out), key=lambda turn: (-turn.date.toordinal(), turn.release_id)
    )
    coming = sorted((turn for turn in turns if not turn.out), key=lambda turn: (turn.date, turn.release_id))
    return Due(today=today, out=tuple(out), next=tuple(coming), faults=tuple(faults))


def turns_of(release_id: str, record: ReleaseRecord, today: dt.date) -> list[Turn]:
    """The turns of one release, in the order in which its audiences get it."""
    return [
        Turn(release_id=release_id, title=record.title, versions=record.versions, audience=one.name, date=one.date, out=one.date <= today)
        for one in record.who
    ]  # fmt: skip


def audience_of(
    loaded: Loaded[ReleaseRecord], name: str | None, today: dt.date, *, early: bool = False
) -> AudienceTable:
    """The audience a bundle is made for: by its name, or the only one.

    Raises
    ------
    InputError
        There is no such audience, or there are several and none is named.
    RefusedError
        Its date is not reached and `early` was not said.
    """
    record, file = loaded.record, str(loaded.path)
    names = [one.name for one in record.who]
    if name is None and len(names) > 1:
        raise InputError(
            "This release has several audiences; say for whom the bundle is",
            file=file,
            key="audience",
            allowed=names,
        )
    found = record.audience(names[0] if name is None else name)
    if found is None:
        raise InputError(
            "There is no such audience of this release", file=file, key="audiences", found=name, allowed=names
        )
    if found.date > today and not early:
        raise RefusedError(
            f"The release {loaded.id} is for {found.name} from {found.date.isoformat()} on, and today is {today.isoformat()}",
            file=file, key="audiences",
            remedy="Wait for that day, or say --early: the manifest tells that the bundle was made before its day",
        )  # fmt: skip
    return found


def licence_text(workshop: Workshop, loaded: Loaded[ReleaseRecord]) -> str | None:
    """The text of the licence as the maker put it beside the record; None where the record names no file.

    Raises
    ------
    InputError
        The file is missing, too long, or no text.
    """
    name = loaded.record.licence_file
    if name is None:
        return None
    path = loaded.path.parent / name
    if not path.is_file():
        raise InputError("The file with the licence's text is missing", file=str(path), key="licence_file",
                         remedy="Put the text there, or take licence_file out of release.toml")  # fmt: skip
    return decode(_licence_data(path), str(path))


def _licence_data(path: Path) -> bytes:
    """The bytes of a licence's text, which is checked to be one."""
    data = read_whole(path)
    if len(data) > LONGEST_LICENCE:
        raise InputError("The text of a licence must be shorter", file=str(path), found=f"{len(data)} bytes",
                         allowed=f"{LONGEST_LICENCE} bytes at most")  # fmt: skip
    decode(data, str(path))
    return data


def previous_release(workshop: Workshop, release_id: str, version_id: str) -> str | None:
    """The version of the same line that was released last before a release: the nearest ancestor in another release of its date or
    an earlier one; None when there is none.
    """
    date = load_release(workshop, release_id).record.date
    released = set()
    for other in release_ids(workshop):
        if other == release_id:
            continue
        try:
            record = load_release(workshop, other).record
        except InputError:
            continue
        released |= set(record.versions) if record.date <= date else set()
    seen = {version_id}
    at = _parent(workshop, version_id)
    while at is not None and at not in seen:
        if at in released:
            return at
        seen.add(at)
        at = _parent(workshop, at)
    return None


def _parent(workshop: Workshop, version_id: str) -> str | None:
    try:
        return paths.parent_id(version_id, workshop.version(version_id).record.parent)
    except InputError:
        return None


def release_folder(workshop: Workshop, release_id: str) -> Path:
    """The folder of a release."""
    return paths.release_path(workshop.folder, release_id).parent


def free_release_id(workshop: Workshop, versions: Iterable[str]) -> str:
    """A name for a new release: after its first version, with a number where that is taken."""
    there = set(release_ids(workshop))
    first: Sequence[str] = list(versions)
    name = first[0].replace("/", "-") if first else "release"
    numbered = (f"{name}-{n}" for n in range(2, len(there) + 3))
    return name if name not in there else next(one for one in numbered if one not in there)
