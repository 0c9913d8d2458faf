"""Where the drivers of a workshop stand: every version in line, what is built, what is measured. Analyses nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.workshop import paths
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.derive import standing
from halfroll.workshop.joined import run_readings, with_joined
from halfroll.workshop.records import DriverRecord, VersionRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.virtual_takes import foreseen, kept_take


@dataclass(frozen=True, kw_only=True)
class VersionLine:
    """One version in the overview.

    Parameters
    ----------
    parent
        Id of the parent; None for a first version or when there is no such version.
    units
        Ids of its units.
    readings
        Of its takes that are analysed.
    pending
        Ids of its takes that wait to be analysed.
    predicted
        Readings of its computed take and parameters, as far as they are kept, of a version without takes.
    """

    version_id: str
    record: VersionRecord
    parent: str | None
    units: tuple[str, ...]
    readings: tuple[TakeReadings, ...]
    pending: tuple[str, ...]
    predicted: tuple[TakeReadings, ...] = ()


@dataclass(frozen=True, kw_only=True)
class DriverLine:
    """A driver with its versions, parents before children."""

    driver_id: str
    record: DriverRecord
    versions: tuple[VersionLine, ...]


@dataclass(frozen=True, kw_only=True)
class Overview:
    """All drivers of a workshop, and what is wrong with records that could not be read, by id."""

    name: str
    drivers: tuple[DriverLine, ...]
    rigs: tuple[str, ...]
    faults: dict[str, InputError]


def overview(
    workshop: Workshop,
    *,
    settings: FigureSettings | None = None,
    figures: Collection[str] | None = None,
    progress: Progress = silent,
) -> Overview:
    """What stands where, from the index.

    `settings` say how figures are read; without, as the workshop says. `figures` are the keys of the readings that are
    wanted, all when left out; few are quicker.
    """
    record = workshop.workshop_record().record
    contents = read_contents(workshop.folder, workshop.index)
    chosen = settings or record.figures.settings()
    known = standing(workshop, contents, settings=chosen, figures=figures, progress=progress)
    units = _by_version(contents.units)
    analysed = _by_version(known.readings)
    made = [run for unit in contents.units for run in _joined_of(workshop, contents, unit, chosen)]
    joined_of = _by_version(run.take_id for run in made)
    by_id = {run.take_id: run for run in made}
    pending = _by_version(known.pending)

    def line(version_id: str) -> VersionLine:
        return VersionLine(
            version_id=version_id,
            record=contents.versions[version_id],
            parent=parent_of(version_id, contents),
            units=tuple(units.get(version_id, ())),
            readings=tuple(
                with_joined(
                    contents,
                    [known.readings[take_id] for take_id in analysed.get(version_id, ())],
                    [by_id[run_id] for run_id in joined_of.get(version_id, ())],
                )
            ),
            pending=tuple(pending.get(version_id, ())),
            predicted=() if version_id in analysed or version_id in pending else foreseen_of(version_id),
        )

    def foreseen_of(version_id: str) -> tuple[TakeReadings, ...]:
        record = contents.versions[version_id]
        if record.published is not None or not foreseen(record):
            return ()
        take = kept_take(workshop, version_id, settings=chosen)
        return () if take is None else take.all

    drivers = tuple(
        DriverLine(driver_id=id_, record=driver, versions=tuple(line(v) for v in in_line(id_, contents)))
        for id_, driver in contents.drivers.items()
    )
    return Overview(name=record.name, drivers=drivers, rigs=tuple(contents.rigs), faults=contents.faults)


def _joined_of(
    workshop: Workshop, contents: Contents, unit_id: str, settings: FigureSettings
) -> list[TakeReadings]:
    """Readings of a unit's joined responses, as far as the index knows them."""
    if not contents.runs_below(unit_id, "joined"):
        return []
    return run_readings(workshop, contents, unit_id, settings, known_only=True)


def _by_version(ids: Iterable[str]) -> dict[str, list[str]]:
    """Ids of units or takes, sorted out by their version."""
    found: dict[str, list[str]] = {}
    for id_ in ids:
        found.setdefault(paths.version_of(id_), []).append(id_)
    return found


def parent_of(version_id: str, contents: Contents) -> str | None:
    """The id of a version's parent; None when it has none or names none that there is."""
    id_ = paths.parent_id(version_id, contents.versions[version_id].parent)
    return id_ if id_ in contents.versions and id_ != version_id else None


def in_line(driver_id: str, contents: Contents) -> list[str]:
    """Ids of a driver's versions: parents before children, else by date, else as a person counts."""
    left = [version for version in contents.versions if version.startswith(f"{driver_id}/")]
    left.sort(key=lambda version: contents.versions[version].date or dt.date.max)
    line: list[str] = []
    while left:
        ready = (v for v in left if parent_of(v, contents) not in left)
        line.append(next(ready, left[0]))  # parents in a circle: any comes first
        left.remove(line[-1])
    return line
