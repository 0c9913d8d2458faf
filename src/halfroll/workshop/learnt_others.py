"""What other versions would become if they believed what one version's update found of a shared material."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import HalfrollError
from halfroll.core.progress import Progress, part, silent
from halfroll.workshop.contents import read_contents
from halfroll.workshop.parts import lookups

if TYPE_CHECKING:
    from halfroll.driver.lumped import DriverModel
    from halfroll.driver.update.types import Cause
    from halfroll.materials.catalogue import Catalogue
    from halfroll.workshop.store import Workshop

SAID = ("fs_hz", "bl_n_per_a", "level_2v83_db")


@dataclass(frozen=True, kw_only=True)
class OtherVersion:
    """A version that uses a material, and its values (`SAID`) before and with what was learnt; both empty when `fault` says why not."""

    version_id: str
    keys: tuple[str, ...]
    before: Mapping[str, float]
    after: Mapping[str, float]
    fault: str = ""


def other_versions(
    workshop: Workshop, version_id: str, causes: Sequence[Cause], progress: Progress = silent
) -> tuple[OtherVersion, ...]:
    """All other versions that use the material of a cause, predicted with and without what was learnt; nothing is saved."""
    from halfroll.workshop.prediction import predicted_driver

    using = users(workshop, [cause.assumption.record for cause in causes])
    wanted = [one for one in using if one != version_id]
    found = []
    for number, one in enumerate(wanted):
        told = part(progress, number / len(wanted), (number + 1) / len(wanted))
        keys = tuple(cause.assumption.key for cause in causes if cause.assumption.record in using[one])
        try:
            predicted = predicted_driver(workshop, one, told)
            there = {a.key: a for a in predicted.assumptions}
            by = {
                c.assumption.key: _in_its_own(c, there[c.assumption.key])
                for c in causes
                if c.assumption.key in there
            }
            if not by:
                continue
            before, after = _values(predicted.model), _values(predicted.moved(by))
            found.append(OtherVersion(version_id=one, keys=tuple(by), before=before, after=after))
        except HalfrollError as fault:
            found.append(OtherVersion(version_id=one, keys=keys, before={}, after={}, fault=str(fault)))
    return tuple(found)


def _in_its_own(cause: Cause, there: Any) -> float:
    """The same change in the other version's standard uncertainties."""
    if cause.assumption.by_ratio:
        return float(math.log(cause.value / cause.assumption.value) / (there.u / there.value))
    return float((cause.value - cause.assumption.value) / there.u)


def _values(model: DriverModel) -> dict[str, float]:
    from halfroll.driver.lumped import small_signal

    small = small_signal(model)
    return {"fs_hz": small.fs, "bl_n_per_a": abs(model.Bl[0]), "level_2v83_db": small.level_2v83_db}


def users(workshop: Workshop, materials: Sequence[str]) -> dict[str, set[str]]:
    """By version, which of some materials its parts are of, through parts and spools too."""
    contents, known = read_contents(workshop.folder, workshop.index), lookups(workshop)
    wanted, found = set(materials), {}
    for version_id, record in contents.versions.items():
        named = {one for key in _named(record) for one in (key, _material_of(known, key)) if one}
        if wanted & named:
            found[version_id] = wanted & named
    return found


def _material_of(known: Catalogue, key: str) -> str | None:
    part = known.parts.get(key)
    return None if part is None else part.material


def _named(value: Any) -> Iterator[str]:
    """Every part and material a record names."""
    if isinstance(value, list | tuple):
        for one in value:
            yield from _named(one)
        return
    if not hasattr(type(value), "model_fields"):
        return
    for key, inner in value:
        if isinstance(inner, str):
            if key in ("material", "former_material", "part", "wire"):
                yield inner
        else:
            yield from _named(inner)
