"""Ids and folders: ``driver/version/unit/take`` and where each record lies in the workshop.

::

    workshop.toml
    rigs/<rig>.toml
    parts/<part>.toml
    materials/<material>.toml
    enclosures/<cabinet>.toml
    crossovers/<crossover>.toml
    kits/<kit>.toml
    stock/<year>.toml
    builders/<check>/check.toml
    releases/<release>/release.toml
    releases/marks/<mark>.json
    drivers/<driver>/driver.toml
    drivers/<driver>/<version>/version.toml
    drivers/<driver>/<version>/units/<unit>/unit.toml
    drivers/<driver>/<version>/units/<unit>/photographs/
    drivers/<driver>/<version>/units/<unit>/takes/<take>/take.toml
    drivers/<driver>/<version>/units/<unit>/<kind>/<run>/<kind>.toml

A run is whatever else is done on the bench with a unit; its id is ``driver/version/unit/kind/run``.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from pathlib import Path

from halfroll.core.errors import InputError

WORKSHOP_FILE = "workshop.toml"
INDEX_FOLDER = ".halfroll"
LOCK_FILE = ".halfroll.lock"
FOLDERS = (
    "rigs", "parts", "materials", "enclosures", "crossovers", "kits", "stock", "builders", "releases", "drivers", "drafts", INDEX_FOLDER,
)  # fmt: skip
"""Folders of a workshop that are halfroll's own."""

LEVELS = ("driver", "version", "unit", "take")
"""What the first, second ... part of an id names."""

PREDICTED = "@predicted"
"""After the id of a version: what its design is predicted to do, whatever was measured."""

LONGEST_NAME = 80
_NAME = re.compile(r"[a-z0-9](?:[a-z0-9._-]*[a-z0-9_-])?")
_NAME_RULE = (
    "small letters a to z, digits, - _ . inside, up to 80 characters, starting with a letter or digit"
)
_RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
RUN_KINDS = ("impedance", "tones", "joined", "power")
"""Kinds of runs, each the name of a folder in the unit's and of the record file in the run's."""

PHOTOGRAPHS = "photographs"
"""Folder of a unit's pictures."""

_PLACES = ("units", "takes", "models", PHOTOGRAPHS, *RUN_KINDS)


def check_name(name: str, what: str, *, file: str | None = None) -> str:
    """Return `name` if it can name a folder on every system and be typed in an address, else raise `InputError`."""
    if not _NAME.fullmatch(name) or len(name) > LONGEST_NAME:
        remedy = f"{slug(name)!r} would do" if slug(name) else None
        raise InputError(f"The name of a {what} must be plain", found=repr(name), allowed=_NAME_RULE, remedy=remedy,
                         file=file)  # fmt: skip
    if name.split(".")[0] in _RESERVED or name in _PLACES or name.endswith((".toml", ".tmp")):
        raise InputError(f"The name of a {what} must not be a word with another meaning on disk", found=repr(name),
                         remedy="Choose another name", file=file)  # fmt: skip
    return name


def slug(text: str) -> str:
    """The nearest plain name of a text; empty when nothing of it can be kept.

    >>> slug("Großer Regenpfeifer, 2. Muster")
    'grosser-regenpfeifer-2.-muster'
    """
    plain = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9._-]+", "-", plain)[:LONGEST_NAME].strip("-._")


def parts_of(id_: str) -> tuple[str, ...]:
    """The names in an id, each checked; 1 to 4 of them."""
    names = tuple(id_.split("/"))
    if not 1 <= len(names) <= len(LEVELS):
        raise InputError("An id must have 1 to 4 names", found=repr(id_), allowed="/".join(LEVELS))
    return tuple(check_name(name, level) for name, level in zip(names, LEVELS, strict=False))


def expect(id_: str, level: str) -> tuple[str, ...]:
    """The names in an id of one level (``version`` wants ``driver/version``)."""
    names = parts_of(id_)
    depth = LEVELS.index(level) + 1
    if len(names) != depth:
        raise InputError(f"The id of a {level} must have {depth} names", found=repr(id_),
                         allowed="/".join(LEVELS[:depth]))  # fmt: skip
    return names


