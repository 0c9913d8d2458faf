"""Searching drives for limits: steady tones at rising voltage, every frequency at once, and the voltage at which a limit is just met.

A limit is a number that is 1 when it is met and grows with the drive: displacement over what is allowed, power over what is borne,
distortion over what is heard. The first crossing from below counts. Between two drives the search runs on logarithms, where all
these numbers are nearly straight lines.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import P_REF_PA, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.steady.types import Standing, SteadyTones

Tones = Callable[[FloatArray, FloatArray], SteadyTones]
"""Steady tones at voltages (V, r.m.s.) and frequencies (Hz), both (n,)."""

Usage = Callable[[SteadyTones], FloatArray]
"""How much of a limit is used, 1 at the limit; (n,), NaN where a tone is not steady."""

FIRST = 0.05
"""Share of the drive that would linearly reach the end of the model, or of the highest drive, at which the search begins."""

STEP_DB = 2.5
_END_STEPS = 5
"""Halvings of the last step before the model's end: 0.08 dB."""

VALUES = ("voltage_v", "level_db", "x_low_m", "x_high_m")
"""What is noted where a limit is met."""

_LEAST = 1e-12
_CLOSE = 5e-4
_TURNS = 8


@dataclass(frozen=True, kw_only=True, eq=False)
class Seen:
    """One drive of every frequency: voltage (V), level (dB re 20 µPa), displacement's extremes (m), usage of every limit (k, n), standing."""

    voltage_v: FloatArray
    level_db: FloatArray
    x_low_m: FloatArray
    x_high_m: FloatArray
    usage: FloatArray
    standing: tuple[Standing, ...]

    @property
    def steady(self) -> np.ndarray:
        """Where a steady solution was found, (n,)."""
        return np.array([one == "steady" for one in self.standing], dtype=bool)


@dataclass(frozen=True, kw_only=True, eq=False)
class Met:
    """Where a limit is just met: voltage (V), level (dB), extremes of the displacement (m), each (n,); NaN where it was not."""

    voltage_v: FloatArray
    level_db: FloatArray
    x_low_m: FloatArray
    x_high_m: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Searched:
    """Every limit as `met`, the last steady drive (`end`), and how the tone just above ended: ``steady`` where the search stopped first."""

    met: dict[str, Met]
    end: Met
    ended: tuple[Standing, ...]


def level_db(tones: SteadyTones) -> FloatArray:
    """Level of the fundamental at 1 m (dB re 20 µPa), (n,)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(20.0 * np.log10(np.abs(tones.pressure_pa[1]) / np.sqrt(2.0) / P_REF_PA))


def search(
    tones: Tones, usages: Mapping[str, Usage], frequency_hz: FloatArray, first_v: FloatArray, highest_v: FloatArray,
    progress: Progress = silent,
) -> Searched:  # fmt: skip
    """The lowest voltage at which each limit is met, from `first_v` up to `highest_v` (both (n,)).

    Parameters
    ----------
    tones
        Solves steady tones; it must reach them from rest.
    usages
        Limits by key.
    """
    looker = _Looker(tones, usages, np.asarray(frequency_hz, dtype=np.float64))
    rungs = _climb(looker, first_v, highest_v, progress)
    met = {}
    for place, key in enumerate(usages):
        progress(0.5 + 0.5 * place / len(usages), f"where {key.replace('-', ' ')} is met")
        met[key] = _refine(looker, rungs, place)
    return Searched(met=met, end=_end(rungs), ended=_ended(rungs))


@dataclass(frozen=True, eq=False)
class _Looker:
    tones: Tones
    usages: Mapping[str, Usage]
    frequency_hz: FloatArray

    def look(self, voltage_v: FloatArray, where: np.ndarray) -> Seen:
        """Solve at some frequencies; NaN and ``not found`` at the others."""
        n, k = self.frequency_hz.size, len(self.usages)
        level, low, high = (np.full(n, np.nan) for _ in range(3))
        usage = np.full((k, n), np.nan)
        standing: list[Standing] = ["not found"] * n
        at = np.flatnonzero(where)
        if at.size:
            found = self.tones(voltage_v[at], self.frequency_hz[at])
            level[at], low[at], high[at] = level_db(found), found.x_low_m, found.x_high_m
            for row, usage_of in enumerate(self.usages.values()):
                usage[row, at] = usage_of(found)
            for i, one in zip(at, found.standing, strict=True):
                standing[i] = one
        return Seen(voltage_v=np.where(where, voltage_v, np.nan), level_db=level, x_low_m=low, x_high_m=high, usage=usage,
                    standing=tuple(standing))  # fmt: skip


def _climb(looker: _Looker, first_v: FloatArray, highest_v: FloatArray, progress: Progress) -> list[Seen]:
    """Rising drives until every limit is met, the model ends or the highest drive is reached; near the model's end in finer steps."""
    step = 10.0 ** (STEP_DB / 20.0)
    voltage = np.minimum(first_v, highest_v)
    going = np.ones(voltage.size, dtype=bool)
    rungs: list[Seen] = []
    last_good, first_bad = np.full(voltage.size, np.nan), np.full(voltage.size, np.nan)
    most = max(1.0, float(np.max(np.log(highest_v / voltage))) / np.log(step) + 1.0)
    while going.any():
        progress(
            0.4 * min(len(rungs) / most, 1.0), f"tones at {STEP_DB * len(rungs):.0f} dB over the first drive"
        )
        seen = looker.look(voltage, going)
        rungs.append(seen)
        last_good = np.where(going & seen.steady, voltage, last_good)
        first_bad = np.where(going & ~seen.steady, voltage, first_bad)
        open_limits = ~np.all(
            np.nan_to_num(np.nanmax(_stack(rungs), axis=0, initial=-np.inf), nan=0.0) >= 1.0, axis=0
        )
        going = going & seen.steady & open_limits & (voltage < highest_v * 0.999)
        voltage = np.minimum(voltage * step, highest_v)
    for _ in range(_END_STEPS):
        near = np.isfinite(first_bad) & np.isfinite(last_good)
        if not near.any():
            break
        middle = np.sqrt(last_good * first_bad)
        seen = looker.look(middle, near)
        rungs.append(seen)
        last_good = np.where(near & seen.steady, middle, last_good)
        first_bad = np.where(near & ~seen.steady, middle, first_bad)
    return rungs


