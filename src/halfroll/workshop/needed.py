"""What a version stands on: parts, materials, rigs and files its records name, found in the records and named anew there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, TypeVar

from halfroll.workshop.fields import Record
from halfroll.workshop.material_record import MaterialRecord
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.records import RigRecord, VersionRecord
from halfroll.workshop.toml_write import plain, render

R = TypeVar("R", bound=Record)

KEYS = ("part", "material", "wire", "former_material", "glue", "made_from")
"""Keys of a version or a part that name a part or a material, own or of the catalogue."""

FILES = ("curve", "points", "curves")
"""Keys of a version that name a file beside it."""

FREE = ("origin", "changes", "published")
"""Tables of a version that name nothing that is bought."""


def named(record: VersionRecord | PartRecord) -> set[str]:
    """Keys of parts and materials a record names."""
    return {
        value for table in _tables(plain(record)) for key in KEYS if isinstance(value := table.get(key), str)
    }


def named_by_part(record: PartRecord) -> set[str]:
    """The same of a part; its glue is a word of the catalogue of glues, no record."""
    return {value for value in (record.material, record.made_from) if value}


def all_named(version: VersionRecord, parts: Mapping[str, PartRecord]) -> set[str]:
    """Keys a version names, with those its parts name in turn, and the spools of its filaments; `parts` are the workshop's own."""
    found: set[str] = set()
    ask = named(version)
    while ask:
        key = ask.pop()
        if key in found:
            continue
        found.add(key)
        if key in parts:
            ask |= named_by_part(parts[key])
    return found | {id_ for id_, part in parts.items() if part.type == "filament" and part.material in found}


def files_of_version(record: VersionRecord) -> set[str]:
    """Names of files beside a version's record that it names."""
    return {
        value
        for table in _tables(plain(record), skip=())
        for key in FILES
        if isinstance(value := table.get(key), str)
    }


def files_of_material(record: MaterialRecord) -> set[str]:
    """The B-H table beside a steel's record."""
    table = None if record.steel is None else record.steel.table
    return set() if table is None else {table}


def files_of_rig(record: RigRecord) -> dict[str, str]:
    """Correction curves beside a rig's record with their hashes, those of earlier calibrations too."""
    microphones = [record.microphone, *(one.microphone for one in record.history)]
    return {
        m.correction: m.correction_sha256
        for m in microphones
        if m is not None and m.correction and m.correction_sha256
    }


def named_anew(record: R, names: Mapping[str, str], *, keys: tuple[str, ...] = KEYS) -> R:
    """The record with parts and materials under other names."""
    if not names:
        return record
    said = _changed(plain(record), lambda key, value: names.get(value, value) if key in keys else value)
    return type(record).model_validate(said)


def file_of(record: Record) -> bytes:
    """The bytes of a new file that says what a record says."""
    return render(record, None, f"{record.kind}.toml")


def _tables(raw: Any, skip: tuple[str, ...] = FREE) -> Iterator[dict[str, Any]]:
    """Every table in plain values."""
    if isinstance(raw, dict):
        yield raw
        for key, value in raw.items():
            if key not in skip:
                yield from _tables(value, ())
    elif isinstance(raw, list):
        for value in raw:
            yield from _tables(value, ())


def _changed(raw: Any, change: Callable[[str, str], str], key: str = "") -> Any:
    if isinstance(raw, dict):
        return {
            name: value if name in FREE and not key else _changed(value, change, name)
            for name, value in raw.items()
        }
    if isinstance(raw, list):
        return [_changed(value, change, key) for value in raw]
    return change(key, raw) if isinstance(raw, str) else raw
