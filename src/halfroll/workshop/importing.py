"""Bringing recordings into a workshop: files, several files that are one take, or whole folders."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.measure.recording import Role
from halfroll.workshop.audio import SUFFIXES
from halfroll.workshop.faults import FaultsError
from halfroll.workshop.files import reporting
from halfroll.workshop.paths import slug
from halfroll.workshop.records import SweepTable, TakeSetup
from halfroll.workshop.store import Workshop
from halfroll.workshop.sweep_file import is_sweep_file, sweep_beside
from halfroll.workshop.takes import NewAudio

_ROLE_AT_END = re.compile(
    r"(?P<stem>.+?)[-_. ]+(?P<role>microphone|mic|voltage|current|source)$", re.IGNORECASE
)


@dataclass(frozen=True, kw_only=True)
class Planned:
    """One take to be: its files with the roles their names tell (None: not told), and the sweep found beside them."""

    name: str
    files: tuple[tuple[Path, tuple[Role, ...] | None], ...]
    sweep: SweepTable | None = None


@dataclass(frozen=True, kw_only=True)
class Imported:
    """Ids of the takes that were made, and why the others were not."""

    takes: tuple[str, ...]
    refused: tuple[InputError, ...]


def import_takes(
    workshop: Workshop,
    unit_id: str,
    sources: Sequence[Path],
    setup: TakeSetup,
    *,
    roles: Sequence[Role] | None = None,
    together: bool = False,
    when: dt.datetime | None = None,
    progress: Progress = silent,
) -> Imported:
    """Copy recordings into the workshop as takes of a unit.

    Every take is made whole or not at all; one that is refused does not hold up the others.

    Parameters
    ----------
    sources
        Audio files, and folders of such files (see `plan`).
    setup
        What is stated of every take. A sweep in it goes before one found beside the files.
    roles
        What the channels of each file hold, where the file's name does not tell. Without, a single channel is the
        microphone.
    together
        The files given are channels of one take.
    when
        When the takes were recorded; without, the time at which each file was last written.

    Raises
    ------
    InputError
        Nothing of what was given could become a take.
    """
    planned = plan(sources, together=together)
    made: list[str] = []
    refused: list[InputError] = []
    for done, one in enumerate(planned):
        progress(done / len(planned), f"importing {one.name}")
        try:
            made.append(_import_one(workshop, unit_id, one, setup, roles, when))
        except InputError as fault:
            refused.append(fault)
    if refused and not made:
        raise refused[0] if len(refused) == 1 else FaultsError(refused, "import")
    progress(1.0, "imported")
    return Imported(takes=tuple(made), refused=tuple(refused))


def plan(sources: Sequence[Path], *, together: bool = False) -> list[Planned]:
    """What takes would be made of files and folders.

    Files whose names differ only by a role at the end (``tick-microphone.wav``, ``tick-voltage.wav``) are one take.
    A folder gives the takes of its files and of the folders in it; a file with a sweep's parameters beside it, in a
    .toml file of its name, is the sweep that was played, not a recording. Parameters of the sweep are read from
    ``sweep.toml`` in the files' folder, or from the only file of a sweep there.
    """
    files = [file for source in sources for file in (_in_folder(source) if source.is_dir() else [source])]
    if not files:
        raise InputError("There is no recording to import", file=", ".join(map(str, sources)) or None,
                         allowed=" and ".join(SUFFIXES))  # fmt: skip
    groups: dict[tuple[Path, str], list[tuple[Path, tuple[Role, ...] | None]]] = {}
    for file in files:
        stem, role = _role_of(file)
        key = (files[0].parent, _role_of(files[0])[0]) if together else (file.parent, stem)
        groups.setdefault(key, []).append((file, role))
    return [
        Planned(name=stem, files=tuple(group), sweep=sweep_beside(folder))
        for (folder, stem), group in groups.items()
    ]


def _in_folder(folder: Path) -> list[Path]:
    with reporting(folder, "read"):
        found = sorted(
            path for path in folder.rglob("*") if path.suffix.lower() in SUFFIXES and path.is_file()
        )
    return [
        path
        for path in found
        if not path.name.startswith(".") and not is_sweep_file(path.with_suffix(".toml"))
    ]


def _role_of(file: Path) -> tuple[str, tuple[Role, ...] | None]:
    """The name without its role, and the role; a name without a role is whole."""
    match = _ROLE_AT_END.fullmatch(file.stem)
    if match is None:
        return file.stem, None
    word = match["role"].lower()
    return match["stem"], (Role.MICROPHONE if word == "mic" else Role(word),)


def _import_one(
    workshop: Workshop,
    unit_id: str,
    planned: Planned,
    setup: TakeSetup,
    roles: Sequence[Role] | None,
    when: dt.datetime | None,
) -> str:
    audio = [NewAudio.from_file(path, told or roles) for path, told in planned.files]
    moment = when or _written(planned.files[0][0])
    if planned.sweep is not None and "sweep" not in setup.model_fields_set:
        setup = setup.changed(sweep=planned.sweep)
    name = _free_name(workshop, unit_id, f"{moment:%Y-%m-%d-%H%M}-{slug(planned.name) or 'take'}")
    return workshop.add_take(unit_id, name, setup, moment, audio).id


def _written(path: Path) -> dt.datetime:
    """When a file was last written: for a recording the end of the take."""
    with reporting(path, "read"):
        return dt.datetime.fromtimestamp(round(path.stat().st_mtime)).astimezone()


def _free_name(workshop: Workshop, unit_id: str, name: str) -> str:
    """The name, with a number behind it when there is such a take already."""
    taken = {take_id.rpartition("/")[2] for take_id in workshop.take_ids(unit_id)}
    name = slug(name[:70])
    numbered = (f"{name}-{number}" for number in range(2, len(taken) + 3))
    return name if name not in taken else next(candidate for candidate in numbered if candidate not in taken)
