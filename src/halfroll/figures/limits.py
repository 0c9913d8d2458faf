"""The usable range: lower and upper limit of a response by the effective-range rule or by a fixed drop.

Effective range: IEC 60268-5 cl. 21.2, not more than 10 dB below the level averaged over one octave in the region of
maximum sensitivity. The clause does not place that octave; here it is the octave with the highest power mean.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.frequency import in_band
from halfroll.core.levels import FloatArray, power_mean_db
from halfroll.figures.types import LimitRule

DROP_DB: dict[LimitRule, float] = {"effective": 10.0, "minus_10": 10.0, "minus_6": 6.0, "minus_3": 3.0}

NARROW_TROUGH_OCTAVES = 1.0 / 9.0
"""Troughs narrower than this at the level of the limit are ignored, IEC 60268-5 cl. 21.2."""

SLOPE_REACH_OCTAVES = 1.0 / 12.0
"""The slope at a crossing is taken over this much on either side."""

LEAST_SLOPE_DB_PER_OCTAVE = 0.5


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One end of the usable range.

    Parameters
    ----------
    hz
        Crossing, interpolated in lg f against dB; the end of the curve when it was not `reached`.
    reached
        Whether the curve falls below the limit's level within its range.
    slope_db_per_octave
        Steepness there, always positive, at least 0.5.
    """

    hz: float
    reached: bool
    slope_db_per_octave: float


@dataclass(frozen=True, kw_only=True)
class UsableRange:
    """Both limits, the reference level (dB), and the centre of the best octave (Hz) where the rule uses one."""

    low: Limit
    high: Limit
    reference_db: float
    octave_centre_hz: float | None


def usable_range(
    frequency_hz: FloatArray, level_db: FloatArray, rule: LimitRule, band_hz: tuple[float, float]
) -> UsableRange | None:
    """Limits of a level curve on the house grid, shape (n_f,).

    The search starts at the edges of the best octave (``effective``) or of the sensitivity band (the other rules) and
    goes outwards; when the curve is already below the limit's level there, it goes inwards to the nearest crossing.
    None when the curve is shorter than an octave or does not touch the band.
    """
    reference = (
        _best_octave(frequency_hz, level_db)
        if rule == "effective"
        else _band(frequency_hz, level_db, band_hz)
    )
    if reference is None:
        return None
    start, stop, reference_db = reference
    level_at_limit = reference_db - DROP_DB[rule]
    octave = np.log2(frequency_hz)
    high = _limit(octave, level_db, level_at_limit, stop)
    low = _limit(-octave[::-1], level_db[::-1], level_at_limit, len(octave) - 1 - start)
    if high is None or low is None:
        return None
    centre = float(np.sqrt(frequency_hz[start] * frequency_hz[stop])) if rule == "effective" else None
    return UsableRange(
        low=Limit(hz=2.0 ** -low[0], reached=low[1], slope_db_per_octave=low[2]),
        high=Limit(hz=2.0 ** high[0], reached=high[1], slope_db_per_octave=high[2]),
        reference_db=reference_db,
        octave_centre_hz=centre,
    )


def _best_octave(frequency_hz: FloatArray, level_db: FloatArray) -> tuple[int, int, float] | None:
    """First and last index and power mean (dB) of the octave with the highest mean."""
    if len(frequency_hz) < 2:
        return None
    width = round(1.0 / float(np.log2(frequency_hz[1] / frequency_hz[0])))
    if len(frequency_hz) <= width:
        return None
    power = 10.0 ** (level_db / 10.0)
    mean = np.convolve(power, np.ones(width + 1), mode="valid") / (width + 1)
    start = int(np.argmax(mean))
    return start, start + width, 10.0 * float(np.log10(mean[start]))


def _band(
    frequency_hz: FloatArray, level_db: FloatArray, band_hz: tuple[float, float]
) -> tuple[int, int, float] | None:
    inside = np.flatnonzero(in_band(frequency_hz, band_hz))
    if not len(inside):
        return None
    return int(inside[0]), int(inside[-1]), power_mean_db(level_db[inside])


def _limit(
    octave: FloatArray, level_db: FloatArray, threshold: float, start: int
) -> tuple[float, bool, float] | None:
    """Position (octaves), whether reached, slope (dB/octave), going up from an index on an ascending axis."""
    below = level_db < threshold
    if below[start]:
        inside = np.flatnonzero(~below[:start])
        return _crossing(octave, level_db, threshold, int(inside[-1])) if len(inside) else None
    for first, last in _runs(below, start):
        left = _crossing(octave, level_db, threshold, first - 1)
        if last == len(octave) - 1:
            return left
        right = _crossing(octave, level_db, threshold, last)
        if right[0] - left[0] >= NARROW_TROUGH_OCTAVES:
            return left
    return float(octave[-1]), False, LEAST_SLOPE_DB_PER_OCTAVE


def _runs(below: np.ndarray, start: int) -> list[tuple[int, int]]:
    """First and last index of each stretch that is True, from `start` on."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], below[start:], [False]]).astype(np.int8)))
    return [(start + int(a), start + int(b) - 1) for a, b in edges.reshape(-1, 2)]


def _crossing(
    octave: FloatArray, level_db: FloatArray, threshold: float, index: int
) -> tuple[float, bool, float]:
    """Where the curve crosses the threshold between a point and the next."""
    step = level_db[index + 1] - level_db[index]
    at = float(octave[index] + (threshold - level_db[index]) / step * (octave[index + 1] - octave[index]))
    around = np.interp([at - SLOPE_REACH_OCTAVES, at + SLOPE_REACH_OCTAVES], octave, level_db)
    slope = abs(float(around[1] - around[0])) / (2.0 * SLOPE_REACH_OCTAVES)
    return at, True, max(slope, LEAST_SLOPE_DB_PER_OCTAVE)
