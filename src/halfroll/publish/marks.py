"""Marks of a comparison's numbers, what a marked number is today, and marks as data for a release or a site.

::

    marks = marks_of(workshop, comparison)               # {(version_id, figure_key): "k7m2x9q"}, kept in the workshop
    printed(marks["avocet/v8", "sensitivity_db"])        # "K7M2X9Q"
    same_now(workshop, "K7M2X9Q").sentences              # is the number still that?
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from halfroll.compare.recipe import compare_versions
from halfroll.compare.types import Comparison
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import format_with_u, join_words
from halfroll.figures.marks import canonical, printed
from halfroll.figures.types import Figure, Spread
from halfroll.workshop import Workshop, paths
from halfroll.workshop.files import digest_of_file
from halfroll.workshop.mark_record import MarkedTake, MarkRecord
from halfroll.workshop.marks import keep_marks, read_mark, record_path_of, records_of
from halfroll.workshop.virtual_takes import is_predicted

__all__ = ["MarkRecord", "Now", "keep_marks", "marks_json", "marks_of", "printed", "read_mark", "same_now"]

Standing = Literal["unchanged", "takes changed", "takes gone", "figure differs", "not there"]


@dataclass(frozen=True, kw_only=True)
class Now:
    """What a marked number is today.

    Parameters
    ----------
    standing
        ``unchanged``: the same number from the same takes; the sentences say where something behind it moved all the same. ``figure differs``: the same takes, another number (the program, the design or
        what it is compared with changed). ``takes changed``: a recording or its record is not what it was, or other takes count.
        ``takes gone``: one is not there any more. ``not there``: the version or the figure is gone.
    sentences
        The same for a person, with what is different.
    figure
        The number today, read with the same settings; None where there is none.
    changed, gone, added
        Ids of takes whose files are others, that are gone, and that count now and did not then.
    """

    standing: Standing
    sentences: tuple[str, ...]
    figure: Figure | None = None
    changed: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    added: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "standing": self.standing, "sentences": list(self.sentences), "takes_changed": list(self.changed),
            "takes_gone": list(self.gone), "takes_added": list(self.added),
            "figure": None if self.figure is None else self.figure.as_dict(),
        }  # fmt: skip


def marks_of(workshop: Workshop, comparison: Comparison) -> Mapping[tuple[str, str], str]:
    """The marks of every figure of a comparison that has a value, kept in the workshop now where they were not."""
    return keep_marks(workshop, comparison.columns, comparison.settings)


def marks_json(records: Iterable[MarkRecord]) -> bytes:
    """Marks as one JSON object for a release or a site: deterministic, with ids and hashes only, no path of anybody's machine."""
    found = {
        record.mark: json.loads(canonical(record.as_dict(noted=False))) | {"label": record.label}
        for record in records
    }
    return json.dumps({"marks": found}, sort_keys=True, indent=1, ensure_ascii=False).encode() + b"\n"


def same_now(workshop: Workshop, mark: str | MarkRecord, progress: Progress = silent) -> Now:
    """Whether a marked number is still that, read with the same settings from the takes as they are now.

    Raises
    ------
    InputError
        There is no such mark.
    CancelledError
        Through `progress`.
    """
    record = read_mark(workshop, mark) if isinstance(mark, str) else mark
    changed, gone = _takes_now(workshop, record)
    try:
        found = _record_now(workshop, record, progress)
    except InputError as fault:
        return Now(standing="takes gone" if gone else "not there", changed=changed, gone=gone,
                   sentences=(f"It cannot be read today. {fault}", *_of_takes(changed, gone, ())))  # fmt: skip
    if found is None:
        return Now(standing="takes gone" if gone else "not there", changed=changed, gone=gone,
                   sentences=(f"{record.version_id} has no {record.label.lower()} today.", *_of_takes(changed, gone, ())))  # fmt: skip
    now, figure = found
    added = tuple(sorted({take.id for take in now.takes} - {take.id for take in record.takes}))
    same = (now.value, now.u, now.figure["bound"]) == (record.value, record.u, record.figure["bound"])
    return Now(
        standing=_standing(same, changed, gone, added),
        sentences=(*_of_number(now, record, same), *_of_takes(changed, gone, added)),
        figure=figure, changed=changed, gone=gone, added=added,
    )  # fmt: skip


