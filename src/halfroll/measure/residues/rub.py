"""Telling a rub from a knock, a noise and the regular distortion of a driver, by what is left above order 10.

What marks a rub, a buzz or a leak is that its noise swells in step with the tone, over several cycles, and is stronger
than the driver's own high orders foretell. A door that slams does not keep step; a dropped tool is one event.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, count, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.residues.residue import Residue

Kind = Literal["in step", "single", "burst"]

IN_STEP_SCORE = 12.0
"""Under noise a point passes this with a probability of 6e-6; a take has some 40 points that differ."""

LEAST_SHARE = 0.25
"""Least share that swells with the tone. A scrape over half a cycle has 0.6; a noise that fades over cycles under 0.1."""

FEWEST_CYCLES = 3.0
"""A noise spread over fewer cycles is a single event."""

LOUD_DEVIATIONS = 8.0
LOUD_EXCESS = 1.6
"""What is not in step is told from these on: 8 standard deviations of the noise, and 2 dB in power above it."""

WEAKEST_DB = -80.0
"""Nothing is said of what lies lower re the fundamental; 24-bit converters and good amplifiers end there."""

OVER_REGULAR_DB = -6.0
"""Orders above 12 of a regular driver lie far below its orders 6 to 10, of a hard stop or a clipped voltage about level."""

APART_DB = 6.0
APART_DEVIATIONS = 4.0
"""A unit stands apart from the others by this much, and by so many robust standard deviations of theirs."""

NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation of a normal distribution."""

LEAST_SPREAD_DB = 1.5


@dataclass(frozen=True, kw_only=True)
class Event:
    """A noise found in a take: from where to where the sweep stood (Hz), where it is worst, when, and how strong."""

    kind: Kind
    from_hz: float
    to_hz: float
    worst_hz: float
    time_s: float
    level_db: float
    crest: float
    excess_db: float

    def as_dict(self) -> dict[str, float | str]:
        """Plain values for JSON, keys with units."""
        return dict(vars(self))


@dataclass(frozen=True, kw_only=True)
class Against:
    """A unit's residue beside that of others: `median_db` and `limit_db` (n_b,) of theirs, from how many, and the verdict."""

    frequency_hz: FloatArray
    median_db: FloatArray
    limit_db: FloatArray
    others: int
    verdict: Verdict | None


def find_events(residue: Residue) -> tuple[Event, ...]:
    """What stands out of noise and regular distortion, in the order of frequency."""
    known = np.isfinite(residue.excess)
    deviations = np.where(known, (residue.excess - 1.0) / residue.deviation, 0.0)
    loud = known & (deviations >= LOUD_DEVIATIONS) & (residue.excess >= LOUD_EXCESS)
    heard = residue.level_db >= np.maximum(WEAKEST_DB, residue.regular_db + OVER_REGULAR_DB)
    step = (residue.score >= IN_STEP_SCORE) & heard
    found = [_event(residue, part, deviations) for part in _runs((step | loud) & heard)]
    return tuple(event for event in found if event is not None)


def _event(residue: Residue, part: slice, deviations: FloatArray) -> Event | None:
    """What a run of neighbouring points is; None when it is neither in step nor loud after all."""
    score, share, cycles = residue.score[part], residue.in_step[part], residue.cycles[part]
    step = (score >= IN_STEP_SCORE) & (share >= LEAST_SHARE) & (cycles >= FEWEST_CYCLES)
    loud = deviations[part]
    kind: Kind
    if step.any():
        kind, weight = "in step", np.where(step, residue.level_db[part], -np.inf)
    elif loud.max() >= LOUD_DEVIATIONS:
        kind, weight = "burst", loud
        if cycles[int(np.argmax(loud))] < FEWEST_CYCLES:
            kind = "single"
    else:
        return None
    worst = part.start + int(np.argmax(weight))
    excess = residue.excess[worst]
    return Event(
        kind=kind,
        from_hz=float(residue.frequency_hz[part.start]),
        to_hz=float(residue.frequency_hz[part.stop - 1]),
        worst_hz=float(residue.frequency_hz[worst]),
        time_s=float(residue.time_s[worst]),
        level_db=float(residue.level_db[worst]),
        crest=float(residue.crest[worst]),
        excess_db=float(10.0 * np.log10(excess)) if np.isfinite(excess) else float("nan"),
    )


