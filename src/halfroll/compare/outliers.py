"""Takes and units whose level stands apart by far more than such things scatter: a hint at a wrong rig."""

from __future__ import annotations

import statistics
from collections.abc import Mapping, Sequence

from halfroll.compare.types import VersionInput
from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict

FIGURE = "sensitivity_db"

TAKES_DB = 1.0
"""Takes of one unit agree far better than this."""

UNITS_DB = 3.0
"""Units of one version agree better than this, or are not the same thing."""

FAR = 6.0
"""Robust standard deviations."""

NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation of a normal distribution."""

Levels = Mapping[str, Mapping[str, float]]
"""Sensitivity (dB) of each usable take, by unit and take."""


def outlier_cautions(version: VersionInput, name: str) -> tuple[Verdict, ...]:
    """A caution for each take that stands far from its unit's other takes, and each unit far from the other units.

    Compared are all levels, because sensitivity is per watt. Medians and median absolute deviations are used, which
    a single odd take does not move.
    """
    levels = _levels(version)
    rigs = {t.take_id: t.rig for t in version.takes}
    medians = {unit: statistics.median(takes.values()) for unit, takes in levels.items()}
    scatter = _scatter(levels, medians)
    found = []
    for unit, takes in levels.items():
        odd = _odd_takes(takes, [m for u, m in medians.items() if u != unit], scatter)
        found += [
            _verdict(
                f"{name}: the take {_last(t)} of unit {_last(unit)}", "its unit's other takes", off, [t], rigs
            )
            for t, off in odd.items()
        ]
        off = _unit_offset(unit, medians, scatter)
        if not odd and off is not None:
            found.append(
                _verdict(f"{name}: the unit {_last(unit)}", "the other units", off, list(takes), rigs)
            )
    return tuple(found)


def _odd_takes(takes: Mapping[str, float], elsewhere: Sequence[float], scatter: float) -> dict[str, float]:
    """Takes that stand apart from their siblings and how far (dB).

    Of two takes that disagree, the one farther from the other units is the odd one; without other units, both.
    """
    odd = {}
    for take_id, level in takes.items():
        others = [v for t, v in takes.items() if t != take_id or len(takes) > 2]
        off = level - statistics.median(others) if others else 0.0
        if abs(off) > max(TAKES_DB, FAR * scatter):
            odd[take_id] = off
    if len(takes) == 2 and len(odd) == 2 and elsewhere:
        usual = statistics.median(elsewhere)
        farther = max(odd, key=lambda t: abs(takes[t] - usual))
        return {farther: odd[farther]}
    return odd


def _unit_offset(unit: str, medians: Mapping[str, float], scatter: float) -> float | None:
    """How far a unit stands from the others (dB); of two units each stands apart from the other."""
    if len(medians) < 2:
        return None
    others = medians if len(medians) > 2 else {u: m for u, m in medians.items() if u != unit}
    off = medians[unit] - statistics.median(others.values())
    return off if abs(off) > max(UNITS_DB, FAR * scatter) else None


def _levels(version: VersionInput) -> Levels:
    levels: dict[str, dict[str, float]] = {}
    for take in version.takes:
        reading = take.readings.get(FIGURE)
        if take.usable and reading is not None and reading.value is not None:
            levels.setdefault(take.unit_id, {})[take.take_id] = reading.value
    return levels


def _scatter(levels: Levels, medians: Mapping[str, float]) -> float:
    """Robust standard deviation of takes about the median of their unit (dB)."""
    deviations = [
        abs(v - medians[unit]) for unit, takes in levels.items() if len(takes) > 1 for v in takes.values()
    ]
    return NORMAL_MAD * statistics.median(deviations) if deviations else 0.0


def _verdict(what: str, reference: str, off: float, takes: Sequence[str], rigs: Mapping[str, str]) -> Verdict:
    used = sorted({rigs[t] for t in takes})
    text = (
        f"{what} lies {abs(off):.1f}{THIN}dB {'above' if off > 0 else 'below'} {reference}. "
        f"Its rig ({', '.join(used)}) may be the wrong one."
    )
    remedy = "Check which rig and gain it was made with; correct the record, or leave it out."
    data = {"takes": list(takes), "rigs": used, "offset_db": off}
    return Verdict(code="outlier-take", severity=Severity.CAUTION, text=text, remedy=remedy, data=data)


def _last(identifier: str) -> str:
    return identifier.rsplit("/", 1)[-1]
