"""Marks kept in the workshop: what stands behind a printed number, found again by a few letters.

::

    marks = keep_marks(workshop, comparison.columns, comparison.settings)    # {(version_id, figure_key): mark}
    record = read_mark(workshop, "K7M-2X9Q")                                 # MarkRecord, or an error that names the nearest
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any, Protocol

from halfroll import __version__
from halfroll.core.errors import InputError, OwnFaultError
from halfroll.figures.marks import LONGEST, SHORTEST, is_mark, mark_of, nearest, normal, printed
from halfroll.figures.parameters import ABSOLUTE_FIGURES
from halfroll.figures.parameters import KEYS as PARAMETERS
from halfroll.figures.types import Figure, FigureSettings, TakeReadings
from halfroll.workshop import joined, paths
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.files import digest, digest_of_file, make_folder, read_whole, write_whole
from halfroll.workshop.jobs import key_of
from halfroll.workshop.locking import locked
from halfroll.workshop.mark_record import MarkedTake, MarkRecord
from halfroll.workshop.rig_time import rig_at
from halfroll.workshop.store import Workshop
from halfroll.workshop.virtual_takes import cabinet_of, design_digest, is_predicted

WORDS = ("label", "missing", "cautions", "expanded_95")
"""What of a figure is not in its mark: words that may be put better one day, and what follows from the rest."""


TYPED = ("re_ohm", "re_u_ohm", "moving_mass_g", "moving_mass_u_g")
"""Keys of a unit's record that its parameters rest on."""


class MarkedVersion(Protocol):
    """What must be known of a version (`compare.types.VersionInput`)."""

    @property
    def version_id(self) -> str: ...  # noqa: D102
    @property
    def takes(self) -> tuple[TakeReadings, ...]: ...  # noqa: D102
    @property
    def runs(self) -> tuple[TakeReadings, ...]: ...  # noqa: D102
    @property
    def published_source(self) -> str: ...  # noqa: D102


class MarkedColumn(Protocol):
    """A version with its figures (`compare.types.Column`)."""

    @property
    def version(self) -> MarkedVersion: ...  # noqa: D102
    @property
    def figures(self) -> dict[str, Figure]: ...  # noqa: D102


def marks_folder(workshop: Workshop) -> Path:
    """Where marks are kept."""
    return workshop.folder / "releases" / "marks"


def keep_marks(
    workshop: Workshop, columns: Sequence[MarkedColumn], settings: FigureSettings | None = None
) -> Mapping[tuple[str, str], str]:
    """Keep what stands behind every figure of some columns that has a value; gives the marks by (version id, figure key).

    A mark kept before stays as it is. The id of a column that is a prediction beside its measurement keeps its ``@predicted``.

    Raises
    ------
    InputError
        A record is gone meanwhile, or the folder cannot be written; what was written before stands whole.
    """
    found = records_of(workshop, columns, settings)
    folder = marks_folder(workshop)
    make_folder(folder, durable=workshop.durable)
    marks: dict[tuple[str, str], str] = {}
    with locked(workshop.folder):
        for record in found:
            marks[record.version_id, record.key] = _kept(folder, record)
    return marks


def records_of(
    workshop: Workshop, columns: Sequence[MarkedColumn], settings: FigureSettings | None = None
) -> list[MarkRecord]:
    """The records behind every figure of some columns, in their order, with marks of the usual length; writes nothing."""
    chosen = settings or workshop.settings
    behind = _Behind(workshop)
    beside = [column.version.version_id for column in columns]
    return [
        behind.record(column, figure, chosen, beside)
        for column in columns
        for figure in column.figures.values()
        if figure.value is not None
    ]


def read_mark(workshop: Workshop, mark: str) -> MarkRecord:
    """What stands behind a mark as somebody typed it: large or small, with spaces or hyphens, a look-alike for a character.

    Raises
    ------
    InputError
        There is no such mark (the nearest are named), or its file was changed.
    """
    typed = normal(mark)
    path = marks_folder(workshop) / f"{typed}.json"
    if is_mark(typed) and path.exists():
        return MarkRecord.from_json(read_whole(path), str(path))
    there = marks_in(workshop)
    near = [printed(one) for one in nearest(typed, there)]
    remedy = (
        "Compare it with the paper once more"
        if near
        else "Marks are kept when a data sheet, a site or a release is made"
    )
    raise InputError(
        "No number in this workshop has this mark", key="mark", found=repr(mark), allowed=near or _what_a_mark_is(there), remedy=remedy
    )  # fmt: skip


def marks_in(workshop: Workshop) -> list[str]:
    """Every mark that is kept, in order."""
    folder = marks_folder(workshop)
    if not folder.is_dir():
        return []
    return sorted(path.stem for path in folder.glob("*.json") if is_mark(path.stem))


def _what_a_mark_is(there: Sequence[str]) -> str:
    return (
        f"the {SHORTEST} or more letters and digits beside a printed number" if there else "there is none yet"
    )


def _kept(folder: Path, record: MarkRecord) -> str:
    """Write one record unless it is there; another content under the same mark gets a longer one."""
    for length in range(SHORTEST, LONGEST + 1):
        mark = mark_of(record.content, length)
        path = folder / f"{mark}.json"
        if not path.exists():
            write_whole(path, replace(record, mark=mark).as_json(), durable=False)
            return mark
        try:
            if MarkRecord.from_json(read_whole(path), str(path)).content == record.content:
                return mark
        except InputError:  # cut short or changed by somebody: what it must hold is known
            write_whole(path, replace(record, mark=mark).as_json(), durable=False)
            return mark
    raise OwnFaultError(
        f"No mark of up to {LONGEST} characters is free for {record.version_id} {record.key}."
    )


