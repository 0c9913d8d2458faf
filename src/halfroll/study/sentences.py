"""What the dimensions do, in sentences: what a step changes, what would help one figure most, and what is too small to trust."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.core.text import SYMBOLS, THIN, format_value
from halfroll.figures.rule import FigureRule
from halfroll.figures.rules import RULE
from halfroll.study.dimensions import Dimension
from halfroll.study.surrogate import Solved

TOLD = 2
"""So many figures a sentence tells."""

OF = (
    "sensitivity_2v83_db",
    "lower_limit_hz",
    "upper_limit_hz",
    "thd_mean_percent",
    "thd_worst_percent",
    "fs_hz",
    "qts",
    "max_level_db",
)
"""The figures sentences are about; tables have all."""

BENT = 0.5
"""A bend of more than this share of the change is said: the next step does something else."""

LEVEL_STEP_DB, OCTAVE_STEP, SHARE_STEP, POINT_STEP = 0.5, 1.0 / 12.0, 0.05, 0.2
"""What counts as one step of a figure when effects of different kinds are ranked: half a decibel, a semitone, five per cent, a fifth of a
point of distortion; own choice.
"""

NOTHING = 0.05
"""Changes of less than this share of such a step are not told."""


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What one step of a dimension does to a figure: change per step upwards, its bend, its size for ranking, and whether the change is
    larger than the figure's own expanded uncertainty (None: that is not known). `only` is the one way that could be solved, 1 or −1; 0
    where both could.
    """

    dimension: Dimension
    rule: FigureRule
    per_step: float
    bend: float
    weight: float
    beyond: bool | None
    only: float = 0.0


def effects(solved: Solved) -> tuple[Effect, ...]:
    """All effects that are more than nothing, the largest first."""
    slope, bend = solved.per_step()
    found = []
    for i, one in enumerate(solved.dimensions):
        for j, key in enumerate(solved.figures):
            change = float(slope[i, j])
            if key not in RULE or not math.isfinite(change):
                continue
            weight = weight_of(RULE[key], float(solved.values[j]), change)
            if weight >= NOTHING and not abs(bend[i, j]) > abs(
                change
            ):  # else both ways do the same: there is no slope to tell
                u = float(solved.u[j])
                found.append(Effect(dimension=one, rule=RULE[key], per_step=change, bend=float(bend[i, j]), weight=weight,
                                    beyond=None if math.isnan(u) else abs(change) > 2.0 * u, only=solved.only_way(i, j)))  # fmt: skip
    return tuple(sorted(found, key=lambda effect: -effect.weight))


def of_dimension(found: Sequence[Effect], key: str) -> tuple[Effect, ...]:
    """Those of one dimension."""
    return tuple(one for one in found if one.dimension.key == key)


def best_for(found: Sequence[Effect], figure: str) -> tuple[Effect, ...]:
    """Those that move one figure, the largest first."""
    return tuple(one for one in found if one.rule.key == figure)


def sentences(solved: Solved, most: int = 8) -> tuple[str, ...]:
    """One sentence for each of the dimensions that do most: "0.1 mm thinner surround: lower limit −6 Hz, ..."."""
    found = [one for one in effects(solved) if one.rule.key in OF]
    keys = list(dict.fromkeys(one.dimension.key for one in found))[:most]
    return tuple(sentence(of_dimension(found, key)) for key in keys)


def sentence(own: Sequence[Effect]) -> str:
    """What one step of a dimension does, the way that helps its largest effect; where only one way can be gone, that way."""
    way = own[0].only or _better_way(own[0])
    told = own[:TOLD]
    words = ", ".join(change_words(one, way) for one in told)
    bent = (
        " The next step does something else."
        if any(abs(one.bend) > BENT * abs(one.per_step) for one in told)
        else ""
    )
    return f"{step_words(own[0].dimension, way)}: {words}.{bent}"


