"""What the dimensions of a design do: tables, values for a program, and the strip that compares a changed design with the saved one."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from halfroll.core.text import format_value
from halfroll.figures.rule import FigureRule
from halfroll.figures.rules import RULE
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.theme import Theme
from halfroll.study.sentences import NOTHING, effects, format_change, step_words, weight_of
from halfroll.study.surrogate import Solved

SHOWN = (
    "sensitivity_2v83_db",
    "lower_limit_hz",
    "upper_limit_hz",
    "thd_mean_percent",
    "thd_worst_percent",
    "fs_hz",
    "qts",
    "mms_g",
)
"""Columns of the table: what a maker asks for first; the JSON has all."""

NORMAL_95 = 1.96


def effect_rows(solved: Solved) -> Rows:
    """A row for every dimension that does something: the change of the first figures per step upwards, downwards where only that can be."""
    slope, bend = solved.per_step()
    places = [solved.figures.index(key) for key in SHOWN if key in solved.figures]
    rows = []
    for i, one in enumerate(solved.dimensions):
        ways = {solved.only_way(i, j) for j in places}
        way = -1.0 if ways == {-1.0} else 1.0
        cells = [
            _cell(
                RULE[solved.figures[j]], float(solved.values[j]), way * float(slope[i, j]), float(bend[i, j])
            )
            for j in places
        ]
        if any(cell != "–" for cell in cells):
            rows.append((step_words(one, way), *cells))
    return Rows(
        head=("Step", *(RULE[solved.figures[j]].label for j in places)), rows=tuple(rows),
        notes=("~ before a change: it bends, the next step does something else. – where a step changes next to nothing or was not solved.",),
    )  # fmt: skip


def _cell(rule: FigureRule, value: float, change: float, bend: float) -> str:
    if not math.isfinite(change) or weight_of(rule, value, change) < NOTHING:
        return "–"
    return (
        f"{'~' if math.isfinite(bend) and abs(bend) > 0.5 * abs(change) else ''}{format_change(rule, change)}"
    )


def effects_dict(solved: Solved) -> dict[str, Any]:
    """All effects for a program: per step upwards; `bend` is half the second difference; null where a side was not solved."""
    slope, bend = solved.per_step()
    beyond = {(one.dimension.key, one.rule.key): one.beyond for one in effects(solved)}
    return {
        "dimensions": [
            {
                "key": one.key, "label": one.label, "unit": one.unit, "value": one.value, "step": one.step,
                "fault": solved.faults[i] or None,
                "figures": {
                    key: {"per_step": _number(slope[i, j]), "bend": _number(bend[i, j]), "unit": RULE[key].unit if key in RULE else "",
                          "beyond_uncertainty": beyond.get((one.key, key))}
                    for j, key in enumerate(solved.figures)
                },
            }
            for i, one in enumerate(solved.dimensions)
        ],
        "figures": {key: {"value": float(solved.values[j]), "u": _number(solved.u[j])} for j, key in enumerate(solved.figures)},
    }  # fmt: skip


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One figure of a changed design beside the saved one: both values, what the change was estimated to be and is once solved (None
    before), and the saved one's standard uncertainty.
    """

    rule: FigureRule
    saved: float
    estimated: float
    solved: float | None
    u: float

    @property
    def now(self) -> float:
        """The best that is known of the changed design."""
        return self.estimated if self.solved is None else self.solved

    @property
    def missed(self) -> float | None:
        """What the estimate missed, in the figure's unit; None before it was solved."""
        return None if self.solved is None else self.estimated - self.solved


def differences(
    saved: Mapping[str, float],
    u: Mapping[str, float],
    estimated: Mapping[str, float],
    proper: Mapping[str, float] | None,
) -> tuple[Difference, ...]:
    """The figures a maker asks for first, of a changed design beside the saved one; all by key."""
    found = [
        Difference(rule=RULE[key], saved=value, estimated=estimated[key], solved=None if proper is None else proper.get(key), u=u.get(key, math.nan))
        for key, value in saved.items()
        if key in RULE and key in estimated and (key in SHOWN or RULE[key].headline)
    ]  # fmt: skip
    return tuple(
        sorted(found, key=lambda one: SHOWN.index(one.rule.key) if one.rule.key in SHOWN else len(SHOWN))
    )


def difference_rows(found: tuple[Difference, ...]) -> Rows:
    """Saved, changed, the difference, and once it is solved what the estimate missed."""
    solved = any(one.solved is not None for one in found)
    head = (
        "Figure",
        "saved",
        "solved" if solved else "estimated",
        "difference",
        *(("the estimate missed",) if solved else ()),
    )
    rows = tuple(
        (one.rule.label, format_value(one.saved, None, one.rule.unit), format_value(one.now, None, one.rule.unit), format_change(one.rule, one.now - one.saved),
         *((("–" if one.missed is None else format_change(one.rule, one.missed)),) if solved else ()))
        for one in found
    )  # fmt: skip
    return Rows(head=head, rows=rows)


