"""Several versions, like for like: figures, differences, findings, cautions, changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from halfroll.compare.base import best_findings, choose_bases
from halfroll.compare.findings import missing_sentence, ordered, outcome_of, sentence, short_names
from halfroll.compare.judge import Judged, judge, why_not
from halfroll.compare.like_for_like import Entry, column_cautions, comparison_cautions
from halfroll.compare.lineage import changes_between
from halfroll.compare.runs import common_mounting, select_runs
from halfroll.compare.select import common_place, select_takes
from halfroll.compare.statistics import contrast, ratio_of
from halfroll.compare.types import Column, Comparison, Curve, Difference, VersionInput
from halfroll.core.errors import InputError
from halfroll.figures.rules import RULES, FigureRule
from halfroll.figures.types import FigureSettings, Spread

CurvesOf = Callable[[str, tuple[str, ...]], dict[str, Curve]]
"""Curves of a version from the takes that count: (version_id, take_ids) -> curves by name.

A version without takes, known only from print, is asked for with no take ids.
"""


def compare(
    inputs: Sequence[VersionInput],
    settings: FigureSettings | None = None,
    *,
    base: str = "first",
    spread: Spread = "own",
    curves_of: CurvesOf | None = None,
    others: Sequence[VersionInput] = (),
) -> Comparison:
    """Compare versions.

    Parameters
    ----------
    inputs
        One or more versions, of one or several drivers.
    settings
        Bands, rules and level; the house's own when left out.
    base
        A version's id, ``first``, ``best`` (lowest mean rank over the headline figures) or ``parent`` (each version
        against its own parent, or the nearest ancestor in the comparison).
    spread
        ``own``: each version's own spread. ``pooled``: one spread for all, relative to the value, which also serves
        versions with one unit.
    curves_of
        Gives the curves of a version; none when left out.
    others
        Records of versions that are not compared but stand between those that are, for the line of parents.

    Raises
    ------
    InputError
        No version, the same version twice, or a base that is not among them.
    """
    chosen = FigureSettings() if settings is None else settings
    _check(inputs)
    names = short_names(inputs)
    place, mounting = common_place(inputs, chosen), common_mounting(inputs)
    entries = [
        Entry(
            version=v,
            selection=select_takes(v, chosen, place),
            name=names[v.version_id],
            runs=select_runs(v, mounting),
        )
        for v in inputs
    ]
    judged = judge(entries, chosen, spread)
    records = {v.version_id: v for v in (*others, *inputs)}
    bases = choose_bases(judged, base, records)
    by_id = {j.version_id: j for j in judged}
    differences = tuple(
        _difference(rule, by_id[v], by_id[b], chosen) for v, b in bases.of.items() for rule in RULES
    )
    return Comparison(
        columns=tuple(_column(j, spread, curves_of) for j in judged),
        base_id=bases.common,
        base_mode=bases.mode,
        differences=differences,
        findings=(*ordered(differences, names), *best_findings(judged, chosen)),
        cautions=comparison_cautions(entries, chosen),
        settings=chosen,
        changes={v: changes_between(b, v, records) for v, b in bases.of.items()},
    )


def _check(inputs: Sequence[VersionInput]) -> None:
    if not inputs:
        raise InputError("A comparison must have at least one version", remedy="Name the versions to compare")
    ids = [v.version_id for v in inputs]
    twice = sorted({i for i in ids if ids.count(i) > 1})
    if twice:
        raise InputError("A version may stand in a comparison once", found=", ".join(twice))


def _difference(rule: FigureRule, version: Judged, base: Judged, settings: FigureSettings) -> Difference:
    """One figure of a version against a base, with what may be claimed and the finding in words."""
    ours, theirs = version.estimates[rule.key], base.estimates[rule.key]
    blank = Difference(
        figure=rule.key,
        version_id=version.version_id,
        base_id=base.version_id,
        value=None,
        unit=rule.difference,
    )
    a, b = ours.figure, theirs.figure
    names = (version.entry.name, base.entry.name)
    if a.value is None or b.value is None:
        return replace(blank, sentence=missing_sentence(rule, (a, b), names))
    reason = why_not(rule, version, base, settings)
    if reason:
        return replace(blank, outcome="not comparable", sentence=f"{rule.label}: not comparable. {reason}.")
    found = contrast(ours, theirs, rule.difference, version.sources)
    if a.bound is not None and b.bound is not None:  # both are only bounds: anything may lie between them
        return replace(blank, sentence=sentence(rule, a, b, found, names))
    return replace(
        blank,
        value=found.value,
        u=found.u,
        dof=found.dof,
        expanded=found.expanded,
        bound=found.bound,
        ratio=ratio_of(a.value, b.value, rule.difference),
        outcome=outcome_of(rule, found),
        sentence=sentence(rule, a, b, found, names),
    )


def _column(judged: Judged, spread: Spread, curves_of: CurvesOf | None) -> Column:
    entry = judged.entry
    used = tuple(t.take_id for t in entry.takes)
    return Column(
        version=entry.version,
        figures={key: e.figure for key, e in judged.estimates.items()},
        curves=curves_of(judged.version_id, used) if curves_of is not None else {},
        takes_used=used,
        takes_left_out=entry.selection.left_out,
        takes_refused=tuple(take for take, _ in entry.selection.notable),
        runs_used=tuple(run.take_id for run in entry.runs.runs),
        runs_left_out=entry.runs.left_out,
        cautions=column_cautions(entry, spread),
    )