def _stack(rungs: list[Seen]) -> FloatArray:
    return np.array([one.usage for one in rungs])


def _refine(looker: _Looker, rungs: list[Seen], place: int) -> Met:
    """Regula falsi (Illinois) on logarithms between the drives below and above a limit's first crossing."""
    below, above = _bracket(rungs, place)
    open_ = np.isfinite(above[0])
    best = Met(**{name: np.full(open_.size, np.nan) for name in VALUES})
    going = open_.copy()
    for _ in range(_TURNS):
        if not going.any():
            break
        at = below[0] + (above[0] - below[0]) * below[1] / (below[1] - above[1])
        at = np.where(np.isfinite(at), at, 0.5 * (below[0] + above[0]))
        seen = looker.look(np.exp(at), going)
        left = np.log(np.maximum(seen.usage[place], _LEAST))
        steady = seen.steady & np.isfinite(left)
        best = _take(best, seen, going & steady)
        over, under = going & (~steady | (left > 0.0)), going & steady & (left <= 0.0)
        below = _moved(below, above, under, at, left)
        above = _moved(above, below, over, at, np.where(steady, left, above[1]))
        going = going & ~(steady & (np.abs(left) < _CLOSE))
    return best


Ends = tuple[FloatArray, FloatArray, FloatArray]
"""Logarithm of the voltage, of the usage, and whether this end moved last."""


def _bracket(rungs: list[Seen], place: int) -> tuple[Ends, Ends]:
    """The drives around the first crossing in order of voltage, as logarithms; NaN where there is none."""
    n = rungs[0].voltage_v.size
    below = (np.full(n, np.nan), np.full(n, np.nan), np.zeros(n))
    above = (np.full(n, np.nan), np.full(n, np.nan), np.zeros(n))
    for i in range(n):
        known = sorted(
            (float(one.voltage_v[i]), float(one.usage[place, i]))
            for one in rungs
            if np.isfinite(one.voltage_v[i]) and np.isfinite(one.usage[place, i])
        )
        crossed = next((j for j, (_, usage) in enumerate(known) if usage >= 1.0), None)
        if crossed is None:
            continue
        volts, usage = known[crossed]
        above[0][i], above[1][i] = np.log(volts), np.log(max(usage, 1.0 + 1e-9))
        before = known[crossed - 1] if crossed else (volts * 1e-3 / usage, 1e-3)
        below[0][i], below[1][i] = np.log(before[0]), np.log(max(before[1], _LEAST))
    return below, above


def _moved(end: Ends, other: Ends, where: np.ndarray, at: FloatArray, left: FloatArray) -> Ends:
    """One end of the bracket moved; the other end's weight is halved when this one moved twice running (Illinois)."""
    twice = where & (end[2] > 0.0)
    other[1][twice] *= 0.5
    other[2][where] = 0.0
    return np.where(where, at, end[0]), np.where(where, left, end[1]), np.where(where, 1.0, end[2])


def _take(best: Met, seen: Seen, where: np.ndarray) -> Met:
    return Met(**{
        name: np.where(where, getattr(seen, name), getattr(best, name)) for name in VALUES
    })  # fmt: skip


def _end(rungs: list[Seen]) -> Met:
    """The highest steady drive of each frequency."""
    n = rungs[0].voltage_v.size
    best = Met(**{name: np.full(n, np.nan) for name in VALUES})
    for seen in rungs:
        higher = seen.steady & (np.isnan(best.voltage_v) | (seen.voltage_v > best.voltage_v))
        best = _take(best, seen, higher)
    return best


def _ended(rungs: list[Seen]) -> tuple[Standing, ...]:
    """How the lowest drive that was not steady ended, for each frequency."""
    ended: list[Standing] = []
    for i in range(rungs[0].voltage_v.size):
        bad = [
            (one.voltage_v[i], one.standing[i])
            for one in rungs
            if np.isfinite(one.voltage_v[i]) and one.standing[i] != "steady"
        ]
        ended.append(min(bad)[1] if bad else "steady")
    return tuple(ended)