def _runs(mask: np.ndarray) -> list[slice]:
    """Stretches of neighbouring True values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def sounds_like_rub(residue: Residue) -> bool:
    """Whether there is a noise in step with the tone."""
    return any(event.kind == "in step" for event in find_events(residue))


def rub_verdicts(residue: Residue, drive: Residue | None = None) -> tuple[Verdict, ...]:
    """What must be said of one take by itself, at most one verdict of a kind.

    `drive` is the same read from the terminal voltage: what stands there too comes from the amplifier.
    """
    events = find_events(residue)
    found = []
    for kind in ("in step", "single", "burst"):
        alike = [event for event in events if event.kind == kind]
        if alike:
            worst = max(alike, key=lambda event: event.level_db)
            found.append(_verdict(worst, alike, residue, drive))
    return tuple(found)


def _verdict(worst: Event, alike: Sequence[Event], residue: Residue, drive: Residue | None) -> Verdict:
    data = {**worst.as_dict(), "events": [event.as_dict() for event in alike]}
    if worst.kind == "in step" and drive is not None and _in_drive(worst, residue, drive):
        return Verdict(
            code="drive-not-clean",
            severity=Severity.CAUTION,
            text=f"The terminal voltage holds hard distortion {_where(alike)}; what sounds like a rub comes from the amplifier.",
            remedy="Lower the level, or use an amplifier that does not clip at it.",
            data=data,
        )
    if worst.kind == "in step":
        return Verdict(
            code="rub",
            severity=Severity.CAUTION,
            text=f"A noise in step with the tone {_where(alike)}, {_db(worst.level_db)} re the fundamental at {_hz(worst.worst_hz)}: "
            "something scrapes, knocks or leaks.",
            remedy="Repeat the take. If it returns there, look at coil, lead wires, glue joints and leaks.",
            data=data,
        )
    if worst.kind == "single":
        return Verdict(
            code="single-event",
            severity=Severity.CAUTION,
            text=f"One single noise at {worst.time_s:.2f}{THIN}s, while the sweep passed {_hz(worst.worst_hz)}: a knock, a step or a door.",
            remedy="Repeat the take; what belongs to the driver returns at the same frequency.",
            data=data,
        )
    return Verdict(
        code="noise-rose",
        severity=Severity.CAUTION,
        text=f"While the sweep passed {_hz(worst.worst_hz)} the noise stood {_db(worst.excess_db)} above that of the silence, "
        "not in step with the tone.",
        remedy="Repeat the take when it is quiet. If it returns there, something in the driver is loose.",
        data=data,
    )


def _in_drive(event: Event, residue: Residue, drive: Residue) -> bool:
    at = int(np.argmin(np.abs(drive.frequency_hz - event.worst_hz)))
    return bool(
        drive.level_db[at] > max(event.level_db - 20.0, WEAKEST_DB) and drive.score[at] >= IN_STEP_SCORE
    )


def against_others(residue: Residue, others: Sequence[Residue]) -> Against | None:
    """A unit's residue relative to the version's other units; None without any.

    A point stands apart when it lies `APART_DB` and `APART_DEVIATIONS` robust deviations over the median of the others
    (over the higher of the floors where nothing was found); two neighbouring points of it make a verdict. A rub that the
    others share is said to be the design's.
    """
    shared = _shared_grid([residue, *others])
    if not others or not len(shared):
        return None
    ours, floor = _on(residue, shared)
    levels = np.array([_on(other, shared)[0] for other in others])
    floors = np.array([_on(other, shared)[1] for other in others])
    median = np.median(levels, axis=0)
    spread = np.maximum(NORMAL_MAD * np.median(np.abs(levels - median), axis=0), LEAST_SPREAD_DB)
    limit = np.maximum(median, np.nan_to_num(np.max(floors, axis=0), nan=-np.inf)) + np.maximum(
        APART_DB, APART_DEVIATIONS * spread
    )
    apart = (ours > limit) & (ours > np.nan_to_num(floor, nan=-np.inf))
    runs = [part for part in _runs(apart) if part.stop - part.start >= 2]
    verdict = _apart(shared, ours - median, runs, len(others)) if runs else _design(residue, len(others))
    return Against(frequency_hz=shared, median_db=median, limit_db=limit, others=len(others), verdict=verdict)


def _apart(frequency: FloatArray, over: FloatArray, runs: Iterable[slice], others: int) -> Verdict:
    inside = np.concatenate([np.arange(part.start, part.stop) for part in runs])
    worst = int(inside[np.argmax(over[inside])])
    return Verdict(
        code="rub-apart",
        severity=Severity.CAUTION,
        text=f"Above its harmonics this unit is noisier than the version's other units, by {_db(float(over[worst]))} at "
        f"{_hz(float(frequency[worst]))} ({count(others, 'take')} compared).",
        remedy="Look at coil, lead wires, glue joints and leaks of this unit; the others show what the design can do.",
        data={
            "over_db": float(over[worst]),
            "worst_hz": float(frequency[worst]),
            "from_hz": float(frequency[inside[0]]),
            "to_hz": float(frequency[inside[-1]]),
            "others": others,
        },
    )


def _design(residue: Residue, others: int) -> Verdict | None:
    """A rub by itself that the other units have as well."""
    steps = [event for event in find_events(residue) if event.kind == "in step"]
    if not steps:
        return None
    worst = max(steps, key=lambda event: event.level_db)
    return Verdict(
        code="rub-alike",
        severity=Severity.NOTE,
        text=f"The noise in step with the tone {_where(steps)} is no stronger than in the version's other units "
        f"({count(others, 'take')} compared): it belongs to the design.",
        remedy="Look at what all units share: clearance, travel, vents, the shape of the parts.",
        data={**worst.as_dict(), "others": others},
    )


def _shared_grid(residues: Sequence[Residue]) -> FloatArray:
    """Frequencies that all have; every residue lies on the house grid."""
    shared = residues[0].frequency_hz
    for other in residues[1:]:
        shared = shared[np.isin(np.round(shared, 3), np.round(other.frequency_hz, 3))]
    return shared


def _on(residue: Residue, shared: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Level and floor (dB) at the shared frequencies."""
    at = np.searchsorted(residue.frequency_hz, shared - 1e-3)
    return residue.level_db[at], residue.floor_db[at]


def _where(events: Sequence[Event]) -> str:
    low, high = min(event.from_hz for event in events), max(event.to_hz for event in events)
    return f"at {_hz(low)}" if high < 1.1 * low else f"between {_hz(low)} and {_hz(high)}"


def _hz(value: float) -> str:
    return format_value(value, None, "Hz") if value >= 100.0 else f"{value:.0f}{THIN}Hz"


def _db(value: float) -> str:
    return format_value(value, 5.0, "dB", digits=1)
