"""What there is in a workshop folder. Names that begin with a dot are work in progress and not listed."""

from __future__ import annotations

import os
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.workshop import paths
from halfroll.workshop.faults import asked_by
from halfroll.workshop.files import reporting


def children(folder: Path, id_: str | None, level: str) -> list[str]:
    """Ids of what lies directly below an id (None: below the workshop), in the order in which a person counts."""
    holder = paths.place_of(folder if id_ is None else paths.folder_of(folder, id_), level)
    names = [name for name in names_in(str(holder)) if (holder / name / f"{level}.toml").exists()]
    for name in names:
        paths.check_name(name, level, file=str(holder / name))
    return [name if id_ is None else f"{id_}/{name}" for name in names]


def names_in(holder: str, *, files: bool = False) -> list[str]:
    """Names of the folders (or of all) in a folder, in the order in which a person counts; none when there is no such.

    `holder` is plain text: folders are looked into by the thousand whenever a workshop is opened.
    """
    try:
        with os.scandir(holder) as entries:
            found = [e.name for e in entries if not e.name.startswith(".") and (files or e.is_dir())]
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError:
        with reporting(Path(holder), "read"):
            raise
    return paths.in_order(found)


def takes_below(folder: Path, id_: str | None) -> list[str]:
    """Ids of all takes of a unit, a version, a driver, or (None) of all; of a take itself."""
    depth = 0 if id_ is None else len(paths.parts_of(id_))
    found = [id_]
    for level in paths.LEVELS[depth:]:
        found = [child for above in found for child in children(folder, above, level)]
    return [take for take in found if take is not None]


def rigs(folder: Path) -> list[str]:
    """Names of all rigs."""
    return records_in(folder, "rigs")


def records_in(folder: Path, holder: str) -> list[str]:
    """Names of the records in a folder of the workshop that holds one file each: rigs, parts, materials."""
    names = names_in(str(folder / holder), files=True)
    return [name.removesuffix(".toml") for name in names if name.endswith(".toml")]


def existing(folder: Path, id_: str, level: str | None = None, *, key: str | None = None) -> str:
    """Return `id_` if there is such a driver, version, unit or take, else raise `InputError`.

    `key` is that of a record which names it, where one does: the fault is that record's, then.
    """
    if level is not None:
        with asked_by(key):
            paths.expect(id_, level)
    path = paths.record_path(folder, id_)
    with reporting(path, "read"):
        there = path.exists()
    if not there:
        raise _missing(folder, id_, key)
    return id_


def _missing(folder: Path, id_: str, key: str | None) -> InputError:
    """What is said of an id that is not there: the highest of its levels that is missing, with what stands beside it."""
    parts = id_.split("/")
    above = (("/".join(parts[:depth])) for depth in range(1, len(parts)))
    gone = next((one for one in above if not paths.record_path(folder, one).exists()), id_)
    level = paths.level_of(gone)
    siblings = children(folder, gone.rpartition("/")[0] or None, level)
    return InputError(f"There is no {level} {gone}", file=None if key else str(folder), key=key,
                      allowed=siblings[:12] or f"there is no {level} yet")  # fmt: skip
