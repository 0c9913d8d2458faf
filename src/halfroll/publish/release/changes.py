"""Change notes of a version: what was changed on the way from what was released before, and what the figures say of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from halfroll.compare.lineage import merged
from halfroll.compare.recipe import compare_versions
from halfroll.compare.types import Change, Comparison, Difference
from halfroll.core.progress import Progress, silent
from halfroll.figures.marks import printed
from halfroll.figures.rules import RULE
from halfroll.workshop import Workshop, paths
from halfroll.workshop.releases import previous_release

LONGEST_LINE = 12
"""So many steps are told one by one; what lies before is told as one."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """From one version to the next: what was changed and why, what the figures say, and what they do not tell apart.

    `differs` holds (sentence, mark of the base's figure, mark of the version's).
    """

    version_id: str
    base_id: str
    date: dt.date | None
    title: str
    summary: str
    changes: tuple[Change, ...]
    differs: tuple[tuple[str, str, str], ...]
    alike: tuple[str, ...]
    unknown: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "version": self.version_id, "base": self.base_id, "date": self.date, "title": self.title, "summary": self.summary,
            "changes": [vars(change) for change in self.changes],
            "differs": [{"sentence": sentence, "base_mark": base, "mark": mark} for sentence, base, mark in self.differs],
            "not_distinguishable": list(self.alike), "unknown": list(self.unknown),
        }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Notes:
    """The change notes of one version, the newest step first; `since` is what was released before, None for a first release."""

    version_id: str
    name: str
    since: str | None
    steps: tuple[Step, ...]
    whole: Step | None = None

    @property
    def marks(self) -> set[str]:
        """All marks told in it."""
        steps = [*self.steps, *([] if self.whole is None else [self.whole])]
        return {mark for step in steps for _, *both in step.differs for mark in both if mark}

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "version": self.version_id, "since": self.since, "steps": [step.as_dict() for step in self.steps],
            "whole": None if self.whole is None else self.whole.as_dict(),
        }  # fmt: skip


def change_notes(workshop: Workshop, release_id: str, version_id: str, progress: Progress = silent) -> Notes:
    """What changed in a version since the one of its line that was released before, step by step along its parents.

    Raises
    ------
    InputError
        There is no such version, or a record of its line has a fault.
    CancelledError
        Through `progress`.
    """
    line = _line(workshop, version_id)
    since = previous_release(workshop, release_id, version_id)
    reach = line[: line.index(since) + 1] if since in line else line
    driver = workshop.driver(version_id.split("/")[0]).record.title
    name = f"{driver} {version_id.split('/')[1]}"
    if len(reach) == 1:
        return Notes(version_id=version_id, name=name, since=None, steps=())
    found = compare_versions(
        workshop, reach[: LONGEST_LINE + 1], base="parent", with_curves=False, progress=progress
    )
    marks = _marks(workshop, found)
    steps = [
        _step(workshop, found, marks, child, parent) for child, parent in pairwise(reach[: LONGEST_LINE + 1])
    ]
    whole = None
    if len(reach) > 2:
        both = compare_versions(workshop, [reach[-1], version_id], with_curves=False, progress=progress)
        whole = _step(workshop, both, _marks(workshop, both), version_id, reach[-1], whole_line=reach)
    return Notes(version_id=version_id, name=name, since=since, steps=tuple(steps), whole=whole)


def _line(workshop: Workshop, version_id: str) -> list[str]:
    """A version and its parents, from itself upwards, as far as they are there."""
    there = set(workshop.version_ids())
    line, at = [], version_id
    while at in there and at not in line:
        line.append(at)
        parent = paths.parent_id(at, workshop.version(at).record.parent)
        if parent is None:
            break
        at = parent
    return line


def _marks(workshop: Workshop, comparison: Comparison) -> Mapping[tuple[str, str], str]:
    from halfroll.publish.marks import marks_of

    return marks_of(workshop, comparison)


def _step(
    workshop: Workshop, found: Comparison, marks: Mapping[tuple[str, str], str], version_id: str, base_id: str,
    whole_line: Sequence[str] = (),
) -> Step:  # fmt: skip
    record = workshop.version(version_id).record
    told = [d for d in found.differences if (d.version_id, d.base_id) == (version_id, base_id)]
    alike = [RULE[d.figure].label for d in told if d.outcome == "not distinguishable"]
    unknown = [
        RULE[d.figure].label
        for d in told
        if d.outcome in ("unknown", "not comparable") and d.value is not None
    ]
    if whole_line:
        changes = merged(
            [_change(c) for at in reversed(whole_line[:-1]) for c in workshop.version(at).record.changes]
        )
    else:
        changes = tuple(_change(c) for c in record.changes)
    differs = sorted((d for d in told if d.claimed), key=_weight)
    return Step(
        version_id=version_id, base_id=base_id, date=record.date, title=record.title, summary=record.summary, changes=changes,
        differs=tuple((d.sentence, marks.get((base_id, d.figure), ""), marks.get((version_id, d.figure), "")) for d in differs),
        alike=tuple(dict.fromkeys(alike)), unknown=tuple(dict.fromkeys(unknown)),
    )  # fmt: skip


def _weight(difference: Difference) -> float:
    if difference.value is None or not difference.expanded:
        return 0.0
    return -abs(difference.value) / difference.expanded


def _change(table: Any) -> Change:
    return Change(what=table.what, before=table.before, after=table.after, why=table.why)


# In words.


def notes_text(notes: Sequence[Notes], title: str, date: str, own_words: str = "") -> str:
    """Change notes as Markdown that also reads well as plain text."""
    lines = [f"# {title}", "", f"Release of {date}.", ""]
    if own_words.strip():
        lines += [own_words.strip(), ""]
    for one in notes:
        lines += [f"## {one.name}", ""]
        if not one.steps:
            lines += ["The first of its line that is released.", ""]
            continue
        since = (
            "What changed from the first of its line on."
            if one.since is None
            else f"What changed since {one.since}, which was released before."
        )
        lines += [since, ""]
        if one.whole is not None:
            lines += [
                f"### All together: {_name(one.whole.version_id)} against {_name(one.whole.base_id)}",
                "",
                *_step_lines(one.whole, with_why=False),
            ]
        for step in one.steps:
            when = f", {step.date.isoformat()}" if step.date else ""
            lines += [f"### {_name(step.version_id)} against {_name(step.base_id)}{when}", ""]
            if step.summary:
                lines += [step.summary, ""]
            lines += _step_lines(step)
    lines += [_FOOT, ""]
    return "\n".join(lines)


_FOOT = (
    "A difference is told where its 95 % interval does not hold zero (see the comparison). Characters in brackets are marks: each leads to the "
    "takes, settings and calibrations behind a number, in marks.json and with `halfroll mark`."
)


def _step_lines(step: Step, *, with_why: bool = True) -> list[str]:
    lines = [f"- {_change_line(change, with_why)}" for change in step.changes] or ["- Nothing was noted."]
    lines += ["", "What the figures say:", ""]
    lines += [f"- {sentence}{_marked(base, own)}" for sentence, base, own in step.differs] or [
        "- No difference can be told."
    ]
    if step.alike:
        lines.append(f"- Not to be told apart: {', '.join(step.alike)}.")
    if step.unknown:
        lines.append(f"- Spread unknown, so no difference is claimed: {', '.join(step.unknown)}.")
    return [*lines, ""]


def _change_line(change: Change, with_why: bool) -> str:
    what = change.what[:1].upper() + change.what[1:]
    went = (
        f": {change.before} → {change.after}"
        if change.before and change.after
        else f": {change.after or change.before}"
        if change.after or change.before
        else ""
    )
    why = f" ({change.why})" if change.why and with_why else ""
    return f"{what}{went}{why}"


def _marked(base: str, own: str) -> str:
    return f" [{printed(own)} against {printed(base)}]" if base and own else ""


def _name(version_id: str) -> str:
    return version_id.replace("/", " ")
