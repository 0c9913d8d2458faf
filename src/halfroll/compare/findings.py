"""Findings: what the numbers of a comparison say, in plain sentences that claim no more than the spread allows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfroll.compare.statistics import Contrast, speaks_for_version
from halfroll.compare.types import Difference, Outcome, VersionInput
from halfroll.core.text import count, format_value, join_words
from halfroll.figures.rules import HEADLINES, FigureRule
from halfroll.figures.types import Figure

FAR = 3.0
"""A difference this many times its 95 % half-width lies far outside the spread."""

ALSO_TOLD = ("thd_worst_percent", "upper_limit_hz", "resonance_hz", "fs_hz", "qts", "mms_g", "bl_n_per_a")
"""Figures beside the headlines that are told among the findings when they differ."""


PREDICTED = "predicted "
"""Before a value that was not measured."""


def outcome_of(rule: FigureRule, found: Contrast) -> Outcome:
    """What may be claimed of a difference."""
    if found.distinct is None:
        return "unknown"
    if not found.distinct:
        return "not distinguishable"
    if rule.better == "neither":
        return "higher" if found.value > 0 else "lower"
    return "better" if (found.value > 0) == (rule.better == "higher") else "worse"


def sentence(rule: FigureRule, version: Figure, base: Figure, found: Contrast, names: tuple[str, str]) -> str:
    """The finding for one figure of a version against a base, both with a value."""
    ours, theirs = _shown_alike(version, base)
    against = f"{ours} against {theirs}"
    if found.distinct is False:
        return f"{rule.label}: {against}: not distinguishable {_basis(version, base)}."
    if version.bound is not None or base.bound is not None:
        if found.distinct:
            word = rule.more if found.value > 0 else rule.less
            return f"{rule.label}: {word} ({against}), outside the {_doubt(version, base)}."
        return f"{rule.label}: {against}; only a bound is known, so no difference can be told."
    alike = ours.removeprefix(PREDICTED) == theirs.removeprefix(PREDICTED)
    lead = against if alike else f"{_amount(rule, found)} ({against})"
    if found.distinct:
        return f"{rule.label}: {lead}, {_strength(found, version, base)}."
    return f"{rule.label}: {lead}; {_why_unknown(version, base, names)}."


def missing_sentence(rule: FigureRule, figures: Sequence[Figure], names: Sequence[str]) -> str:
    """Why there is no difference: who has no value, and the reason."""
    lacking = [(name, f.missing) for name, f in zip(names, figures, strict=True) if f.value is None]
    return f"{rule.label}: " + " ".join(f"no value for {name}: {reason}" for name, reason in lacking)


def short_names(inputs: Iterable[VersionInput]) -> dict[str, str]:
    """What each version is called in a sentence: with its driver's name where there are several drivers."""
    versions = list(inputs)
    several = len({v.driver_title for v in versions}) > 1
    return {v.version_id: f"{v.driver_title} {v.name}" if several else v.name for v in versions}


def ordered(differences: Sequence[Difference], names: dict[str, str]) -> tuple[str, ...]:
    """The sentences worth reading, most important first: what differs, strongest first; then what does not."""
    told = sorted((d for d in differences if _worth_telling(d, differences)), key=_importance)
    several = len({(d.version_id, d.base_id) for d in told}) > 1
    sentences: dict[tuple[str, str, str], list[str]] = {}
    for d in told:
        label, _, rest = d.sentence.partition(": ")
        sentences.setdefault((d.version_id, d.base_id, rest), []).append(label)
    found = []
    for (version_id, base_id, rest), labels in sentences.items():
        lead = f"{names[version_id]} against {names[base_id]}, " if several else ""
        words = [word if i == 0 and not lead else _small(word) for i, word in enumerate(labels)]
        found.append(f"{lead}{join_words(words)}: {rest}")
    return tuple(found)


def best_sentence(rule: FigureRule, ranked: Sequence[tuple[str, Figure]], lead: Contrast) -> str:
    """Which version is best in a figure, and whether its lead over the next is more than spread."""
    (first, best), (second, other) = ranked[0], ranked[1]
    ours, theirs = (
        f"{name} ({value.removeprefix(PREDICTED) if name.endswith(PREDICTED.rstrip()) else value})"
        for name, value in zip((first, second), _shown_alike(best, other), strict=True)
    )
    label = f"Best {_small(rule.label)}"
    if lead.distinct:
        return f"{label}: {ours}, before {theirs}, {_strength(lead, best, other)}."
    if lead.distinct is False:
        return f"{label}: {ours} or {theirs}; the two are not distinguishable."
    return f"{label}: {ours}, before {theirs}; whether that is more than spread is unknown."


