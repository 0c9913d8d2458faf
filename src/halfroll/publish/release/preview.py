"""What a release's bundle would hold for an audience, what is left out and why, and what must be said of its licence."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from halfroll.core.progress import Progress, silent
from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.publish.release.contents import TABLE
from halfroll.publish.release.context import Context
from halfroll.publish.release.own_records import chosen_runs, chosen_takes, chosen_units
from halfroll.workshop import Workshop, paths
from halfroll.workshop.licences import licence
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.release_record import AudienceTable, ReleaseRecord
from halfroll.workshop.releases import audience_of, check_named, load_release

OFF = {
    "bill": "the release is made without a bill", "photographs": "the release is made without photographs", "takes": "no takes were chosen",
    "models": "no format of models was chosen",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Preview:
    """What a bundle would hold, without making it: contents, what is left out and why, takes, runs, units, and what must be said."""

    audience: AudienceTable
    contents: tuple[str, ...]
    left_out: dict[str, str]
    takes: tuple[str, ...]
    runs: tuple[str, ...]
    units: tuple[str, ...]
    verdicts: tuple[Verdict, ...] = field(default=())

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "audience": self.audience.name, "date": self.audience.date, "contents": list(self.contents), "left_out": self.left_out,
            "takes": list(self.takes), "runs": list(self.runs), "units": list(self.units),
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def preview_release(
    workshop: Workshop, release_id: str, *, audience: str, progress: Progress = silent
) -> Preview:
    """What a bundle for an audience would hold; nothing is printed, drawn or written.

    Raises
    ------
    InputError
        There is no such release or audience, or the record names what is not there.
    """
    loaded = load_release(workshop, release_id)
    check_named(workshop, loaded.record, loaded.path)
    table = audience_of(loaded, audience, dt.date.max)
    contents = loaded.record.contents_for(table)
    context = Context(workshop=workshop, loaded=loaded, contents=contents, progress=progress)
    return Preview(
        audience=table, contents=contents, left_out=why_left_out(loaded.record, table), takes=tuple(chosen_takes(context)),
        runs=tuple(chosen_runs(context)), units=tuple(chosen_units(context)), verdicts=tuple(licence_verdicts(workshop, loaded)),
    )  # fmt: skip


def why_left_out(record: ReleaseRecord, audience: AudienceTable) -> dict[str, str]:
    """Contents that are not made, with the reason."""
    made = record.contents_for(audience)
    return {key: _why(record, audience, key) for key in TABLE if key not in made}


def _why(record: ReleaseRecord, audience: AudienceTable, key: str) -> str:
    if key in record.leave_out:
        return "left out by the maker"
    if audience.gets and key not in audience.gets:
        return "not for this audience"
    return OFF.get(key, "it belongs to records, which are not in the bundle")


def licence_verdicts(workshop: Workshop, loaded: Loaded[ReleaseRecord]) -> list[Verdict]:
    """What must be said of the licence: that its text is lacking, or that what came from others is under another one."""
    record, said = loaded.record, []
    known = licence(record.licence)
    if known is not None and known.text_goes_along and record.licence_file is None:
        said.append(Verdict(
            code="licence-text-missing", severity=Severity.CAUTION,
            text=f"{record.licence} asks that its text goes along, and halfroll has none to put in.",
            remedy=f"Put the text beside release.toml and name it there: licence_file = \"{record.licence}.txt\".",
        ))  # fmt: skip
    foreign = [(id_, origin.licence) for id_ in _with_ancestors(workshop, record.versions)
               if (origin := workshop.version(id_).record.origin) is not None and origin.licence != record.licence]  # fmt: skip
    if foreign:
        told = join_words([f"{id_} ({theirs})" for id_, theirs in foreign])
        said.append(Verdict(
            code="licence-of-origin", severity=Severity.CAUTION,
            text=f"Your release, under {record.licence}, rests on what came from others under another licence: {told}.",
            remedy="Read whether that licence lets you; name its authors, and keep it where it asks for that.",
            data={"versions": [id_ for id_, _ in foreign]},
        ))  # fmt: skip
    return said


def _with_ancestors(workshop: Workshop, versions: Sequence[str]) -> list[str]:
    there, found, waiting = set(workshop.version_ids()), [], list(versions)
    while waiting:
        id_ = waiting.pop(0)
        if id_ not in there or id_ in found:
            continue
        found.append(id_)
        parent = paths.parent_id(id_, workshop.version(id_).record.parent)
        waiting += [] if parent is None else [parent]
    return found
