"""The records in a bundle: parsed and held together before any of them is believed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from halfroll.core.errors import InputError
from halfroll.workshop import paths
from halfroll.workshop.bundle_manifest import require_text
from halfroll.workshop.fields import Record
from halfroll.workshop.guide_record import GuideRecord
from halfroll.workshop.material_record import MaterialRecord
from halfroll.workshop.needed import files_of_material, files_of_rig, files_of_version
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.records import DriverRecord, RigRecord, TakeRecord, UnitRecord, VersionRecord
from halfroll.workshop.runs import run_model
from halfroll.workshop.toml_read import decode, parse, parse_record
from halfroll.workshop.toml_write import plain

Parsed = tuple[Record, bytes]

PHOTOGRAPHS = "photographs"
"""The folder of a unit its pictures lie in."""
PICTURES = (".jpg", ".jpeg", ".png", ".webp")
"""Endings a picture of somebody else may have: what a browser shows and cannot run."""


@dataclass(frozen=True, kw_only=True)
class Bundled:
    """Records of a bundle by id, each with its file's bytes, and the files beside them by path below ``records/``.

    `beside` gives for each file the hash its record states; None where it states none.
    """

    drivers: dict[str, tuple[DriverRecord, bytes]] = field(default_factory=dict)
    versions: dict[str, tuple[VersionRecord, bytes]] = field(default_factory=dict)
    guides: dict[str, tuple[GuideRecord, bytes]] = field(default_factory=dict)
    units: dict[str, tuple[UnitRecord, bytes]] = field(default_factory=dict)
    takes: dict[str, tuple[TakeRecord, bytes]] = field(default_factory=dict)
    runs: dict[str, tuple[Any, bytes]] = field(default_factory=dict)
    parts: dict[str, tuple[PartRecord, bytes]] = field(default_factory=dict)
    materials: dict[str, tuple[MaterialRecord, bytes]] = field(default_factory=dict)
    rigs: dict[str, tuple[RigRecord, bytes]] = field(default_factory=dict)
    beside: dict[str, str | None] = field(default_factory=dict)

    @property
    def counts(self) -> dict[str, int]:
        """How many of each kind."""
        kinds = ("drivers", "versions", "guides", "units", "takes", "runs", "parts", "materials", "rigs")
        return {kind: len(getattr(self, kind)) for kind in kinds}


def read_records(
    files: Iterable[str], read: Callable[[str], bytes], versions: Iterable[str], shown: str
) -> tuple[Bundled, list[InputError]]:
    """The records among `files` (paths below ``records/``), and everything that is wrong with them.

    Parameters
    ----------
    read
        Gives the bytes of a file.
    versions
        What the manifest says is released: each must be there.
    shown
        What the bundle is called in messages.
    """
    found, problems, others = Bundled(), [], []
    for path in sorted(files):
        model_and_place = _kind_of(path)
        if model_and_place is None:
            others.append(path)
            continue
        model, place, id_ = model_and_place
        try:
            _check_id(place, id_)
            getattr(found, place)[id_] = _parsed(read(path), model, f"{shown}/records/{path}")
        except InputError as fault:
            problems.append(fault)
    if not problems:
        problems += _hang_together(found, versions, shown)
    if not problems:
        problems += _beside(found, others, shown)
    return found, problems


def _kind_of(path: str) -> tuple[type[Record], str, str] | None:
    """Model, where it is kept and id of a record by its path; None where it is no record."""
    parts = path.split("/")
    if len(parts) == 2 and parts[1].endswith(".toml"):
        holders: Mapping[str, type[Record]] = {
            "parts": PartRecord,
            "materials": MaterialRecord,
            "rigs": RigRecord,
        }
        if parts[0] in holders:
            return holders[parts[0]], parts[0], parts[1].removesuffix(".toml")
    if parts[0] != "drivers":
        return None
    match parts[1:]:
        case [driver, "driver.toml"]:
            return DriverRecord, "drivers", driver
        case [driver, version, "version.toml"]:
            return VersionRecord, "versions", f"{driver}/{version}"
        case [driver, version, "guide.toml"]:
            return GuideRecord, "guides", f"{driver}/{version}"
        case [driver, version, "units", unit, "unit.toml"]:
            return UnitRecord, "units", f"{driver}/{version}/{unit}"
        case [driver, version, "units", unit, "takes", take, "take.toml"]:
            return TakeRecord, "takes", f"{driver}/{version}/{unit}/{take}"
        case [driver, version, "units", unit, kind, run, file] if (
            kind in paths.RUN_KINDS and file == f"{kind}.toml"
        ):
            return run_model(kind), "runs", f"{driver}/{version}/{unit}/{kind}/{run}"
    return None


def _check_id(place: str, id_: str) -> None:
    if place == "runs":
        paths.run_parts(id_)
    elif place in ("parts", "materials", "rigs"):
        paths.check_name(id_, place.removesuffix("s"))
    else:
        paths.expect(id_, "version" if place == "guides" else place.removesuffix("s"))


def _parsed(data: bytes, model: type[Record], file: str) -> Parsed:
    """A record; whatever a stranger can do to a parser becomes words."""
    try:
        require_text(parse(decode(data, file), file), file)
        record, _ = parse_record(data, model, file)
        require_text(plain(record), file)
    except InputError:
        raise
    except (ValueError, OverflowError, RecursionError, TypeError, AttributeError) as error:
        raise InputError(
            "The record cannot be read", file=file, found=f"{type(error).__name__}: {error}"[:120]
        ) from error
    return record, data


def _hang_together(found: Bundled, versions: Iterable[str], shown: str) -> list[InputError]:
    """Whether everything has what it stands on, and nothing is there that nobody names."""
    said = list(versions)
    problems = [
        InputError(f"The bundle must hold {what}, which {whose} needs", file=shown, found="it does not")
        for what, whose in _lacking(found, said)
    ]
    problems += [
        InputError(
            "The bundle holds a version its manifest does not name", file=shown, found=id_, allowed=said
        )
        for id_ in found.versions
        if id_ not in said
    ]
    problems += [
        InputError("The bundle holds a driver without a version", file=shown, found=id_)
        for id_ in found.drivers
        if not any(version.startswith(f"{id_}/") for version in found.versions)
    ]
    problems += [
        InputError("A photograph must be a picture", file=shown, found=f"{name} of {id_}", allowed=PICTURES)
        for id_, (built, _) in found.units.items()
        for name in photographs_of(built)
        if not name.lower().endswith(PICTURES)
    ]
    return problems


def _lacking(found: Bundled, said: Sequence[str]) -> Iterator[tuple[str, str]]:
    """What is not there, and what needs it."""
    for id_ in said:
        if id_ not in found.versions:
            yield f"the record of {id_}", "the manifest"
    for id_ in found.versions:
        driver = id_.split("/")[0]
        if driver not in found.drivers:
            yield f"the record of the driver {driver}", id_
    for id_ in (*found.takes, *found.runs):
        unit = "/".join(id_.split("/")[:3])
        if unit not in found.units:
            yield f"the record of the unit {unit}", id_
    for id_ in found.guides:
        if id_ not in found.versions:
            yield f"the record of {id_}", f"the guide of {id_}"
    for id_ in found.units:
        if paths.version_of(id_) not in found.versions:
            yield f"the record of {paths.version_of(id_)}", id_
    for id_, (record, _) in (*found.takes.items(), *found.runs.items()):
        rig = getattr(record, "rig", "")
        if rig and rig not in found.rigs and record.audio:  # a table may tell of a rig there is no record of
            yield f"the rig {rig}", id_


def _beside(found: Bundled, others: list[str], shown: str) -> list[InputError]:
    """Every other file must be one that a record names; notes the hash the record states."""
    wanted = wanted_files(found)
    problems = [
        InputError("A file beside the records is named by none of them", file=shown, found=f"records/{path}")
        for path in others
        if path not in wanted
    ]
    problems += [
        InputError("A file that a record names is not in the bundle", file=shown, found=f"records/{path}")
        for path in wanted
        if path not in others
    ]
    found.beside.update(wanted)
    return problems


def wanted_files(found: Bundled) -> dict[str, str | None]:
    """Files that records name, by path below ``records/``, with the hash stated for each."""
    wanted: dict[str, str | None] = {}
    for id_, (version, _) in found.versions.items():
        wanted |= dict.fromkeys(f"drivers/{id_}/{name}" for name in files_of_version(version))
    for id_, (unit, _) in found.units.items():
        wanted |= {
            f"{_unit_folder(id_)}/{PHOTOGRAPHS}/{name}": sha256
            for name, sha256 in photographs_of(unit).items()
        }
    for id_, (take, _) in found.takes.items():
        folder = f"{_unit_folder(id_)}/takes/{id_.split('/')[3]}"
        wanted |= {f"{folder}/{audio.file}": audio.sha256 for audio in take.audio}
    for id_, (run, _) in found.runs.items():
        unit_id, kind, name = paths.run_parts(id_)
        folder = f"{_unit_folder(unit_id)}/{kind}/{name}"
        wanted |= {f"{folder}/{one.file}": one.sha256 for one in (*run.audio, *run.files)}
    for material, _ in found.materials.values():
        wanted |= dict.fromkeys(f"materials/{name}" for name in files_of_material(material))
    for rig, _ in found.rigs.values():
        wanted |= {f"rigs/{name}": sha256 for name, sha256 in files_of_rig(rig).items()}
    return wanted


def photographs_of(unit: UnitRecord) -> dict[str, str | None]:
    """Photographs of a unit by file, with their hashes where stated."""
    tables: Iterable[Any] = getattr(unit, "photographs", ())
    return {str(one.file): getattr(one, "sha256", None) for one in tables}


def _unit_folder(id_: str) -> str:
    driver, version, unit = id_.split("/")[:3]
    return f"drivers/{driver}/{version}/units/{unit}"