def _small(words: str) -> str:
    return words[0].lower() + words[1:]


def _worth_telling(difference: Difference, all_of_them: Sequence[Difference]) -> bool:
    if not difference.sentence or difference.figure not in (*HEADLINES, *ALSO_TOLD):
        return False
    if difference.figure == "max_level_db":
        return not _same_as_sensitivity(difference, all_of_them)
    if difference.figure == "fs_hz" and _claimed_beside("resonance_hz", difference, all_of_them):
        return False  # the same resonance, told once
    return difference.figure in HEADLINES or difference.claimed


def _claimed_beside(figure: str, difference: Difference, all_of_them: Sequence[Difference]) -> bool:
    """Whether another figure of the same two versions differs."""
    pair = (difference.version_id, difference.base_id)
    return any(d.figure == figure and d.claimed and (d.version_id, d.base_id) == pair for d in all_of_them)


def _same_as_sensitivity(difference: Difference, all_of_them: Sequence[Difference]) -> bool:
    """Maximum level says nothing new when both versions have the same rated power."""
    twin = next(
        (
            d
            for d in all_of_them
            if d.figure == "sensitivity_db"
            and (d.version_id, d.base_id) == (difference.version_id, difference.base_id)
        ),
        None,
    )
    if twin is None or twin.value is None or difference.value is None:
        return False
    return abs(twin.value - difference.value) < 0.005


def _importance(difference: Difference) -> tuple[int, float]:
    tier = {"better": 0, "worse": 0, "higher": 0, "lower": 0, "not distinguishable": 1}.get(
        difference.outcome, 2
    )
    if tier == 0 and difference.figure not in HEADLINES:
        tier = 1
    strength = 0.0
    if difference.value is not None and difference.expanded:
        strength = abs(difference.value) / difference.expanded
    return tier, -strength


def _shown_alike(one: Figure, other: Figure) -> tuple[str, str]:
    """Both values, rounded to the place the larger of the known uncertainties reaches."""
    known = [f.u for f in (one, other) if f.u is not None]
    u = max(known, default=None)
    return _shown(one, u), _shown(other, u)


def _shown(figure: Figure, u: float | None) -> str:
    assert figure.value is not None
    prefix = {"upper": "at most ", "lower": "at least ", None: ""}[figure.bound]
    mark = PREDICTED if figure.source == "predicted" else ""
    return mark + prefix + format_value(figure.value, u, figure.unit, digits=1)


def _amount(rule: FigureRule, found: Contrast) -> str:
    """The difference in the unit in which it is tested and stands in the table."""
    word = rule.more if found.value > 0 else rule.less
    return f"{format_value(abs(found.value), found.u, rule.difference, digits=1)} {word}"


def _strength(found: Contrast, one: Figure, other: Figure) -> str:
    doubt = _doubt(one, other)
    far = found.expanded is not None and abs(found.value) >= FAR * found.expanded
    return f"far outside the {doubt}" if far else f"outside the {doubt}"


def _doubt(one: Figure, other: Figure) -> str:
    """What a difference is held against: the spread of what was measured, or what a prediction leaves open."""
    return "uncertainty of the prediction" if "predicted" in (one.source, other.source) else "spread"


def _basis(version: Figure, base: Figure) -> str:
    """With how much evidence, "with 3 units each"."""
    if "published" in (version.source, base.source):
        return "within the published uncertainty"
    if "predicted" in (version.source, base.source):
        return "within the uncertainty of the prediction"
    pooled = ", spread pooled over all versions" if "pooled" in (version.spread, base.spread) else ""
    if version.n_units == base.n_units:
        return f"with {count(version.n_units, 'unit')} each{pooled}"
    return f"with {version.n_units} and {count(base.n_units, 'unit')}{pooled}"


def _why_unknown(version: Figure, base: Figure, names: tuple[str, str]) -> str:
    kinds = [_lack(version), _lack(base)]
    if kinds[0] == kinds[1]:
        return f"spread unknown: {kinds[0]} each"
    told = [f"{kind} of {name}" for kind, name in zip(kinds, names, strict=True) if kind]
    return f"spread unknown: {', '.join(told)}"


def _lack(figure: Figure) -> str:
    """What keeps a figure from speaking for its version; empty when nothing does."""
    if speaks_for_version(figure):
        return ""
    if figure.source == "published":
        return "a published value without uncertainty"
    if figure.source == "predicted":
        return "a prediction without stated assumptions"
    return figure.spread
