"""The catalogue shipped with the program: grades, steels, metals, wires, filaments and stock sizes, by key.

The tables are TOML files in ``data/``, read once. This is the one pure module that reads files: those of the package itself,
which are as much part of the program as its code.
"""

from __future__ import annotations

import difflib
import functools
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from importlib import resources
from types import MappingProxyType
from typing import Any, TypeVar

from halfroll.core.errors import InputError
from halfroll.materials import rows
from halfroll.materials.conductors import CONDUCTORS
from halfroll.materials.types import (
    Conductor,
    Filament,
    MagnetGrade,
    MagnetSize,
    Steel,
    StockPart,
    WasherSize,
    Wire,
)

T = TypeVar("T")
Material = MagnetGrade | Steel | Conductor | Filament


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """What can be looked up, by key. Keys are unique over all kinds of materials, and over all kinds of parts."""

    magnets: Mapping[str, MagnetGrade]
    steels: Mapping[str, Steel]
    conductors: Mapping[str, Conductor]
    wires: Mapping[str, Wire]
    filaments: Mapping[str, Filament]
    washers: Mapping[str, WasherSize]
    magnet_sizes: Mapping[str, MagnetSize]
    parts: Mapping[str, StockPart]
    faults: Mapping[str, InputError] = field(default_factory=dict)
    """Own records that could not be read, by their key: whoever asks for one is told what is wrong with it."""

    @property
    def materials(self) -> Mapping[str, Material]:
        """Everything a part can be made of."""
        return {**self.magnets, **self.steels, **self.conductors, **self.filaments}

    def material(self, key: str, /, **place: Any) -> Material:
        """What a part is made of; `InputError` with the nearest keys when there is no such, at `place` (file, key, line)."""
        return self._found(self.materials, key, "material", **place)

    def wire(self, key: str, /, **place: Any) -> Wire:
        """A winding wire; `InputError` with the nearest keys when there is no such."""
        return self._found(self.wires, key, "wire", **place)

    def part(self, key: str, /, **place: Any) -> StockPart:
        """A thing of known shape; `InputError` with the nearest keys when there is no such."""
        return self._found(self.parts, key, "part", **place)

    def _found(self, entries: Mapping[str, T], key: str, what: str, /, **place: Any) -> T:
        if (
            key in self.faults
        ):  # also where a shipped entry has that key: its values are not what the record meant
            raise self.faults[key]
        return found_in(entries, key, what, **place)

    def with_own(
        self,
        *,
        magnets: Iterable[MagnetGrade] = (),
        steels: Iterable[Steel] = (),
        conductors: Iterable[Conductor] = (),
        wires: Iterable[Wire] = (),
        filaments: Iterable[Filament] = (),
        parts: Iterable[StockPart] = (),
        faults: Mapping[str, InputError] | None = None,
    ) -> Catalogue:
        """The same with somebody's own entries; an own one goes before a shipped one of the same key."""
        return replace(
            self,
            magnets=_merged(self.magnets, magnets),
            steels=_merged(self.steels, steels),
            conductors=_merged(self.conductors, conductors),
            wires=_merged(self.wires, wires),
            filaments=_merged(self.filaments, filaments),
            parts=_merged(self.parts, parts),
            faults={**self.faults, **(faults or {})},
        )


def found_in(entries: Mapping[str, T], key: str, what: str, /, **place: Any) -> T:
    """The entry of a key, which may be written with capitals; `InputError` names the nearest keys."""
    if (entry := entries.get(key)) is not None or (entry := entries.get(key.strip().casefold())) is not None:
        return entry
    near = nearest(entries, key)
    raise InputError(f"There is no {what} of that key", found=key, allowed=near or f"{len(entries)} keys of the catalogue",
                     remedy="Look it up with: halfroll catalogue, or add one of your own with: halfroll parts", **place)  # fmt: skip


def nearest(keys: Iterable[str], key: str, most: int = 6) -> list[str]:
    """Keys that begin with one, then those written much like it, best first, then those that contain it."""
    word, known = key.strip().casefold(), list(keys)
    begun = [one for one in known if len(word) > 1 and one.startswith(word)]
    close = difflib.get_close_matches(word, known, n=most, cutoff=0.6)
    inside = [one for one in known if len(word) > 1 and word in one]
    return list(dict.fromkeys([*begun, *close, *inside]))[:most]


@functools.cache
def catalogue() -> Catalogue:
    """The shipped catalogue."""
    sizes = _by_key(rows.magnet_sizes(_read("magnet_sizes")))
    washers = _by_key(rows.washers(_read("washers")))
    parts = [rows.washer_part(washer) for washer in washers.values()]
    parts += [rows.magnet_part(size) for size in sizes.values()]
    return Catalogue(
        magnets=_by_key(rows.magnets(_read("magnets"))),
        steels=_by_key(rows.steels(_read("steels"))),
        conductors=CONDUCTORS,
        wires=_by_key(rows.wires(_read("wires"))),
        filaments=_by_key(rows.filaments(_read("filaments"))),
        washers=washers,
        magnet_sizes=sizes,
        parts=_by_key(parts),
    )


def _read(name: str) -> dict[str, Any]:
    text = (resources.files("halfroll.materials") / "data" / f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _by_key(entries: Iterable[T]) -> Mapping[str, T]:
    found: dict[str, T] = {}
    for entry in entries:
        key = entry.key  # type: ignore[attr-defined]
        if key in found:
            raise ValueError(f"the catalogue has two entries of key {key}")
        found[key] = entry
    return MappingProxyType(found)


def _merged(shipped: Mapping[str, T], own: Iterable[T]) -> Mapping[str, T]:
    return MappingProxyType({**shipped, **{entry.key: entry for entry in own}})  # type: ignore[attr-defined]