def _standing(
    same: bool,
    changed: tuple[str, ...],
    gone: tuple[str, ...],
    added: tuple[str, ...],
) -> Standing:
    if gone:
        return "takes gone"
    if changed or added:
        return "takes changed"
    return "unchanged" if same else "figure differs"


def _record_now(
    workshop: Workshop, record: MarkRecord, progress: Progress
) -> tuple[MarkRecord, Figure] | None:
    """The number today: alone, or where that is another number, beside the versions it was compared with then.

    A number predicted before anything was measured is held against the prediction of today, not against the measurement.
    """
    beside = [one for one in record.noted.get("beside", ()) if _is_there(workshop, one)]
    tries = [[record.version_id], *([[record.version_id, *beside]] if beside else [])]
    if record.source == "predicted" and not record.version_id.endswith(paths.PREDICTED):
        tries.append([record.version_id + paths.PREDICTED])
    found: list[tuple[MarkRecord, Figure]] = []
    for ids in tries:
        try:
            one = _read(workshop, record, ids, progress)
        except InputError:
            if ids is tries[0]:
                raise
            continue
        if one is not None and one[0].content == record.content:
            return one
        found += [] if one is None else [one]
    return next((one for one in found if one[0].source == record.source), next(iter(found), None))


def _read(
    workshop: Workshop, record: MarkRecord, ids: list[str], progress: Progress
) -> tuple[MarkRecord, Figure] | None:
    """The figure of the first of some versions with the settings of a record; None where it has no value."""
    spread: Spread = "pooled" if record.figure.get("spread") == "pooled" else "own"
    found = compare_versions(
        workshop, ids, settings=record.figure_settings, with_curves=False, spread=spread, progress=progress
    )
    column = found.columns[0]
    figure = column.figures.get(record.key)
    if figure is None or figure.value is None:
        return None
    now = next(one for one in records_of(workshop, [column], found.settings) if one.key == record.key)
    return replace(now, version_id=record.version_id), figure


def _is_there(workshop: Workshop, version_id: str) -> bool:
    try:
        workshop.existing(paths.of_prediction(version_id)[0], "version")
    except InputError:
        return False
    return True


def _takes_now(workshop: Workshop, record: MarkRecord) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Takes whose files are others than then, and takes that are gone."""
    changed: list[str] = []
    gone: list[str] = []
    for take in record.takes:
        state = _take_now(workshop, take)
        if state is not None:
            (gone if state == "gone" else changed).append(take.id)
    return tuple(changed), tuple(gone)


def _take_now(workshop: Workshop, take: MarkedTake) -> str | None:
    if is_predicted(take.id):
        return None
    path = record_path_of(workshop, take.id)
    files = [path.parent / file for file, _ in take.audio]
    if not path.exists() or not all(file.exists() for file in files):
        return "gone"
    if any(digest_of_file(file) != sha256 for file, (_, sha256) in zip(files, take.audio, strict=True)):
        return "recording"
    return None if digest_of_file(path) == take.record_sha256 else "record"


def _of_number(now: MarkRecord, record: MarkRecord, same: bool) -> list[str]:
    value = format_with_u(now.value, now.expanded, now.figure["unit"])
    if not same:
        return [
            f"It was {format_with_u(record.value, record.expanded, record.figure['unit'])} and is {value} today."
        ]
    said = [f"It is the same today, {value}."]
    if now.basis.get("design_sha256") != record.basis.get("design_sha256"):
        said.append("The design it is predicted from was changed since, which does not move it.")
    if {t.id: t.calibration for t in now.takes} != {t.id: t.calibration for t in record.takes} and {
        t.id for t in now.takes
    } == {t.id for t in record.takes}:
        said.append("The calibrations behind it are others than then.")
    if now.figure["rule"] != record.figure["rule"]:
        said.append("The rule is worded otherwise today.")
    return said


def _of_takes(changed: tuple[str, ...], gone: tuple[str, ...], added: tuple[str, ...]) -> list[str]:
    said = []
    if gone:
        said.append(f"Not there any more: {join_words(gone)}.")
    if changed:
        said.append(f"Not what it was then (recording or record): {join_words(changed)}.")
    if added:
        said.append(f"Counts now and did not then: {join_words(added)}.")
    return said
