"""The highest drive at which distortion stays under a limit, found between the drives that were played.

Between two drives the limit is found on lg voltage over lg THD: on a parabola through these two and the nearest third, or
on a straight line without one. A law of one power lies on both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.measure.stepped.level_series import LevelCurve

TWO_LEVELS = "Only two levels: between them a straight line was assumed, and how far it is off is unknown."


@dataclass(frozen=True, kw_only=True)
class HighestLevel:
    """The highest drive at which THD stays under a limit.

    Parameters
    ----------
    limit
        The limit as a ratio.
    level_v, level_w
        R.m.s. voltage, and power into the rated impedance (None when not stated).
    level_u_db
        Standard uncertainty of the voltage (dB, alike for the power); None where it is a bound.
    spl_db, spl_u_db
        Fundamental at 1 m at that drive, and its standard uncertainty; None without calibration.
    bound
        ``lower``: the limit was not reached at the highest drive, so at least this; ``upper``: it was passed at the
        lowest already, so at most this.
    at_hz, band_hz
        Where.
    cautions
        What must be said beside it.
    """

    limit: float
    level_v: float
    level_w: float | None
    level_u_db: float | None = None
    spl_db: float | None = None
    spl_u_db: float | None = None
    bound: Literal["lower", "upper"] | None = None
    at_hz: float | None = None
    band_hz: tuple[float, float] | None = None
    cautions: tuple[str, ...] = ()


def highest_level(
    curve: LevelCurve,
    limit: float,
    rated_impedance_ohm: float | None = None,
    *,
    microphone_u_db: float = 0.0,
    voltage_u_db: float = 0.0,
) -> HighestLevel:
    """The highest drive at which THD stays under a limit, from the lowest drive upwards to where it first passes it.

    Between the last drive under the limit and the first above, lg U(lg d) is a parabola through both and the nearest
    third drive. Uncertainty: that of both THD values, and the distance to the straight line over sqrt(3).

    Parameters
    ----------
    microphone_u_db, voltage_u_db
        Standard uncertainty of the rig's scales (dB): the first adds to that of `spl_db`, the second to `level_u_db`.

    Raises
    ------
    InputError
        The limit is not a ratio above 0, or the curve holds no value.
    """
    if not 0.0 < limit < 3.0:
        raise InputError(
            "The limit of distortion must be above 0 and below 300 %", found=f"{100 * limit:g} %"
        )
    # a bound above the limit does not say on which side the truth lies
    known = np.isfinite(curve.thd) & (curve.thd > 0.0) & ~(curve.is_bound & (curve.thd >= limit))
    if not known.any():
        raise InputError("No drive of the series has a distortion that is known", found=curve.name)
    index = [int(k) for k in np.flatnonzero(known)]
    above = [k for k in index if curve.thd[k] >= limit]
    under = [k for k in index if not above or k < above[0]]
    if not above or not under:
        end, bound = (index[-1], "lower") if not above else (above[0], "upper")
        spl_db, _ = _level_at(curve, math.log10(curve.level_v[end]))
        return _found(
            curve, limit, rated_impedance_ohm, level_v=float(curve.level_v[end]), spl_db=spl_db, bound=bound
        )
    lg, u_db = _crossing(curve, limit, index, under[-1], above[0])
    spl_db, noise_db = _level_at(curve, lg)
    return _found(
        curve,
        limit,
        rated_impedance_ohm,
        level_v=10.0**lg,
        level_u_db=math.hypot(u_db, voltage_u_db),
        spl_db=spl_db,
        spl_u_db=None if spl_db is None else math.sqrt(u_db**2 + noise_db**2 + microphone_u_db**2),
        cautions=(TWO_LEVELS,) if np.count_nonzero(np.isfinite(curve.thd)) < 3 else (),
    )


def _crossing(curve: LevelCurve, limit: float, index: list[int], i: int, j: int) -> tuple[float, float]:
    """Logarithm of the voltage where THD crosses the limit between drives i and j, and its standard uncertainty (dB)."""
    x, y = np.log10(curve.level_v), np.log10(np.where(curve.thd > 0.0, curve.thd, np.nan))
    wanted = math.log10(limit)
    if curve.is_bound[i]:
        # anything between the drive at which the bound's line crosses and the upper drive
        low = x[i] + (wanted - y[i]) * (x[j] - x[i]) / (y[j] - y[i])
        return float(0.5 * (low + x[j])), float(20.0 * 0.5 * (x[j] - low) / math.sqrt(3.0))
    slope = (x[j] - x[i]) / (y[j] - y[i])
    lg = x[i] + (wanted - y[i]) * slope
    u_y = 0.4343 * np.nan_to_num(curve.thd_u) / np.where(curve.thd > 0.0, curve.thd, 1.0)
    share = (wanted - y[i]) / (y[j] - y[i])
    noise = math.hypot(slope * (1.0 - share) * u_y[i], slope * share * u_y[j])
    bent = _bent(x, y, wanted, [k for k in index if not curve.is_bound[k]], i, j)
    if bent is None:
        return float(lg), float(20.0 * noise)
    model = abs(bent - lg) / math.sqrt(3.0)
    inside = x[i] <= bent <= x[j]
    return float(bent if inside else lg), float(20.0 * math.hypot(noise, model))


def _bent(x: FloatArray, y: FloatArray, wanted: float, index: list[int], i: int, j: int) -> float | None:
    """The crossing by a parabola lg U(lg d) through both drives and the next one; None without a third."""
    place = index.index(i)
    others = [index[k] for k in (place - 1, place + 2) if 0 <= k < len(index)]
    usable = [k for k in others if (y[k] < y[i]) or (y[k] > y[j])]
    if not usable:
        return None
    third = min(usable, key=lambda k: abs(y[k] - wanted))
    points = sorted([i, j, third], key=lambda k: y[k])
    return float(np.polyval(np.polyfit(y[points], x[points], 2), wanted))


def _level_at(curve: LevelCurve, lg_volts: float) -> tuple[float | None, float]:
    """Level at 1 m at a drive, a parabola over lg voltage, and its uncertainty (dB) from noise and from the distance to
    a straight line over sqrt(3); None where not known.
    """
    heard = np.isfinite(curve.spl_db)
    x, y = np.log10(curve.level_v[heard]), curve.spl_db[heard]
    if not x.size or lg_volts < x[0] - 1e-6 or lg_volts > x[-1] + 1e-6:
        return None, 0.0
    noise = float(np.interp(lg_volts, x, curve.spl_u_db[heard]))
    straight = float(np.interp(lg_volts, x, y))
    if x.size < 3:
        return straight, noise
    first = min(max(int(np.searchsorted(x, lg_volts)) - 1, 0), x.size - 2)
    third = min((k for k in (first - 1, first + 2) if 0 <= k < x.size), key=lambda k: abs(x[k] - lg_volts))
    near = sorted([first, first + 1, third])
    bent = float(np.polyval(np.polyfit(x[near] - lg_volts, y[near], 2), 0.0))
    return bent, math.hypot(noise, (bent - straight) / math.sqrt(3.0))


def _found(curve: LevelCurve, limit: float, rated_impedance_ohm: float | None, **values: Any) -> HighestLevel:
    volts: float = values["level_v"]
    return HighestLevel(
        limit=limit,
        level_w=None if rated_impedance_ohm is None else volts**2 / rated_impedance_ohm,
        at_hz=curve.at_hz,
        band_hz=curve.band_hz,
        **values,
    )
