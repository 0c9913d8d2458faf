"""What there is in a workshop folder. Names that begin with a dot are work in progress and not listed."""

from __future__ import annotations

from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.workshop import paths


def children(folder: Path, id_: str | None, level: str) -> list[str]:
    """Ids of what lies directly below an id (None: below the workshop), in the order in which a person counts."""
    holder = paths.place_of(folder if id_ is None else paths.folder_of(folder, id_), level)
    names = paths.in_order(path.parent.name for path in holder.glob(f"*/{level}.toml") if _shown(path.parent))
    for name in names:
        paths.check_name(name, level, file=str(holder / name))
    return [name if id_ is None else f"{id_}/{name}" for name in names]


def takes_below(folder: Path, id_: str | None) -> list[str]:
    """Ids of all takes of a unit, a version, a driver, or (None) of all; of a take itself."""
    depth = 0 if id_ is None else len(paths.parts_of(id_))
    found = [id_]
    for level in paths.LEVELS[depth:]:
        found = [child for above in found for child in children(folder, above, level)]
    return [take for take in found if take is not None]


def rigs(folder: Path) -> list[str]:
    """Names of all rigs."""
    return paths.in_order(path.stem for path in (folder / "rigs").glob("*.toml") if _shown(path))


def existing(folder: Path, id_: str, level: str | None = None) -> str:
    """Return `id_` if there is such a driver, version, unit or take, else raise `InputError`."""
    if level is not None:
        paths.expect(id_, level)
    if not paths.record_path(folder, id_).exists():
        level = paths.level_of(id_)
        above = id_.rpartition("/")[0] or None
        siblings = children(folder, above, level)
        raise InputError(f"There is no {level} {id_}", file=str(folder),
                         allowed=siblings[:12] or f"there is no {level} yet")  # fmt: skip
    return id_


def _shown(path: Path) -> bool:
    return not path.name.startswith(".")
