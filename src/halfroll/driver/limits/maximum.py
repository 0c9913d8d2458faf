"""The highest level over frequency by heat, travel and distortion, each with the true motion at that drive, and the lowest of them.

Every limit is solved with the steady large-signal motion: near the end of the travel the cone moves less, or more, than a small-signal
calculation says. Levels are of the fundamental at 1 m in half space. Practice of IEC 60268-5 (maximum levels under stated conditions,
characteristic time of short-term and long-term signals) and of AES2 (10 % of distortion); both from memory. Tones are steady: programme
whose peaks are short heats less, and moves as far.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.limits.by_heat import bearables, heat_key, heat_usage, newton, warm
from halfroll.driver.limits.search import FIRST, VALUES, Met, Searched, Tones, Usage, search
from halfroll.driver.limits.travel import TravelLimit, travel_limits
from halfroll.driver.limits.types import LimitCurve, LimitKind, Lowest, MaximumLevel
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.types import SteadyTones
from halfroll.motor.types import Assembly

if TYPE_CHECKING:
    from halfroll.motor.heat.borne import CoilHeat

DISTORTION = 0.10
CLEAN = 0.03
"""Total harmonic distortion re the fundamental, orders 2 to 5, that counts as a limit (AES2, from memory), and one that is only drawn."""

WITHOUT_HEAT_W = 200.0
"""Highest drive that is searched where nothing is known of the heat (W into the coil's resistance)."""

MODEL = "model-end"
MOTION = "motion-end"


def usual_frequencies(upper_hz: float = 20_000.0, lower_hz: float = 20.0) -> FloatArray:
    """Six a octave up to 500 Hz and three above, where limits change slowly (Hz)."""
    low = 20.0 * 2.0 ** (np.arange(60) / 6.0)
    high = 500.0 * 2.0 ** (np.arange(1, 40) / 3.0)
    every = np.concatenate([low[low < 499.0], [500.0], high])
    upper = max(upper_hz, 2.0 * lower_hz)
    inside = every[(every >= lower_hz) & (every < 0.97 * upper)]
    return np.append(inside, upper)


def maximum_level(
    model: DriverModel,
    *,
    heat: CoilHeat | None = None,
    assembly: Assembly | None = None,
    load: AcousticLoad | None = None,
    usable_hz: float | None = None,
    frequency_hz: FloatArray | None = None,
    distortion: float = DISTORTION,
    clean: float | None = CLEAN,
    series_ohm: float = 0.0,
    air: Air = STANDARD_AIR,
    progress: Progress = silent,
) -> MaximumLevel:
    """The highest level of a driver over frequency.

    Parameters
    ----------
    model
        The driver, its coil at the temperature of the air.
    heat, assembly
        What heat does to its coil, and the motor with its winding; limits that need them are left out without.
    load
        The cabinet behind it; None for an infinite baffle.
    usable_hz
        Up to where the cone moves as one piece.
    frequency_hz
        Where to look; `usual_frequencies` up to 20 kHz when None.
    distortion, clean
        Total harmonic distortion (share of the fundamental) that counts as a limit, and one that is drawn beside it.
    series_ohm, air
        Resistance between source and terminals (ohm), and the air of the level.

    Raises
    ------
    CancelledError
        `progress` asked to stop.
    """
    f = usual_frequencies() if frequency_hz is None else np.asarray(frequency_hz, dtype=np.float64)
    travels = travel_limits(model, assembly)
    cold = tones_of(model, load, series_ohm, air)
    usages: dict[str, Usage] = {
        **{str(one.key): travel_usage(one) for one in travels},
        **{f"distortion-{100 * share:g}": thd_usage(share) for share in (distortion, clean) if share},
    }
    first, highest = _drives(model, f, heat, load, series_ohm)
    found = search(cold, usages, f, first, highest, part(progress, 0.0, 0.7))
    curves = [
        *(_curve(key, _label(key, travels), _kind(key), met, counts=key != f"distortion-{100 * (clean or 0.0):g}")
          for key, met in found.met.items()),
        *_model_end(found),
        *_heat_curves(model, f, heat, lambda hot: tones_of(hot, load, series_ohm, air), load, series_ohm, found, part(progress, 0.7, 1.0)),
    ]  # fmt: skip
    known = tuple(one for one in curves if np.isfinite(one.voltage_v).any())
    times = (math.inf, *sorted((b.seconds for b in heat.short), reverse=True)) if heat else (0.0,)
    result = MaximumLevel(
        frequency_hz=f, curves=known, lowest=tuple(lowest_of(known, seconds, f.size) for seconds in times), travels=travels,
        usable_hz=usable_hz, left_out=_left_out(heat, assembly, curves),
    )  # fmt: skip
    from halfroll.driver.limits.verdicts import limit_verdicts

    return replace(result, verdicts=limit_verdicts(result, found.ended, load))


def tones_of(
    model: DriverModel, load: AcousticLoad | None, series_ohm: float, air: Air = STANDARD_AIR
) -> Tones:
    """The steady-state solver with a driver and its surroundings bound to it."""
    from halfroll.driver.steady.solve import steady_tones

    def tones(voltage_v: FloatArray, frequency_hz: FloatArray) -> SteadyTones:
        return steady_tones(
            model, voltage_v, frequency_hz, load=load, series_ohm=series_ohm, orders=7, air=air
        )

    return tones


def travel_usage(limit: TravelLimit) -> Usage:
    """Displacement over what is allowed, the nearer end."""

    def usage(tones: SteadyTones) -> FloatArray:
        return np.maximum(tones.x_high_m / limit.high_m, tones.x_low_m / limit.low_m)

    return usage


def thd_usage(share: float) -> Usage:
    """Distortion over what is allowed."""

    def usage(tones: SteadyTones) -> FloatArray:
        return tones.thd(5) / share

    return usage


def model_usage(model: DriverModel) -> Usage:
    """Displacement over that for which the model holds."""
    low, high = model.x_range

    def usage(tones: SteadyTones) -> FloatArray:
        return np.maximum(tones.x_high_m / high, tones.x_low_m / low)

    return usage


def lowest_of(curves: Sequence[LimitCurve], seconds: float, count: int) -> Lowest:
    """The lowest level among the limits that hold for a time, at `count` frequencies."""
    asked = [one for one in curves if one.counts and (one.seconds is None or one.seconds == seconds)]
    if not asked:
        none = np.full(count, np.nan)
        return Lowest(
            seconds=seconds, level_db=none, voltage_v=none, acting=("",) * count, u_db=np.zeros(count)
        )
    level = np.array([one.level_db for one in asked])
    none = ~np.isfinite(level).any(axis=0)
    place = np.argmin(np.where(np.isfinite(level), level, np.inf), axis=0)
    across = np.arange(level.shape[1])
    voltage = np.array([one.voltage_v for one in asked])[place, across]
    return Lowest(
        seconds=seconds,
        level_db=np.where(none, np.nan, level[place, across]),
        voltage_v=np.where(none, np.nan, voltage),
        acting=tuple("" if gone else asked[i].key for i, gone in zip(place, none, strict=True)),
        u_db=np.zeros(level.shape[1]),
    )


def _drives(
    model: DriverModel, f: FloatArray, heat: CoilHeat | None, load: AcousticLoad | None, series_ohm: float
) -> tuple[FloatArray, FloatArray]:
    """First and highest voltage of the search: what would linearly reach a share of the travel, and the shortest power borne."""
    from halfroll.driver.linear import linear_response

    linear = linear_response(model, f, load=load)
    total = linear.impedance_ohm + series_ohm
    power = WITHOUT_HEAT_W if heat is None else 1.1 * max(b.power_w for b in bearables(heat))
    highest = math.sqrt(power / model.Re) * np.abs(total)
    per_v = math.sqrt(2.0) * np.abs(linear.displacement_m_per_v * linear.impedance_ohm / total)
    end = min(-model.x_range[0], model.x_range[1]) / per_v
    return np.asarray(FIRST * np.minimum(end, highest)), np.asarray(highest)


def _heat_curves(
    model: DriverModel, f: FloatArray, heat: CoilHeat | None, tones: Callable[[DriverModel], Tones], load: AcousticLoad | None,
    series_ohm: float, cold: Searched, progress: Progress,
) -> list[LimitCurve]:  # fmt: skip
    """The limit by heat for ever and for each short time, with the coil as warm as it then is."""
    from halfroll.driver.linear import linear_response

    found = []
    asked = () if heat is None else bearables(heat)
    for place, bearable in enumerate(asked):
        assert heat is not None
        progress(place / len(asked), f"heat, {_time_words(bearable.seconds)}")
        hot = warm(model, heat, bearable)
        total = np.abs(linear_response(hot, f, load=load).impedance_ohm + series_ohm)
        start = math.sqrt(bearable.power_w / hot.Re) * total
        over = np.array([one != "steady" for one in cold.ended]) & (
            start > 1.2 * cold.end.voltage_v * hot.Re / model.Re
        )
        met = newton(tones(hot), heat_usage(bearable.power_w), f, np.where(over, np.nan, start))
        found.append(_curve(heat_key(bearable.seconds), f"heat, {_time_words(bearable.seconds)}", "heat", met, seconds=bearable.seconds))  # fmt: skip
    return found


def _model_end(found: Searched) -> list[LimitCurve]:
    """Where the travel for which the model holds, or steady motion, ended before the search did."""
    return [
        _curve(key, label, "model", _only(found.end, np.array([one == standing for one in found.ended])))
        for key, label, standing in (
            (MODEL, "end of the model", "beyond travel"),
            (MOTION, "end of steady motion", "not found"),
        )
    ]


def _only(met: Met, where: np.ndarray) -> Met:
    return Met(**{name: np.where(where, getattr(met, name), np.nan) for name in VALUES})


def _curve(
    key: str, label: str, kind: LimitKind, met: Met, *, seconds: float | None = None, counts: bool = True
) -> LimitCurve:
    return LimitCurve(
        key=key, label=label, kind=kind, voltage_v=met.voltage_v, level_db=met.level_db, x_high_m=met.x_high_m, x_low_m=met.x_low_m,
        seconds=seconds, counts=counts,
    )  # fmt: skip


def _kind(key: str) -> LimitKind:
    return "travel" if key.startswith("travel") else "distortion"


def _label(key: str, travels: Sequence[TravelLimit]) -> str:
    named = {str(one.key): one.label for one in travels}
    return named.get(key) or f"{key.rpartition('-')[2]} % distortion"


def _time_words(seconds: float) -> str:
    return "continuous" if math.isinf(seconds) else f"{seconds:g} s"


def _left_out(
    heat: CoilHeat | None, assembly: Assembly | None, curves: Sequence[LimitCurve]
) -> tuple[str, ...]:
    """Limits that are not known, and why."""
    out = []
    if heat is None:
        out.append("heat: there is no coil in a motor to reckon it from")
    if assembly is None or assembly.winding is None:
        out.append(
            "winding over the gap, and where the coil meets the motor: there is no design of motor and coil"
        )
    never = [
        one.label
        for one in curves
        if one.counts and one.kind != "model" and not np.isfinite(one.voltage_v).any()
    ]
    if never:
        out.append(f"{', '.join(never)}: not met at any drive that was searched")
    return tuple(out)
