"""What changed between two versions, along the lines of their parents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfroll.compare.types import Change, VersionInput


def ancestors(version_id: str, records: Mapping[str, VersionInput]) -> tuple[str, ...]:
    """A version and its parents, from itself upwards, as far as the records reach; a loop in the records ends it."""
    line: list[str] = []
    at: str | None = version_id
    while at is not None and at in records and at not in line:
        line.append(at)
        at = records[at].parent
    return tuple(line)


def changes_between(base_id: str, version_id: str, records: Mapping[str, VersionInput]) -> tuple[Change, ...]:
    """What leads from the base to the version: back to their nearest common ancestor, then forward.

    What was changed and changed back drops out; a thing changed several times is told once. Where the records know no
    common ancestor, the one change told is that it is another design.
    """
    down, up = ancestors(version_id, records), ancestors(base_id, records)
    common = next((v for v in up if v in down), None)
    if common is None:
        before, after = (f"{r.driver_title} {r.name}" for r in (records[base_id], records[version_id]))
        return (Change(what="design", before=before, after=after, why="no common ancestor in the records"),)
    back = [_reversed(c) for v in up[: up.index(common)] for c in reversed(records[v].changes)]
    forward = [c for v in reversed(down[: down.index(common)]) for c in records[v].changes]
    return merged([*back, *forward])


def merged(changes: Sequence[Change]) -> tuple[Change, ...]:
    """Changes in order, each thing once: its first state, its last, and every reason on the way."""
    first: dict[str, Change] = {}
    for change in changes:
        seen = first.get(change.what)
        if seen is None:
            first[change.what] = change
            continue
        reasons = [why for why in dict.fromkeys([seen.why, change.why]) if why]
        first[change.what] = Change(
            what=change.what, before=seen.before, after=change.after, why="; ".join(reasons)
        )
    return tuple(c for c in first.values() if c.before != c.after or not (c.before or c.after))


def _reversed(change: Change) -> Change:
    return Change(what=change.what, before=change.after, after=change.before, why=_undone(change.why))


def _undone(why: str) -> str:
    return f"undone: {why}" if why else ""
