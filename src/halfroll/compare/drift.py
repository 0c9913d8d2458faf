"""Drift between the repeats of a unit: does it warm up, soften or change while it is measured?"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.compare.outliers import outlier_cautions
from halfroll.compare.types import VersionInput
from halfroll.core.text import THIN, format_value, format_with_u
from halfroll.core.uncertainty import coverage_factor
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import TakeReadings
from halfroll.measure.heat.coil_temperature import ALPHA_20, Drift, linear_drift

SESSION_S = 3600.0
"""Takes farther apart than this (s) are no repeats of one another."""

WALL_CLOCK = len("2026-05-02T14:05:00")
"""Of an ISO date and time, what stands before fractions and the zone; repeats are made in one zone."""

SAME_DRIVE_DB = 0.5
FEWEST_TAKES = 3


@dataclass(frozen=True, kw_only=True)
class Watched:
    """A figure whose drift is looked for: how it is called, and the least change that matters (in `unit`, or relative)."""

    figure: str
    what: str
    unit: str
    least: float
    relative: bool = False


WATCHED = (
    Watched(figure="sensitivity_db", what="the level", unit="dB", least=0.1),
    Watched(figure="impedance_min_ohm", what="the impedance minimum", unit="ohm", least=0.01, relative=True),
    Watched(figure="resonance_hz", what="the resonance", unit="Hz", least=0.01, relative=True),
)
"""0.1 dB is what a microphone put back differs by; 1 % of resistance is 2.5 K of copper."""


@dataclass(frozen=True, kw_only=True)
class Trend:
    """A drift that was found in the takes of one session: of which figure, over how long."""

    watched: Watched
    drift: Drift
    takes: tuple[str, ...]
    hours: float
    first: float

    @property
    def matters(self) -> bool:
        """Whether it is both more than scatter and more than the least change that matters."""
        least = self.watched.least * (abs(self.first) if self.watched.relative else 1.0)
        return self.drift.significant and abs(self.drift.change) >= least

    @property
    def rise_k(self) -> tuple[float, float] | None:
        """Rise of a copper coil (K) and its standard uncertainty, from the impedance minimum; None for other figures.

        The minimum lies above the DC resistance by what motion and inductance add, so this is a little less than the true
        rise.
        """
        if self.watched.figure != "impedance_min_ohm":
            return None
        per_ohm = 1.0 / (self.first * ALPHA_20["copper"])
        return self.drift.change * per_ohm, self.drift.u * per_ohm


def drift_cautions(version: VersionInput, name: str) -> tuple[Verdict, ...]:
    """A caution for each session of a unit in which a figure drifted.

    A take that stands apart altogether (`outlier_cautions`) is no drift and is left out of the lines.

    Three repeats alone say little of their scatter, so the scatter about the lines of all sessions of the version is pooled; and
    of many lines some are steep by chance, so 95 % holds for all of them together (Bonferroni).
    """
    odd = {take for caution in outlier_cautions(version, name) for take in caution.data["takes"]}
    kept = [take for take in version.takes if take.take_id not in odd]
    lines = [(takes, list(trends(takes))) for takes in sessions(kept)]
    pooled = _pooled([trend for _, found in lines for trend in found])
    cautions = []
    for takes, found in lines:
        moved = [trend for trend in map(pooled, found) if trend.matters]
        if moved:
            cautions.append(_verdict(moved, takes, name))
    return tuple(cautions)


def _pooled(found: Sequence[Trend]) -> Callable[[Trend], Trend]:
    """What judges a trend by the scatter of all of the same figure, so that all together are right in 95 %."""
    probability = 1.0 - 0.05 / max(len(found), 1)
    known = {}
    for watched in WATCHED:
        same = [trend.drift for trend in found if trend.watched is watched]
        dof = sum(drift.dof for drift in same)
        if same:
            known[watched] = (sum(d.dof * d.scatter**2 for d in same) / dof) ** 0.5, dof

    def judge(trend: Trend) -> Trend:
        scatter, dof = known[trend.watched]
        return replace(trend, drift=trend.drift.with_scatter(scatter, dof, probability))

    return judge


def sessions(takes: Sequence[TakeReadings]) -> Iterator[tuple[TakeReadings, ...]]:
    """Repeats that belong together: one unit, rig, place and drive, each within an hour of the one before."""
    left = sorted(
        (t for t in takes if t.usable and t.source == "measured"), key=lambda t: (t.unit_id, t.when)
    )
    while left:
        first, rest = left[0], left[1:]
        session, others = [first], list[TakeReadings]()
        for take in rest:
            near = _second(take) - _second(session[-1]) <= SESSION_S if _alike(first, take) else False
            (session if near else others).append(take)
        left = others
        if len(session) >= FEWEST_TAKES:
            yield tuple(session)


def trends(takes: Sequence[TakeReadings]) -> Iterator[Trend]:
    """The straight line through each watched figure of the takes of a session, where three of them have it."""
    for watched in WATCHED:
        known = [
            (take, reading.value, reading.u or 0.0)
            for take in takes
            if (reading := take.readings.get(watched.figure)) is not None
            and reading.value is not None
            and reading.bound is None
        ]
        seconds = [_second(take) for take, _, _ in known]
        if len(known) < FEWEST_TAKES or max(seconds) == min(seconds):
            continue
        yield Trend(
            watched=watched,
            drift=linear_drift(seconds, [value for _, value, _ in known]),
            takes=tuple(take.take_id for take, _, _ in known),
            hours=(max(seconds) - min(seconds)) / 3600.0,
            first=known[0][1],
        )


def _alike(one: TakeReadings, other: TakeReadings) -> bool:
    a, b = one.conditions, other.conditions
    if one.unit_id != other.unit_id or one.rig != other.rig or a.drive_v is None or b.drive_v is None:
        return False
    within = 10.0 ** (SAME_DRIVE_DB / 20.0)
    return 1.0 / within <= a.drive_v / b.drive_v <= within and (a.distance_m, a.space) == (
        b.distance_m,
        b.space,
    )


def _second(take: TakeReadings) -> float:
    """When it was made, by the clock on the wall, in seconds of a count of its own."""
    return float(np.datetime64(take.when[:WALL_CLOCK], "s").astype(np.int64))


def _verdict(moved: Sequence[Trend], takes: Sequence[TakeReadings], name: str) -> Verdict:
    unit = takes[0].unit_id.rpartition("/")[2]
    minutes = f"{60.0 * max(t.hours for t in moved):.0f}{THIN}min"
    told = " and ".join(_words(trend) for trend in moved)
    warm = next((trend.rise_k for trend in moved if trend.rise_k is not None), None)
    text = f"{name}: over {len(takes)} takes of unit {unit} in {minutes} {told}."
    if warm is not None and warm[0] > 0.0:
        text += f" A copper coil would be about {format_value(warm[0], warm[1], 'K', digits=1)} warmer."
    return Verdict(
        code="drift",
        severity=Severity.CAUTION,
        text=text,
        remedy="Let the driver rest between takes or lower the drive; after new prints, play it in first.",
        data={
            "takes": [take.take_id for take in takes],
            "trends": [_numbers(trend) for trend in moved],
            **({} if warm is None else {"rise_k": warm[0], "rise_u_k": warm[1]}),
        },
    )


def _words(trend: Trend) -> str:
    drift, half = trend.drift, coverage_factor(trend.drift.dof) * trend.drift.u
    word = "rose" if drift.change > 0 else "fell"
    each = format_value(abs(drift.change) / (len(trend.takes) - 1), None, trend.watched.unit)
    return f"{trend.watched.what} {word} by {format_with_u(abs(drift.change), half, trend.watched.unit, digits=1)} ({each} a take)"


def _numbers(trend: Trend) -> dict[str, float | str | int]:
    return {
        "figure": trend.watched.figure,
        "unit": trend.watched.unit,
        "change": trend.drift.change,
        "u": trend.drift.u,
        "dof": trend.drift.dof,
        "per_hour": trend.drift.change / trend.hours,
        "per_take": trend.drift.change / (len(trend.takes) - 1),
    }
