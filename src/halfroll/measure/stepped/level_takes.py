"""Distortion against level from sweeps: takes of one unit at several drives as a series of levels."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.core.frequency import POINTS_PER_OCTAVE
from halfroll.core.levels import DB_OF_RELATIVE, FloatArray, spl
from halfroll.core.text import count
from halfroll.measure.analysis.distortion import Distortion, ThdReference, harmonic_distortion
from halfroll.measure.analysis.normalise import to_distance
from halfroll.measure.analysis.response import Response
from halfroll.measure.stepped.level_series import SAME_LEVEL_DB, LevelSeries

PER_OCTAVE = 12
"""Frequencies an octave that are kept of a sweep."""


def series_of_takes(takes: Mapping[str, Response], reference: ThdReference = "total") -> LevelSeries:
    """Distortion against level from the takes of one unit, by the take's id.

    Takes at the same drive (within a quarter of a decibel) are averaged; their scatter enters the uncertainty. All must
    have the same space and distance, and two drives are needed.

    Raises
    ------
    RefusedError
        One level only, or unlike conditions.
    """
    groups = _groups(takes)
    if len(groups) < 2:
        raise RefusedError(
            "Distortion against level needs takes at two levels at least",
            found=f"{count(len(takes), 'take')} at {count(len(groups), 'level')}",
            remedy="Record this unit at another drive, or play a series of tones",
        )
    first = next(iter(takes.values()))
    conditions = first.conditions
    for name, take in takes.items():
        if take.conditions.space is not conditions.space or not math.isclose(
            take.conditions.distance_m, conditions.distance_m, rel_tol=0.02
        ):
            raise RefusedError(
                "Takes of one series must have the same space and distance", found=name,
                allowed=f"{conditions.space}, {conditions.distance_m:g} m", remedy="Leave the other takes out",
            )  # fmt: skip
    frequency = _grid(list(takes.values()))
    gain, (low, high), cautions = to_distance(conditions, frequency)
    gains = np.where((frequency >= low) & (frequency <= high), gain, np.nan)
    levels = [_level([takes[name] for name in names], frequency, reference) for names in groups]
    calibrated = all(take.calibrated for take in takes.values())
    return LevelSeries(
        frequency_hz=frequency,
        level_v=np.array([level["volts"] for level in levels]),
        thd=np.stack([level["thd"] for level in levels]),
        thd_u=np.stack([level["u"] for level in levels]),
        is_bound=np.stack([level["bound"] for level in levels]),
        spl_db=np.stack([level["spl"] + (gains if calibrated else np.nan) for level in levels]),
        spl_u_db=np.stack([level["spl_u"] for level in levels]),
        reference=reference,
        conditions=conditions,
        source="sweeps",
        origin=tuple(name for names in groups for name in names),
        microphone_u_db=first.microphone_u_db,
        voltage_u_db=first.voltage_u_db,
        cautions=tuple(verdict.text for verdict in cautions),
    )


def _groups(takes: Mapping[str, Response]) -> list[list[str]]:
    """Ids of takes by drive, from the lowest drive upwards; takes whose drive is not known are left out."""
    known = {name: take.conditions.drive_v for name, take in takes.items() if take.conditions.drive_v}
    groups: list[list[str]] = []
    for name in sorted(known, key=lambda n: known[n] or 0.0):
        drive = known[name] or 0.0
        last = known[groups[-1][0]] if groups else None
        if last and 20.0 * math.log10(drive / last) <= SAME_LEVEL_DB:
            groups[-1].append(name)
        else:
            groups.append([name])
    return groups


def _grid(takes: list[Response]) -> FloatArray:
    """Every fourth point of the house's grid that all sweeps cover with a second harmonic."""
    low = max(take.valid_hz[0] for take in takes)
    high = min(take.valid_hz[1] for take in takes) / 2.0
    frequency = takes[0].frequency_hz
    for take in takes[1:]:
        frequency = frequency[
            np.isin(np.round(np.log2(frequency) * 480), np.round(np.log2(take.frequency_hz) * 480))
        ]
    step = POINTS_PER_OCTAVE // PER_OCTAVE
    place = np.round(np.log2(frequency / 1000.0) * POINTS_PER_OCTAVE).astype(int)
    kept = frequency[(place % step == 0) & (frequency >= low) & (frequency <= high)]
    if kept.size < 2:
        raise RefusedError(
            "The sweeps of these takes have no range in common",
            remedy="Use one sweep for all takes of a unit",
        )
    return np.asarray(kept)


def _level(takes: list[Response], frequency: FloatArray, reference: ThdReference) -> dict[str, FloatArray]:
    """Mean of takes at one drive: volts, thd, u, bound, spl, spl_u over frequency."""
    found = [harmonic_distortion(take, reference) for take in takes]
    thd = np.stack([_at(take, one.thd, frequency) for take, one in zip(takes, found, strict=True)])
    u = np.stack([_at(take, _u(one), frequency) for take, one in zip(takes, found, strict=True)])
    bound = np.stack([_at(take, one.is_bound.astype(float), frequency) > 0 for take, one in zip(takes, found, strict=True)])  # fmt: skip
    level = np.stack([_at(take, spl(np.abs(take.pressure_full_pa)), frequency) for take in takes])
    noise = np.stack([_at(take, _noise_db(take), frequency) for take in takes])
    count = len(takes)
    scatter = thd.std(axis=0, ddof=1) / math.sqrt(count) if count > 1 else 0.0
    moved = level.std(axis=0, ddof=1) / math.sqrt(count) if count > 1 else 0.0
    return {
        "volts": np.mean([take.conditions.drive_v for take in takes]),
        "thd": thd.mean(axis=0),
        "u": np.maximum(np.sqrt((u**2).mean(axis=0) / count), scatter),
        "bound": bound.any(axis=0),
        "spl": level.mean(axis=0),
        "spl_u": np.maximum(np.sqrt((noise**2).mean(axis=0) / count), moved),
    }


def _at(take: Response, values: FloatArray, frequency: FloatArray) -> FloatArray:
    """Values of a take at points of its own grid."""
    index = np.searchsorted(take.frequency_hz, frequency * (1 - 1e-6))
    return np.asarray(values[np.minimum(index, values.size - 1)])


def _u(found: Distortion) -> FloatArray:
    return np.asarray(np.where(found.is_bound, 0.0, found.u))


def _noise_db(take: Response) -> FloatArray:
    noise = np.nan_to_num(take.noise_pa[0], nan=0.0)
    return np.asarray(
        DB_OF_RELATIVE * noise / np.maximum(np.abs(take.pressure_full_pa), 1e-30) / np.sqrt(2.0)
    )
