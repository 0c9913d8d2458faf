"""Where the records of a bundle go in a workshop: what is new, what is there already, and what must get another name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from halfroll.core.errors import InputError, RefusedError
from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop import paths, tree
from halfroll.workshop.bring_in_parts import Plan, plan_parts, plan_rigs
from halfroll.workshop.bundle import BundleReport
from halfroll.workshop.bundle_manifest import MODELS, Manifest
from halfroll.workshop.bundle_records import Bundled
from halfroll.workshop.files import read_whole
from halfroll.workshop.needed import (
    all_named,
    file_of,
    named_anew,
)
from halfroll.workshop.parts import material_ids, part_ids
from halfroll.workshop.records import OriginTable
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_write import render


def plan_of(
    workshop: Workshop, report: BundleReport, as_name: str | Mapping[str, str] | None, today: dt.date | None
) -> Plan:
    """Where everything of a sound bundle goes.

    Raises
    ------
    InputError
        A name is taken, or none can be used.
    RefusedError
        A recording of it is in the workshop already, or there is nothing to bring in.
    """
    manifest, found = report.manifest, report.records
    assert manifest is not None
    if not found.versions:
        raise RefusedError("This bundle holds no records to bring in", file=str(report.path),
                           remedy="Ask its maker for a bundle with records")  # fmt: skip
    plan = Plan(drivers=_drivers(workshop, found, as_name))
    _refuse_repeats(workshop, found)
    names = plan_parts(workshop, manifest, found, plan)
    rigs = plan_rigs(workshop, manifest, found, plan)
    _versions(manifest, found, plan, names, _origin(report, manifest, today), workshop)
    _units(found, plan, rigs)
    _models(manifest, plan)
    _say(workshop, found, plan)
    return plan


def _drivers(workshop: Workshop, found: Bundled, as_name: str | Mapping[str, str] | None) -> dict[str, str]:
    """A name here for each driver of the bundle; of one that is there only when it was named."""
    wanted = _wanted(found, as_name)
    names = {}
    for driver in found.drivers:
        name = paths.check_name(wanted.get(driver, driver), "driver")
        here = (
            paths.record_path(workshop.folder, name).exists()
            or paths.folder_of(workshop.folder, name).exists()
        )
        if here and driver not in wanted:
            free = next(
                one
                for one in (f"{name}-{n}" for n in range(2, 1000))
                if not paths.folder_of(workshop.folder, one).exists()
            )
            raise InputError(f"There is a driver {name} already", key="--as", found=driver, allowed=f"a name of its own, such as {free}",
                             remedy=f"Say as which it is to be brought in; --as {name} puts its versions beside yours")  # fmt: skip
        names[driver] = name
    if len(set(names.values())) < len(names):
        raise InputError(
            "Two drivers of the bundle cannot have one name", key="--as", found=", ".join(names.values())
        )
    for id_ in found.versions:
        driver, _, rest = id_.partition("/")
        here_id = f"{names[driver]}/{rest}"
        if paths.folder_of(workshop.folder, here_id).exists():
            raise InputError(f"There is a version {here_id} already, and nothing is overwritten", key="--as", found=id_,
                             remedy="Bring it in under another name for its driver")  # fmt: skip
    return names


def _wanted(found: Bundled, as_name: str | Mapping[str, str] | None) -> Mapping[str, str]:
    if as_name is None:
        return {}
    if isinstance(as_name, str):
        if len(found.drivers) > 1:
            raise InputError("The bundle has several drivers; say for each what it is to be called", key="--as", found=as_name,
                             allowed=[f"{driver}=NAME" for driver in found.drivers])  # fmt: skip
        return {next(iter(found.drivers)): as_name}
    for driver in as_name:
        if driver not in found.drivers:
            raise InputError(
                "There is no such driver in the bundle", key="--as", found=driver, allowed=list(found.drivers)
            )
    return as_name


def _refuse_repeats(workshop: Workshop, found: Bundled) -> None:
    """Recordings that are here already would count twice."""
    hashes = {
        audio.sha256.encode(): f"{id_}/{audio.file}"
        for id_, (take, _) in found.takes.items()
        for audio in take.audio
    }
    for take_id in tree.takes_below(workshop.folder, None) if hashes else ():
        content = read_whole(paths.record_path(workshop.folder, take_id))
        for sha256, origin in hashes.items():
            if sha256 in content:
                raise RefusedError("A recording of the bundle is in the workshop already", found=f"{origin} is {take_id}",
                                   remedy="The release was brought in before, or is your own; there is nothing to do")  # fmt: skip


def _origin(report: BundleReport, manifest: Manifest, today: dt.date | None) -> dict[str, Any]:
    return {
        "release": manifest.release, "title": manifest.title, "date": manifest.date, "licence": manifest.licence.id,
        "authors": manifest.authors, "sha256": report.sha256, "brought_in": today,
    }  # fmt: skip


def _versions(
    manifest: Manifest, found: Bundled, plan: Plan, names: Mapping[str, str], origin: Mapping[str, Any], workshop: Workshop
) -> None:  # fmt: skip
    """Drivers and versions: a parent that comes along is found under its name here, another is only remembered."""
    for id_, (driver, _) in found.drivers.items():
        here = plan.drivers[id_]
        if not paths.record_path(workshop.folder, here).exists():
            plan.new[f"drivers/{here}/driver.toml"] = file_of(driver)
    for id_, (version, data) in found.versions.items():
        here = plan.version_id(id_)
        parent = paths.parent_id(id_, version.parent)
        comes = parent is not None and parent in found.versions
        table = OriginTable.model_validate(
            {**origin, "version": id_, "parent": "" if parent is None or comes else parent}
        )
        changed = named_anew(version, names).changed(
            origin=table, parent=plan.version_id(parent) if comes and parent is not None else None
        )  # fmt: skip
        plan.new[f"drivers/{here}/version.toml"] = render(changed, data, f"drivers/{here}/version.toml")
    for id_, (_, data) in found.guides.items():
        plan.new[f"drivers/{plan.version_id(id_)}/guide.toml"] = data
    for path in found.beside:
        parts = path.split("/")
        if parts[0] == "drivers":
            plan.copied[f"drivers/{plan.drivers[parts[1]]}/{'/'.join(parts[2:])}"] = f"records/{path}"


def _units(found: Bundled, plan: Plan, rigs: Mapping[str, str]) -> None:
    """Units, takes and runs; a take whose rig has another name here says so, all else stays to the byte."""
    for id_, (_, data) in found.units.items():
        driver, version, unit = id_.split("/")
        plan.new[f"drivers/{plan.drivers[driver]}/{version}/units/{unit}/unit.toml"] = data
    for id_, (record, data) in (*found.takes.items(), *found.runs.items()):
        driver, version, unit, *rest = id_.split("/")
        kind, name = ("takes", rest[0]) if len(rest) == 1 else (rest[0], rest[1])
        path = f"drivers/{plan.drivers[driver]}/{version}/units/{unit}/{kind}/{name}/{record.kind}.toml"
        rig = getattr(record, "rig", "")
        plan.new[path] = render(record.changed(rig=rigs[rig]), data, path) if rig in rigs else data


def _models(manifest: Manifest, plan: Plan) -> None:
    """Models of a version go into its own folder of models."""
    folders = {f"{MODELS}{id_.replace('/', '-')}/": id_ for id_ in manifest.versions}
    for line in manifest.files:
        for folder, id_ in folders.items():
            name = line.path.removeprefix(folder)
            if line.path.startswith(folder) and "/" not in name:
                plan.copied[f"drivers/{plan.version_id(id_)}/models/{name}"] = line.path


def _say(workshop: Workshop, found: Bundled, plan: Plan) -> None:
    if plan.renamed:
        told = join_words([f"{old} is {new} here" for old, new in sorted(plan.renamed.items())])
        plan.verdicts.append(Verdict(
            code="brought-in-renamed", severity=Severity.NOTE,
            text=f"The workshop has other things of these names, so they were kept apart: {told}.", data={"renamed": dict(plan.renamed)},
        ))  # fmt: skip
    own = {*part_ids(workshop), *material_ids(workshop)}
    parts = {id_: record for id_, (record, _) in found.parts.items()}
    keys = set().union(*(all_named(version, parts) for version, _ in found.versions.values()))
    hidden = sorted((keys & own) - found.parts.keys() - found.materials.keys())
    if hidden:
        plan.verdicts.append(Verdict(
            code="own-in-place-of-catalogue", severity=Severity.CAUTION,
            text=f"The release names {join_words(hidden)} of the catalogue, and your workshop has records of its own of that name, which go "
            "first: what is predicted of it here is predicted with yours.",
            remedy="Rename your own records, or compare the prediction with the figures in the bundle.", data={"keys": hidden},
        ))  # fmt: skip
