"""Highest levels in words and rows, the same for a page and a terminal."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.core.levels import DB_OF_RELATIVE
from halfroll.core.text import format_value, format_with_u
from halfroll.measure.stepped.highest_level import HighestLevel, highest_level
from halfroll.measure.stepped.level_series import LevelCurve, LevelSeries, at_frequency, over_band

SWEEP_STEP = 4
"""Of the frequencies of a sweep every fourth has a row: a third of an octave."""

_SIGNS = {"lower": "at least ", "upper": "at most ", None: ""}


@dataclass(frozen=True, kw_only=True)
class LevelRow:
    """One frequency or band, and the highest level under each limit, or why there is none."""

    curve: LevelCurve
    highest: tuple[HighestLevel | str, ...]


def level_rows(series: LevelSeries, band_hz: tuple[float, float], limits: Sequence[float]) -> list[LevelRow]:
    """The band's mean where it can be had, then single frequencies; of a sweep those in the band."""
    curves: list[LevelCurve] = []
    with contextlib.suppress(InputError):  # the single frequencies still say something
        curves.append(over_band(series, band_hz))
    inside = [
        i
        for i, f in enumerate(series.frequency_hz)
        if series.source == "tones" or band_hz[0] <= f <= band_hz[1]
    ]
    step = SWEEP_STEP if series.source == "sweeps" else 1
    curves += [at_frequency(series, i) for i in inside[::step]]
    return [
        LevelRow(curve=c, highest=tuple(highest_of(series, c, limit) for limit in limits)) for c in curves
    ]


def highest_of(series: LevelSeries, curve: LevelCurve, limit: float) -> HighestLevel | str:
    """The highest level of a curve of a series under a limit, or why there is none."""
    try:
        return highest_level(
            curve, limit, series.conditions.rated_impedance_ohm, microphone_u_db=series.microphone_u_db,
            voltage_u_db=series.voltage_u_db,
        )  # fmt: skip
    except InputError as refusal:
        return str(refusal)


def highest_words(found: HighestLevel | str) -> str:
    """The highest level in words: watts, volts, level at 1 m, with half of the 95 % interval."""
    if isinstance(found, str):
        return found
    text = _SIGNS[found.bound] + drive_words(found)
    return text if found.spl_db is None else f"{text}, {level_words(found)} at 1 m"


def drive_words(found: HighestLevel) -> str:
    """Watts and volts."""
    half = None if found.level_u_db is None else 1.96 * found.level_u_db * found.level_v / DB_OF_RELATIVE
    power = "" if found.level_w is None else f"{format_value(found.level_w, None, 'W')}, "
    return power + format_with_u(found.level_v, half, "V", digits=1)


def level_words(found: HighestLevel) -> str:
    """Level at 1 m."""
    if found.spl_db is None:
        return ""
    return format_with_u(
        found.spl_db, None if found.spl_u_db is None else 1.96 * found.spl_u_db, "dB", digits=1
    )


def cautions_of(series: LevelSeries, rows: Iterable[LevelRow]) -> list[str]:
    """What must be said beside the rows, each once."""
    said = [text for row in rows for one in row.highest if not isinstance(one, str) for text in one.cautions]
    return list(dict.fromkeys([*series.cautions, *said]))
