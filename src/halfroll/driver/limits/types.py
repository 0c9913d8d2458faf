"""What limits a driver's level over frequency, and how much a warm coil takes from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.driver.limits.travel import TravelLimit
from halfroll.motor.heat.limits import HeatLimit

LimitKind = Literal["heat", "travel", "distortion", "model"]


@dataclass(frozen=True, kw_only=True, eq=False)
class LimitCurve:
    """What one limit allows over frequency; NaN where it is not met within the drives that were searched, or another ends the search before.

    Parameters
    ----------
    key, label
        For machines, and in words: ``travel-bl``, ``heat-continuous``, ``distortion-10``.
    kind
        Heat, travel, distortion, or the end of what the model knows.
    voltage_v
        R.m.s. voltage of a steady tone at the limit (V), shape (n,).
    level_db
        Level of its fundamental at 1 m in half space (dB re 20 µPa), shape (n,).
    x_high_m, x_low_m
        Extremes of the displacement there (m), shape (n,).
    seconds
        Of a limit by heat, how long the tone is held: endless for ever; None for all others, which hold at once.
    counts
        Whether it is among those the lowest is taken of.
    """

    key: str
    label: str
    kind: LimitKind
    voltage_v: FloatArray
    level_db: FloatArray
    x_high_m: FloatArray
    x_low_m: FloatArray
    seconds: float | None = None
    counts: bool = True


@dataclass(frozen=True, kw_only=True, eq=False)
class Lowest:
    """The lowest of the limits that hold for so long: the level a builder can trust, which limit sets it, and its spread.

    `acting` names a limit's key for each frequency, empty where none is met. `u_db` is the standard uncertainty from what was assumed
    of the driver and of its ways for the heat (dB); NaN for times between, for which it is not worked out, and zero where none was asked for.
    """

    seconds: float
    level_db: FloatArray
    voltage_v: FloatArray
    acting: tuple[str, ...]
    u_db: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class MaximumLevel:
    """The highest level over frequency.

    Parameters
    ----------
    frequency_hz
        Shape (n,).
    curves
        Every limit that is met somewhere.
    lowest
        The lowest of them, for ever first, then for ever shorter times.
    travels
        The limits of travel by every rule.
    usable_hz
        Up to where the cone moves as one piece: beyond, no level can be trusted. None when that is not known.
    left_out
        Limits that are not known of this driver, and why, in words.
    verdicts
        What must be said.
    """

    frequency_hz: FloatArray
    curves: tuple[LimitCurve, ...]
    lowest: tuple[Lowest, ...]
    travels: tuple[TravelLimit, ...]
    usable_hz: float | None = None
    left_out: tuple[str, ...] = ()
    verdicts: tuple[Verdict, ...] = ()

    def curve(self, key: str) -> LimitCurve:
        """The limit of a key."""
        return next(one for one in self.curves if one.key == key)

    @property
    def loudest_db(self) -> float:
        """Highest level of the lowest limit for the shortest time (dB)."""
        level = self.lowest[-1].level_db
        return float(np.nanmax(level)) if np.isfinite(level).any() else float("nan")


@dataclass(frozen=True, kw_only=True, eq=False)
class PowerCompression:
    """What a warm coil takes from the level at a constant voltage.

    The drive is a noise of equal power in every octave of `band_hz`; all levels fall by what the wire's resistance adds.

    Parameters
    ----------
    power_w
        Nominal power: voltage squared over the cold resistance (W), shape (p,).
    voltage_v
        Its r.m.s. voltage (V), shape (p,).
    seconds
        How long it is on, shape (t,); the last is endless.
    coil_c
        Temperature of the coil then (°C), shape (t, p).
    loss_db
        Level lost where the impedance is lowest above resonance (dB), shape (t, p).
    u_db
        Its standard uncertainty from the ways of the heat (dB), shape (t, p).
    limit_s, limit
        Time until the first part is as warm as it bears (s), endless for never, and that part, one for each power.
    frequency_hz, over_frequency_db
        Level lost over frequency after hours, shapes (n,) and (p, n).
    """

    band_hz: tuple[float, float]
    power_w: FloatArray
    voltage_v: FloatArray
    seconds: FloatArray
    coil_c: FloatArray
    loss_db: FloatArray
    u_db: FloatArray
    limit_s: FloatArray
    limit: tuple[HeatLimit, ...]
    frequency_hz: FloatArray
    over_frequency_db: FloatArray
