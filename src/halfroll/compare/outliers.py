"""Takes whose level stands apart from that of their siblings by far more than takes scatter: a hint at a wrong rig."""

from __future__ import annotations

import statistics
from collections.abc import Mapping, Sequence

from halfroll.compare.types import VersionInput
from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import TakeReadings

FIGURE = "sensitivity_db"

SIBLINGS_DB = 1.0
"""Takes of one unit on one rig agree far better than this."""

UNITS_DB = 3.0
"""Units of one version differ by less than this, or are not the same thing."""

FAR = 6.0
"""Robust standard deviations."""

NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation of a normal distribution."""


def outlier_cautions(version: VersionInput, name: str) -> tuple[Verdict, ...]:
    """A caution for each usable take whose sensitivity stands far from the takes of its unit, or of the version.

    Compared are all levels, because sensitivity is per watt; the measure is the median and the median absolute
    deviation, which a single odd take does not move.
    """
    takes = {t.take_id: t for t in version.takes if t.usable and _level(t) is not None}
    by_unit: dict[str, list[str]] = {}
    for take_id, take in takes.items():
        by_unit.setdefault(take.unit_id, []).append(take_id)
    levels = {take_id: _known(take) for take_id, take in takes.items()}
    scatter = _scatter(by_unit, levels)
    found = []
    for siblings in by_unit.values():
        for take_id in siblings:
            off = _offset(take_id, siblings, levels, scatter)
            if off is not None:
                found.append(_verdict(takes[take_id], name, off))
    return tuple(found)


def _offset(
    take_id: str, siblings: Sequence[str], levels: Mapping[str, float], scatter: float
) -> tuple[float, str] | None:
    """How far a take lies from what it should agree with (dB) and what that is; None when it agrees."""
    if len(siblings) >= 3:
        others = [levels[s] for s in siblings if s != take_id]
        off = levels[take_id] - statistics.median(others)
        outlying = abs(off) > max(SIBLINGS_DB, FAR * scatter) and _is_worst(take_id, siblings, levels)
        return (off, "the other takes of its unit") if outlying else None
    others = [level for other, level in levels.items() if other not in siblings]
    if len(others) < 2:
        return None
    off = levels[take_id] - statistics.median(others)
    return (off, "the other units") if abs(off) > max(UNITS_DB, FAR * scatter) else None


def _is_worst(take_id: str, siblings: Sequence[str], levels: Mapping[str, float]) -> bool:
    """Whether a take lies farthest from its unit's median, so that its siblings are not blamed for it."""
    median = statistics.median(levels[s] for s in siblings)
    return abs(levels[take_id] - median) >= max(abs(levels[s] - median) for s in siblings) - 1e-12


def _scatter(by_unit: Mapping[str, Sequence[str]], levels: Mapping[str, float]) -> float:
    """Robust standard deviation of takes about the median of their unit (dB)."""
    deviations = [
        abs(levels[s] - statistics.median(levels[t] for t in siblings))
        for siblings in by_unit.values()
        for s in siblings
    ]
    return NORMAL_MAD * statistics.median(deviations) if deviations else 0.0


def _verdict(take: TakeReadings, name: str, off: tuple[float, str]) -> Verdict:
    step, reference = off
    text = (
        f"{name}: the take {take.take_id.rsplit('/', 1)[-1]} of unit {take.unit_id.rsplit('/', 1)[-1]} lies "
        f"{abs(step):.1f}{THIN}dB {'above' if step > 0 else 'below'} {reference}. Its rig ({take.rig}) may be the wrong one."
    )
    remedy = "Check which rig and gain the take was made with; correct the record, or leave the take out."
    data = {"take": take.take_id, "rig": take.rig, "offset_db": step}
    return Verdict(code="outlier-take", severity=Severity.CAUTION, text=text, remedy=remedy, data=data)


def _level(take: TakeReadings) -> float | None:
    reading = take.readings.get(FIGURE)
    return None if reading is None else reading.value


def _known(take: TakeReadings) -> float:
    value = take.readings[FIGURE].value
    assert value is not None
    return value