def step_words(one: Dimension, way: float) -> str:
    """A step in words: "0.1 mm thinner surround", "One turn more", "Depth of the cone +1 mm"."""
    unit = "°" if one.unit == "deg" else one.unit
    if one.key.endswith(".thickness_mm"):
        return f"{one.step:g}{THIN}{unit} {one.more if way > 0 else one.less} {one.part}"
    amount = 100.0 * one.step if one.key.endswith("infill") else one.step
    unit = "%" if one.key.endswith("infill") else unit
    return f"{one.label[0].upper()}{one.label[1:]} {'+' if way > 0 else '−'}{amount:g}{THIN}{unit}".rstrip(
        THIN
    )


def change_words(one: Effect, way: float = 1.0) -> str:
    """What a step does to a figure: "lower limit −6 Hz"."""
    return f"{_lower_first(one.rule.label)} {format_change(one.rule, way * one.per_step)}"


def format_change(rule: FigureRule, change: float) -> str:
    """A change of a figure with its sign and unit; of a per cent in points."""
    unit = "points" if rule.unit == "%" else rule.unit
    digits = 2 if abs(change) < 100.0 else 3
    rounded = float(f"{change:.{digits - 1}e}")
    if unit == "Hz" and abs(rounded) < 1000.0:
        return f"{'+' if rounded >= 0 else '−'}{abs(rounded):g}{THIN}Hz"
    if unit in ("dB", "points"):
        return f"{'+' if rounded >= 0 else '−'}{abs(rounded):g}{THIN}{unit}"
    if unit == "Hz":
        return format_value(rounded, None, unit, sign=True)
    return f"{'+' if rounded >= 0 else '−'}{abs(rounded):g}{THIN}{SYMBOLS.get(unit, unit)}".rstrip(THIN)


def what_helps(solved: Solved, figure: str, most: int = 5) -> tuple[str, ...]:
    """What would better one figure most per step, in sentences, the best first; empty for a figure that has no better."""
    rule = RULE[figure]
    if rule.better == "neither":
        return ()
    helping = [one for one in best_for(effects(solved), figure) if one.only in (0.0, _better_way(one))]
    return tuple(
        f"{step_words(one.dimension, _better_way(one))}: {change_words(one, _better_way(one))}." for one in helping[:most]
    )  # fmt: skip


def inside_uncertainty(found: Sequence[Effect]) -> tuple[str, ...]:
    """Figures that no step moves by more than they are uncertain, in words."""
    beyond: dict[str, bool] = {}
    labels: dict[str, str] = {}
    for one in found:
        if one.beyond is not None:
            beyond[one.rule.key] = beyond.get(one.rule.key, False) or one.beyond
            labels[one.rule.key] = _lower_first(one.rule.label)
    return tuple(labels[key] for key, over in beyond.items() if not over)


def _better_way(one: Effect) -> float:
    """Up or down: the way in which a figure gets better, or larger where it has no better."""
    sign = 1.0 if one.per_step >= 0.0 else -1.0
    return -sign if one.rule.better == "lower" else sign


def weight_of(rule: FigureRule, value: float, change: float) -> float:
    """A change in steps of its figure's kind."""
    if rule.unit == "dB":
        return abs(change) / LEVEL_STEP_DB
    if rule.unit == "Hz":
        return (
            abs(float(np.log2(max(value + change, 1e-3 * value) / value))) / OCTAVE_STEP
            if value > 0.0
            else 0.0
        )
    if rule.unit == "%" and rule.difference == "points":
        return abs(change) / POINT_STEP
    return abs(change / value) / SHARE_STEP if value else 0.0


def _lower_first(label: str) -> str:
    """A label inside a sentence: THD and Qts stay as they are."""
    return (
        label
        if label[:2].isupper() or (len(label) > 1 and not label[1].islower())
        else label[0].lower() + label[1:]
    )


def told(found: Sequence[Effect]) -> Iterator[str]:
    """What must be said of all effects together."""
    same = inside_uncertainty(found)
    if same:
        yield (f"Smaller than what is not known of the driver itself: every step's change of {', '.join(same)}. A difference between two designs is "
               "surer than either, since they share their assumptions.")  # fmt: skip