class _Behind:
    """Finds what stands behind figures; reads every record once."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._takes: dict[str, MarkedTake] = {}
        self._designs: dict[tuple[str, str | None], str] = {}

    @cached_property
    def _contents(self) -> Contents:
        return read_contents(self._workshop.folder, self._workshop.index)

    def record(
        self, column: MarkedColumn, figure: Figure, settings: FigureSettings, beside: Sequence[str]
    ) -> MarkRecord:
        version_id = column.version.version_id
        raw = figure.as_dict() | {"dof": None if figure.dof is None else repr(float(figure.dof))}
        found = MarkRecord(
            mark="",
            version_id=version_id,
            figure={key: value for key, value in raw.items() if key not in WORDS},
            settings=settings.as_dict(),
            takes=tuple(self._all(self._behind(figure))),
            basis=self._basis(column, figure),
            noted={
                "label": figure.label, "cautions": list(figure.cautions), "program": __version__,
                "beside": [one for one in beside if one != version_id],
            },
        ).again  # fmt: skip
        return replace(found, mark=mark_of(found.content))

    def _behind(self, figure: Figure) -> list[str]:
        """The takes of a figure; of masses and stiffnesses also the runs with a mass or box, which they come from together."""
        ids = list(figure.from_takes)
        if figure.key in ABSOLUTE_FIGURES:
            units = dict.fromkeys("/".join(id_.split("/")[:3]) for id_ in ids if not is_predicted(id_))
            more = [run for unit in units for run in self._contents.runs_below(unit, "impedance")]
            ids += [run for run in more if run not in ids and not self._contents.runs[run].leave_out]
        return ids

    def _all(self, ids: Iterable[str]) -> Iterable[MarkedTake]:
        """Takes and runs with the takes they were joined of or read from, each once."""
        wanted = list(ids)
        for id_ in wanted:
            wanted += [source for source in self._sources(id_) if source not in wanted]
        for id_ in wanted:
            if id_ not in self._takes:
                self._takes[id_] = self._take(id_)
            yield self._takes[id_]

    def _sources(self, id_: str) -> list[str]:
        run = self._contents.runs.get(id_)
        unit = "/".join(id_.split("/")[:3])
        named = getattr(run, "takes", ()) if joined.is_joined(id_) else (getattr(run, "take", ""),)
        return [name if "/" in name else f"{unit}/{name}" for name in named if name]

    def _take(self, id_: str) -> MarkedTake:
        if is_predicted(id_):
            return MarkedTake(id=id_, rig="computed")
        record: Any = self._contents.runs.get(id_) or self._contents.takes.get(id_)
        if record is None:
            raise self._contents.faults.get(id_) or InputError(
                f"There is no take {id_}", file=str(self._workshop.folder)
            )
        path = record_path_of(self._workshop, id_)
        files = [*getattr(record, "audio", ()), *getattr(record, "files", ())]
        name = getattr(record, "rig", "") or ""
        return MarkedTake(
            id=id_,
            record_sha256=digest_of_file(path),
            audio=tuple((one.file, one.sha256) for one in files),
            rig=name,
            calibration=self._calibration(name, record),
        )

    def _calibration(self, name: str, record: Any) -> str:
        rig = self._contents.rigs.get(name)
        return "" if rig is None else digest(rig_at(rig, record.when, record.roles).key.encode())

    def _basis(self, column: MarkedColumn, figure: Figure) -> dict[str, Any]:
        if figure.source == "published":
            return {"published": column.version.published_source}
        if figure.source != "predicted":
            return self._typed(figure)
        computed = [
            one for one in (*column.version.takes, *column.version.runs) if one.take_id in figure.from_takes
        ]
        shares = next((one.readings[figure.key].shares for one in computed if figure.key in one.readings), ())
        cabinet = cabinet_of(figure.from_takes[0]) if figure.from_takes else None
        plain = paths.of_prediction(column.version.version_id)[0]
        if (plain, cabinet) not in self._designs:
            self._designs[plain, cabinet] = design_digest(self._workshop, plain, cabinet)
        told = [[name, share] for name, share in shares]
        return {
            "design_sha256": self._designs[plain, cabinet],
            "assumptions_sha256": key_of(repr(told)),
            "assumptions": told,
            "cabinet": cabinet or "",
        }

    def _typed(self, figure: Figure) -> dict[str, Any]:
        """What somebody typed that a parameter rests on besides its runs: a meter's resistance, the weighed mass, the area of the cone."""
        if figure.key not in PARAMETERS:
            return {}
        units = {"/".join(id_.split("/")[:3]) for id_ in figure.from_takes}
        records = {id_: self._contents.units[id_] for id_ in sorted(units) if id_ in self._contents.units}
        typed = {id_: {key: getattr(one, key, None) for key in TYPED} for id_, one in records.items()}
        version = self._contents.versions.get(paths.version_of(next(iter(records)))) if records else None
        area = None if version is None else [version.effective_area_cm2, version.effective_area_u_cm2]
        return {"units": typed, "effective_area_cm2": area}


def record_path_of(workshop: Workshop, id_: str) -> Path:
    """The record file of a take or a run."""
    return (
        paths.run_path(workshop.folder, id_)
        if id_.count("/") == 4
        else paths.record_path(workshop.folder, id_)
    )