def of_prediction(id_: str) -> tuple[str, bool]:
    """The id of a version, and whether its prediction is meant: ``avocet/v8@predicted``."""
    return (id_.removesuffix(PREDICTED), True) if id_.endswith(PREDICTED) else (id_, False)


def level_of(id_: str) -> str:
    """``driver``, ``version``, ``unit`` or ``take``."""
    return LEVELS[len(parts_of(id_)) - 1]


def version_of(id_: str) -> str:
    """The version a unit or take belongs to; `id_` is one that was met in the workshop."""
    return "/".join(id_.split("/", 2)[:2])


def parent_id(version_id: str, parent: str | None) -> str | None:
    """The id of the parent a version's record names, which may leave out the driver when it is the same."""
    return parent if parent is None or "/" in parent else f"{version_id.partition('/')[0]}/{parent}"


def folder_of(root: Path, id_: str) -> Path:
    """The folder of a driver, version, unit or take."""
    folder = root
    for name, level in zip(parts_of(id_), LEVELS, strict=False):
        folder = place_of(folder, level) / name
    return folder


def place_of(above: Path, level: str) -> Path:
    """Where, inside the folder above, the folders of a level lie: drivers in the workshop, takes in a unit ..."""
    return above if level == "version" else above / f"{level}s"


def record_path(root: Path, id_: str) -> Path:
    """The record file of a driver, version, unit or take."""
    return folder_of(root, id_) / f"{level_of(id_)}.toml"


def photographs_folder(root: Path, unit_id: str) -> Path:
    """The folder of a unit's pictures."""
    return folder_of(root, unit_id) / PHOTOGRAPHS


def run_parts(run_id: str) -> tuple[str, str, str]:
    """Unit id, kind and name in the id of a run."""
    unit_id, _, rest = run_id.rpartition("/")
    unit_id, _, kind = unit_id.rpartition("/")
    if unit_id.count("/") != 2 or kind not in RUN_KINDS:
        raise InputError("The id of a run must be driver/version/unit/kind/name", found=repr(run_id),
                         allowed=[f"driver/version/unit/{kind}/name" for kind in RUN_KINDS])  # fmt: skip
    expect(unit_id, "unit")
    return unit_id, kind, check_name(rest, "run")


def run_folder(root: Path, run_id: str) -> Path:
    """The folder of a run."""
    unit_id, kind, name = run_parts(run_id)
    return folder_of(root, unit_id) / kind / name


def run_path(root: Path, run_id: str) -> Path:
    """The record file of a run."""
    return run_folder(root, run_id) / f"{run_parts(run_id)[1]}.toml"


def rig_path(root: Path, rig: str) -> Path:
    """The record file of a rig."""
    return root / "rigs" / f"{check_name(rig, 'rig')}.toml"


def part_path(root: Path, part: str) -> Path:
    """The record file of a part of one's own."""
    return root / "parts" / f"{check_name(part, 'part')}.toml"


def material_path(root: Path, material: str) -> Path:
    """The record file of a material of one's own."""
    return root / "materials" / f"{check_name(material, 'material')}.toml"


def cabinet_path(root: Path, cabinet: str) -> Path:
    """The record file of a cabinet."""
    return root / "enclosures" / f"{check_name(cabinet, 'cabinet')}.toml"


def crossover_path(root: Path, crossover: str) -> Path:
    """The record file of a crossover."""
    return root / "crossovers" / f"{check_name(crossover, 'crossover')}.toml"


def kit_path(root: Path, kit: str) -> Path:
    """The record file of a kit."""
    return root / "kits" / f"{check_name(kit, 'kit')}.toml"


def check_path(root: Path, check: str) -> Path:
    """The record file of what a builder read from a unit."""
    return root / "builders" / check_name(check, "check") / "check.toml"


def release_path(root: Path, release: str) -> Path:
    """The record file of a release."""
    return root / "releases" / check_name(release, "release") / "release.toml"


def in_order(names: Iterable[str]) -> list[str]:
    """Names as a person counts them: v2 before v10."""
    return sorted(names, key=natural_key)


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that reads runs of digits as numbers."""
    runs = re.findall(r"\d+|\D+", name)
    return tuple((0, int(run), "") if run.isdigit() else (1, 0, run) for run in runs)
