"""How sure the lowest limit is: what each assumption behind a predicted driver moves it by, to first order.

A driver with one assumption moved is solved at nine tenths of the drive found. Where its limit is used by more or less than before, the
drive that meets it follows from how the usage grows with the drive there, and the level from how the level does. Assumptions count as
independent (JCGM 100, 5.1.2).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.limits.by_heat import bearables, heat_key, heat_usage, warm
from halfroll.driver.limits.maximum import model_usage, thd_usage, tones_of, travel_usage
from halfroll.driver.limits.search import Usage, level_db
from halfroll.driver.limits.travel import TravelLimit, travel_limits
from halfroll.driver.limits.types import Lowest, MaximumLevel
from halfroll.driver.lumped import DriverModel

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import Assumption, PredictedDriver
    from halfroll.motor.heat.borne import CoilHeat

Travels = tuple[TravelLimit, ...]

_AT = 0.9
_STEP = 1.05
_LEAST_SLOPE = 1e-6
_DB = 20.0 / np.log(10.0)


def with_spread(
    found: MaximumLevel, predicted: PredictedDriver, *, load: AcousticLoad | None = None, series_ohm: float = 0.0,
    progress: Progress = silent,
) -> MaximumLevel:  # fmt: skip
    """The same limits with the standard uncertainty of the lowest of them, for ever and for the shortest time."""
    ends = (0, len(found.lowest) - 1)
    lowest = []
    for i, one in enumerate(found.lowest):
        told = part(progress, 0.0, 0.5) if i == 0 else part(progress, 0.5, 1.0)
        u = (
            _spread(found, one, predicted, load, series_ohm, told)
            if i in ends
            else np.full(found.frequency_hz.size, np.nan)
        )
        lowest.append(replace(one, u_db=u))
    return replace(found, lowest=tuple(lowest))


@dataclass(frozen=True, kw_only=True)
class _Place:
    """Frequencies at which one limit acts, and the drive there."""

    key: str
    frequency_hz: FloatArray
    voltage_v: FloatArray
    at: np.ndarray


def _spread(
    found: MaximumLevel, lowest: Lowest, predicted: PredictedDriver, load: AcousticLoad | None, series_ohm: float,
    progress: Progress,
) -> FloatArray:  # fmt: skip
    places = _places(found, lowest)
    variance = np.zeros(found.frequency_hz.size)
    heat = predicted.heat
    moved = [
        (one, predicted.moved({one.key: 1.0}))
        for one, slope in zip(predicted.assumptions, predicted.slopes, strict=True)
        if np.max(np.abs(slope), initial=0.0) > _LEAST_SLOPE
    ]
    for number, place in enumerate(places):
        look = _looker(place, heat, load, series_ohm)
        base = look(predicted.model, found.travels, _AT)
        steep = (look(predicted.model, found.travels, _AT * _STEP) - base) / np.log(_STEP)
        for turn, (one, model) in enumerate(moved):
            progress((number + turn / max(len(moved), 1)) / len(places), f"spread by {one.label}")
            change = look(model, _travels_moved(found.travels, one), _AT) - base
            by_drive = -change[0] / steep[0]
            level = change[1] + steep[1] * by_drive
            variance[place.at] += np.where(np.isfinite(level), level, 0.0) ** 2
        variance[place.at] += _heat_variance(place.key, heat)
    return np.asarray(np.sqrt(variance))


def _places(found: MaximumLevel, lowest: Lowest) -> list[_Place]:
    acting = np.array(lowest.acting)
    return [
        _Place(key=key, at=at, frequency_hz=found.frequency_hz[at], voltage_v=lowest.voltage_v[at])
        for key in dict.fromkeys(lowest.acting)
        if key
        for at in [np.flatnonzero(acting == key)]
    ]


def _travels_moved(travels: Travels, by: Assumption) -> Travels:
    """The winding's own travel with its height or its place moved by one standard uncertainty."""
    wider = 0.5 * by.u if by.key == "coil.height" else 0.0
    beside = by.u if by.key == "coil.offset" else 0.0
    if not (wider or beside):
        return travels
    return tuple(
        replace(one, low_m=min(one.low_m - wider - beside, -1e-6), high_m=max(one.high_m + wider - beside, 1e-6))
        if one.key == "travel-geometric" else one
        for one in travels
    )  # fmt: skip


def _looker(
    place: _Place, heat: CoilHeat | None, load: AcousticLoad | None, series_ohm: float
) -> Callable[[DriverModel, Travels, float], FloatArray]:
    """Logarithm of the limit's usage and level (dB), (2, n), of a model at a share of the drive."""
    bearable = next((b for b in bearables(heat) if heat_key(b.seconds) == place.key), None) if heat else None

    def look(model: DriverModel, travels: Travels, share: float) -> FloatArray:
        usage: Usage
        if bearable is not None and heat is not None:
            usage, model = heat_usage(bearable.power_w), warm(model, heat, bearable)
        else:
            usage = _usage(place.key, travels, model)
        seen = tones_of(model, load, series_ohm)(share * place.voltage_v, place.frequency_hz)
        return np.array([np.log(usage(seen)), level_db(seen)])

    return look


def _usage(key: str, travels: Travels, model: DriverModel) -> Usage:
    """How a limit is used by a driver; what follows from the driver's curves follows from the moved ones."""
    if key.startswith("travel"):
        own = {one.key: one for one in (*travels, *travel_limits(model))}
        return travel_usage(next(one for name, one in own.items() if name == key))
    if key.startswith("distortion"):
        return thd_usage(float(key.rpartition("-")[2]) / 100.0)
    return model_usage(model)


def _heat_variance(key: str, heat: CoilHeat | None) -> float:
    """What is not known of the heat's ways, as a level: power and level go together (dB²)."""
    if heat is None:
        return 0.0
    return next(((0.5 * _DB * b.u_rel) ** 2 for b in bearables(heat) if heat_key(b.seconds) == key), 0.0)
