"""The figure of a series of tones: how loud the bass gets before it distorts too much."""

from __future__ import annotations

import math

from halfroll.core.errors import InputError
from halfroll.figures.rule import FigureRule
from halfroll.figures.types import FigureSettings, Reading
from halfroll.measure.analysis.response import Gate
from halfroll.measure.stepped.highest_level import highest_level
from halfroll.measure.stepped.level_series import LevelSeries, over_band

MOST_THD = 0.10
"""Limit of distortion of the maximum level; common practice for bass."""

KEY = "max_level_thd_db"

TONES_RULES: tuple[FigureRule, ...] = (
    FigureRule(
        key=KEY,
        label="Maximum level at 10 % distortion",
        unit="dB",
        definition="Power mean of the fundamental over {distortion_band} at 1 m, at the drive at which the mean of THD over "
        "{reference} in that band reaches 10 %; lg voltage over lg THD taken as a parabola through the three nearest drives",
        source="Common practice; no source for the limit",
        better="higher",
        difference="dB",
        of="tones",
        group="Distortion",
        microphone_db=1.0,
    ),
)


def tones_readings(series: LevelSeries, settings: FigureSettings) -> dict[str, Reading]:
    """Figures of one series of tones; a limit that was not reached, or passed at once, gives a bound.

    `series` must have been made with the THD reference of the settings.
    """
    try:
        curve = over_band(series, settings.distortion_band_hz)
        found = highest_level(curve, MOST_THD, series.conditions.rated_impedance_ohm)
    except InputError as refusal:
        return {KEY: Reading(missing=str(refusal))}
    if found.spl_db is None:
        return {KEY: Reading(missing="The level in pascals is not known in this band.")}
    cautions = (*series.cautions, *found.cautions)
    if found.bound is not None:
        said = {
            "lower": f"The limit was not reached at {found.level_v:.3g} V, the highest drive played.",
            "upper": f"The limit was passed at {found.level_v:.3g} V already, the lowest drive played.",
        }[found.bound]
        return {KEY: Reading(value=found.spl_db, bound=found.bound, cautions=(*cautions, said))}
    room = _room_u_db(series)
    return {
        KEY: Reading(
            value=found.spl_db, u=math.hypot(found.spl_u_db or 0.0, room), u_room=room, cautions=cautions
        )
    }


def _room_u_db(series: LevelSeries) -> float:
    """What reflections may do to steady tones (dB): that of a reflection too weak to be found, as in `Response.room_u_db`."""
    gain = Gate().bass_gain(series.conditions.distance_m)
    return 10.0 * math.log10((1.0 + gain) / (1.0 - gain)) / math.sqrt(3.0)