def differences_svg(found: tuple[Difference, ...], *, theme: Theme, width_px: float) -> str:
    """Every figure's change as a point on a scale of its own, the saved one's 95 % interval as a bar about zero; an estimate is open, a
    solved one full. Readable without colour.
    """
    if not found:
        return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_px:g} 1" role="img" aria-label="{differences_spoken(found)}"/>'
    sizes, look = theme.sizes, theme.palette
    line, left = 2.6 * sizes.text, min(0.36 * width_px, 14.0 * sizes.text)
    right = width_px - 14.0 * sizes.text
    middle, half = 0.5 * (left + right), 0.5 * (right - left)
    height = line * max(len(found), 1) + 2.2 * sizes.text
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width_px:g} {height:g}" width="{width_px:g}" height="{height:g}" role="img" '
        f'aria-label="{differences_spoken(found)}" font-family="{theme.family}, sans-serif">',
        f'<line x1="{middle:.1f}" x2="{middle:.1f}" y1="0" y2="{height - 1.6 * sizes.text:.1f}" stroke="{look.line}" stroke-width="{sizes.hair}"/>',
        f'<text x="{middle:.1f}" y="{height - 0.4 * sizes.text:.1f}" text-anchor="middle" font-size="{sizes.small}" fill="{look.quiet}">as saved</text>',
    ]  # fmt: skip
    for i, one in enumerate(found):
        out += _line(one, (0.6 + i) * line, middle, half, theme, width_px, right)
    return "".join((*out, "</svg>"))


def _line(
    one: Difference, y: float, middle: float, half: float, theme: Theme, width_px: float, right: float
) -> list[str]:
    sizes, look = theme.sizes, theme.palette
    change = one.now - one.saved
    spread = NORMAL_95 * one.u if math.isfinite(one.u) else 0.0
    full = 1.15 * max(abs(change), spread, _least(one))
    at = middle + half * change / full
    words = f'font-size="{sizes.text}" fill="{look.ink}"'
    bar = "" if spread == 0.0 else (
        f'<rect x="{middle - half * spread / full:.1f}" y="{y - 0.28 * sizes.text:.1f}" width="{2.0 * half * spread / full:.1f}" '
        f'height="{0.56 * sizes.text:.1f}" fill="{look.grey}" opacity="0.35"/>'
    )  # fmt: skip
    dot = look.ink if one.solved is not None else look.paper
    return [
        f'<text x="0" y="{y + 0.35 * sizes.text:.1f}" {words}>{one.rule.label}</text>', bar,
        f'<line x1="{middle:.1f}" x2="{at:.1f}" y1="{y:.1f}" y2="{y:.1f}" stroke="{look.ink}" stroke-width="{sizes.hair}" '
        f'{"" if one.solved is not None else "stroke-dasharray=" + chr(34) + "3 2" + chr(34)}/>',
        f'<circle cx="{at:.1f}" cy="{y:.1f}" r="{0.36 * sizes.text:.1f}" fill="{dot}" stroke="{look.ink}" stroke-width="{1.6 * sizes.hair}"/>',
        f'<text x="{right + 5.8 * sizes.text:.1f}" y="{y + 0.35 * sizes.text:.1f}" text-anchor="end" {words}>{format_value(one.now, None, one.rule.unit)}</text>',
        f'<text x="{width_px:.1f}" y="{y + 0.35 * sizes.text:.1f}" text-anchor="end" {words} font-weight="600">{_changed(one)}</text>',
    ]  # fmt: skip


def _changed(one: Difference) -> str:
    """The change in words; nothing where nothing changed."""
    change = one.now - one.saved
    return "" if abs(change) < 1e-9 * max(abs(one.saved), 1.0) else format_change(one.rule, change)


def _least(one: Difference) -> float:
    """The least half-width of a figure's scale: a decibel, a twelfth of a frequency, half a point, a twentieth of the rest."""
    return {"dB": 1.0, "Hz": abs(one.saved) / 12.0, "%": 0.5}.get(
        one.rule.unit, abs(one.saved) / 20.0
    ) or 1e-9


def differences_spoken(found: tuple[Difference, ...]) -> str:
    """The picture in a sentence."""
    if not found:
        return "No figure to compare."
    how = "solved" if any(one.solved is not None for one in found) else "estimated"
    return f"Changes against the saved design, {how}: " + "; ".join(
        f"{one.rule.label} {format_change(one.rule, one.now - one.saved)}" for one in found
    )


def largest_miss(found: tuple[Difference, ...]) -> str:
    """What the estimate missed most, in words; empty before it was solved."""
    known = [one for one in found if one.missed is not None]
    if not known:
        return ""
    worst = max(known, key=lambda one: abs(one.missed or 0.0) / _least(one))
    return f"The estimate was off by {format_change(worst.rule, worst.missed or 0.0)} in {worst.rule.label[:1].lower()}{worst.rule.label[1:]}, and by less in the others."
