"""What each version is compared with, and which version is best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfroll.compare.findings import best_sentence
from halfroll.compare.judge import Judged, why_not
from halfroll.compare.lineage import ancestors
from halfroll.compare.statistics import contrast
from halfroll.compare.types import BaseMode, VersionInput
from halfroll.core.errors import InputError
from halfroll.figures.rules import HEADLINES, RULE, FigureRule
from halfroll.figures.types import FigureSettings


@dataclass(frozen=True, kw_only=True)
class Bases:
    """For each version that has one its base; the common base, or the first version where each has its own."""

    of: Mapping[str, str]
    common: str
    mode: BaseMode


def choose_bases(judged: Sequence[Judged], base: str, records: Mapping[str, VersionInput]) -> Bases:
    """Bases for ``parent``, ``first``, ``best`` or a version's id.

    With ``parent`` a version without an ancestor in the comparison has no base.
    """
    ids = [j.version_id for j in judged]
    if base == "parent":
        lines = {i: [a for a in ancestors(i, records)[1:] if a in ids] for i in ids}
        return Bases(of={i: line[0] for i, line in lines.items() if line}, common=ids[0], mode="parent")
    mode: BaseMode = "chosen"
    if base == "first":
        base, mode = ids[0], "first"
    elif base == "best":
        base, mode = best_overall(judged), "best"
    if base not in ids:
        raise InputError(
            "The base of a comparison must be one of its versions",
            found=base,
            allowed=[*ids, "parent", "best", "first"],
        )
    return Bases(of={i: base for i in ids if i != base}, common=base, mode=mode)


def best_overall(judged: Sequence[Judged]) -> str:
    """The version with the lowest mean rank over the headline figures, among those that have most of them; the
    earlier one among equals. What is only predicted stands behind what was measured.
    """
    judged = [j for j in judged if any(take.source != "predicted" for take in j.entry.takes)] or judged
    ranks: dict[str, list[int]] = {j.version_id: [] for j in judged}
    for key in HEADLINES:
        values = [(j.version_id, j.estimates[key].figure.value) for j in ranked(RULE[key], judged)]
        for version_id, value in values:
            ranks[version_id].append(next(i for i, (_, v) in enumerate(values) if v == value))
    most = max(len(r) for r in ranks.values())
    full = {i: sum(r) / len(r) for i, r in ranks.items() if r and len(r) == most}
    return min(full, key=lambda i: full[i]) if full else judged[0].version_id


def ranked(rule: FigureRule, judged: Sequence[Judged]) -> list[Judged]:
    """Versions that have a figure, best first."""
    having = [j for j in judged if j.estimates[rule.key].figure.value is not None]

    def value(j: Judged) -> float:
        return j.estimates[rule.key].figure.value or 0.0

    return sorted(having, key=value, reverse=rule.better == "higher")


def best_findings(judged: Sequence[Judged], settings: FigureSettings) -> tuple[str, ...]:
    """Which version is best in each headline figure, where there are three or more that may be compared."""
    told = []
    for key in HEADLINES:
        rule = RULE[key]
        order = ranked(rule, judged)
        if len(order) < 3 or any(why_not(rule, order[0], other, settings) for other in order[1:]):
            continue
        first, second = order[0], order[1]
        lead = contrast(first.estimates[key], second.estimates[key], rule.difference, first.sources)
        told.append(best_sentence(rule, [(j.entry.name, j.estimates[key].figure) for j in order[:2]], lead))
    return tuple(told)
