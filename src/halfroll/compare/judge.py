"""The figures of every version in a comparison, made from shared sources of uncertainty so that they can be subtracted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from halfroll.compare.like_for_like import Entry, same_level, why_not_comparable
from halfroll.compare.runs import why_not_alike
from halfroll.core.uncertainty import Sources
from halfroll.figures.combine import Estimate, level_of, published_figure, version_figures
from halfroll.figures.rules import RULE, RULES, FigureRule
from halfroll.figures.spread import PooledSpread, pool
from halfroll.figures.types import FigureSettings, Spread, TakeReadings


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A version with its figures, and the sources all figures of the comparison share."""

    entry: Entry
    estimates: Mapping[str, Estimate]
    sources: Sources

    @property
    def version_id(self) -> str:
        """``driver/version``."""
        return self.entry.version.version_id


def judge(entries: Sequence[Entry], settings: FigureSettings, spread: Spread) -> list[Judged]:
    """Figures of all versions; each rig, place and version is one source of uncertainty throughout."""
    sources = Sources()
    pooled = _pooled([(*e.takes, *e.runs.runs) for e in entries]) if spread == "pooled" else None
    return [
        Judged(entry=e, estimates=_estimates(e, settings, sources, pooled), sources=sources) for e in entries
    ]


def why_not(rule: FigureRule, one: Judged, other: Judged, settings: FigureSettings) -> str:
    """Why a figure of two versions may not be compared; empty when it may."""
    if rule.of != "take":
        return "" if rule.space == "any" else why_not_alike(one.entry.runs, other.entry.runs)
    if rule.space != "any":
        reason = why_not_comparable(one.entry.selection.place, other.entry.selection.place)
        if reason and (rule.space == "same space" or "cabinet" in reason):
            return reason
    if rule.level_matters and not same_level(one.entry.selection, other.entry.selection, settings):
        return "Distortion was taken at unlike drive levels"
    return ""


def _estimates(
    entry: Entry, settings: FigureSettings, sources: Sources, pooled: Mapping[str, PooledSpread] | None
) -> dict[str, Estimate]:
    version = entry.version
    figures = version_figures(
        (*entry.takes, *entry.runs.runs),
        settings,
        version_id=version.version_id,
        sources=sources,
        pooled=pooled,
    )
    if version.takes or version.runs:
        return figures
    printed = {
        key: published_figure(
            RULE[key],
            value,
            u,
            where=version.published_source,
            version_id=version.version_id,
            sources=sources,
        )
        for key, (value, u) in version.published.items()
        if key in RULE
    }
    silent = {
        k: Estimate(figure=replace(e.figure, missing="Not in the published table."))
        for k, e in figures.items()
    }
    return {**(silent if version.published else figures), **printed}


def _pooled(takes: Sequence[Sequence[TakeReadings]]) -> dict[str, PooledSpread]:
    found = {}
    for rule in RULES:
        levels = [level for level in (level_of(rule, t) for t in takes) if level is not None]
        spread = pool(levels, relative=rule.relative)
        if spread is not None:
            found[rule.key] = spread
    return found
