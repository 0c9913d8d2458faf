"""What the pages of a site are made from: each driver's line, each version's data sheet, their comparison, and what stands behind the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import pi, sqrt
from typing import Any

from halfroll.compare.recipe import compare_versions, expand
from halfroll.compare.types import Comparison
from halfroll.core.errors import RefusedError
from halfroll.core.progress import Progress, part, silent
from halfroll.publish.data_sheet_rows import DataSheet, data_sheet, told_column
from halfroll.publish.marks import marks_of
from halfroll.publish.outline import half_section
from halfroll.publish.private import public
from halfroll.publish.version_drawing import motor_drawings
from halfroll.workshop import Contents, VersionRecord, Workshop, paths, read_contents
from halfroll.workshop.mark_record import MarkRecord
from halfroll.workshop.marks import read_mark
from halfroll.workshop.overview import in_line


@dataclass(frozen=True, kw_only=True, eq=False)
class SiteVersion:
    """One version: its record, its sheet (None where nothing is known of it yet), its section, the names of its pages."""

    version_id: str
    record: VersionRecord
    title: str
    name: str
    slug: str
    sheet: DataSheet | None
    section: str
    notes: tuple[str, ...]

    @property
    def state(self) -> str:
        """How it stands, in words."""
        if self.sheet is None:
            return "nothing known yet"
        words = {"measured": "measured", "predicted": "predicted", "published": "from a printed table"}
        return " and ".join(words[source] for source in self.sheet.sources)


@dataclass(frozen=True, kw_only=True, eq=False)
class SiteDriver:
    """A driver's line of versions, and their comparison where at least two are known."""

    driver_id: str
    title: str
    aim: str
    notes: tuple[str, ...]
    versions: tuple[SiteVersion, ...]
    comparison: Comparison | None
    marks: Mapping[tuple[str, str], str]


@dataclass(frozen=True, kw_only=True, eq=False)
class SiteData:
    """All of a site before its pages are written; `parts` are (title, kind, versions that use it)."""

    name: str
    date: str
    drivers: tuple[SiteDriver, ...]
    records: tuple[MarkRecord, ...]
    parts: tuple[tuple[str, str, tuple[str, ...]], ...]

    @property
    def versions(self) -> tuple[SiteVersion, ...]:
        """All versions of all drivers."""
        return tuple(version for driver in self.drivers for version in driver.versions)


def gather(
    workshop: Workshop,
    versions: Sequence[str] = (),
    *,
    date: str,
    predict: bool = False,
    progress: Progress = silent,
) -> SiteData:
    """Read everything a site shows, and keep what stands behind its numbers.

    Parameters
    ----------
    versions
        ``driver/version``, or a driver's id for all its versions; the whole workshop when empty.
    predict
        Work out predictions that are not kept; without, only those that are kept or stand alone are shown.

    Raises
    ------
    RefusedError
        There is no version whose figures are known.
    InputError
        A named version does not exist, or a record has a fault.
    CancelledError
        Through `progress`.
    """
    wanted = [workshop.existing(id_, "version") for id_ in expand(workshop, versions)]
    contents = read_contents(workshop.folder, workshop.index)
    for id_ in wanted:
        if id_ in contents.faults:
            raise contents.faults[id_]
    titles = {id_: _title(contents, id_) for id_ in wanted}
    drawn = motor_drawings(workshop, {id_: contents.versions[id_] for id_ in wanted}, titles, width_px=420)
    found: dict[str, SiteVersion] = {}
    for done, id_ in enumerate(wanted):
        here = part(progress, 0.8 * done / len(wanted), 0.8 * (done + 1) / len(wanted))
        here(0.0, f"gathering {id_}")
        found[id_] = _version(workshop, contents, id_, drawn.get(id_, ""), predict, here)
    if not any(one.sheet for one in found.values()):
        raise RefusedError("Pages for visitors need at least one version whose figures are known", found="none",
                           remedy="Measure a unit, predict a design, or write a table [published] or [parameters] into a record")  # fmt: skip
    ids = list(dict.fromkeys(id_.partition("/")[0] for id_ in wanted))
    drivers = []
    for done, id_ in enumerate(ids):
        progress(0.8 + 0.2 * done / len(ids), f"comparing the versions of {id_}")
        drivers.append(_driver(workshop, contents, id_, found))
    progress(1.0, "gathered")
    return SiteData(name=workshop.name, date=date, drivers=tuple(drivers), records=tuple(_records(workshop, drivers)),
                    parts=tuple(_parts(contents, wanted)))  # fmt: skip


def slug_of(version_id: str) -> str:
    """The name of a version's pages: its id with ``--`` for ``/``, which no id of its own can be mistaken for."""
    return version_id.replace("/", "--")


def _title(contents: Contents, version_id: str) -> str:
    driver_id, name = paths.expect(version_id, "version")
    driver = contents.drivers.get(driver_id)
    return f"{driver.title if driver else driver_id} {name}"


def _version(
    workshop: Workshop, contents: Contents, version_id: str, drawn: str, predict: bool, progress: Progress
) -> SiteVersion:
    record, title = contents.versions[version_id], _title(contents, version_id)
    try:
        sheet: DataSheet | None = data_sheet(workshop, version_id, predict=predict, progress=progress)
    except RefusedError:
        sheet = None
    area = record.effective_area_cm2
    radius = None if area is None else sqrt(1e-4 * area / pi)
    return SiteVersion(
        version_id=version_id, record=record, title=record.title, name=title, slug=slug_of(version_id), sheet=sheet,
        section=drawn or half_section(radius, name=title), notes=public(record.notes),
    )  # fmt: skip


def _driver(
    workshop: Workshop, contents: Contents, driver_id: str, found: Mapping[str, SiteVersion]
) -> SiteDriver:
    record = contents.drivers[driver_id]
    versions = tuple(found[id_] for id_ in in_line(driver_id, contents) if id_ in found)
    known = [one.version_id for one in versions if one.sheet is not None]
    comparison, marks = None, {}
    if len(known) > 1:
        comparison = compare_versions(workshop, known, base="parent")
        marks = dict(marks_of(workshop, comparison))
        comparison = replace(comparison, columns=tuple(told_column(column) for column in comparison.columns))
    return SiteDriver(driver_id=driver_id, title=record.title, aim=record.aim, notes=public(record.notes), versions=versions,
                      comparison=comparison, marks=marks)  # fmt: skip


def _records(workshop: Workshop, drivers: Sequence[SiteDriver]) -> Iterator[MarkRecord]:
    """The record behind every mark of the site, each once, in the order of the pages."""
    seen: set[str] = set()
    for driver in drivers:
        sheets = [version.sheet for version in driver.versions if version.sheet is not None]
        for marks in (*(sheet.marks for sheet in sheets), driver.marks):
            for mark in marks.values():
                if mark not in seen:
                    seen.add(mark)
                    yield read_mark(workshop, mark)


def _parts(contents: Contents, versions: Sequence[str]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Parts and materials of the workshop that chosen versions name, without prices or suppliers."""
    used: dict[str, list[str]] = {}
    for id_ in versions:
        for word in set(_words(contents.versions[id_].model_dump())):
            used.setdefault(word, []).append(id_)
    for kind, records in (("part", contents.parts), ("material", contents.materials)):
        for key, record in records.items():
            if key in used:
                yield (
                    str(getattr(record, "title", "") or getattr(record, "name", "") or key),
                    kind,
                    tuple(used[key]),
                )


def _words(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from _words(one)
    elif isinstance(value, (list, tuple)):
        for one in value:
            yield from _words(one)
