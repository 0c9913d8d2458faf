"""The limit by heat: how warm a coil gets at what it bears, and the voltage that gives that heat."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.limits.search import Met, Tones, Usage, level_db
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.types import SteadyTones

if TYPE_CHECKING:
    from halfroll.motor.heat.borne import Bearable, CoilHeat


def heat_usage(power_w: float) -> Usage:
    """Heat in the wire over what it bears."""

    def usage(tones: SteadyTones) -> FloatArray:
        return tones.coil_w / power_w

    return usage


def warm(model: DriverModel, heat: CoilHeat, bearable: Bearable) -> DriverModel:
    """The driver with its coil as warm as a power it bears makes it in its time."""
    per_watt = (
        heat.network.per_watt_k[0]
        if math.isinf(bearable.seconds)
        else float(heat.network.rises_k(1.0, np.array([bearable.seconds]))[0, 0])
    )
    return replace(model, Re=model.Re * (1.0 + heat.alpha_per_k * per_watt * bearable.power_w))


def bearables(heat: CoilHeat) -> tuple[Bearable, ...]:
    """The powers for ever and for short times, the longest first."""
    return (heat.continuous, *sorted(heat.short, key=lambda one: -one.seconds))


def heat_key(seconds: float) -> str:
    """The key of the limit by heat for a time."""
    return "heat-continuous" if math.isinf(seconds) else f"heat-{seconds:g}s"


def newton(tones: Tones, usage: Usage, f: FloatArray, start_v: FloatArray, order: float = 2.0) -> Met:
    """The voltage at which a usage that grows with its `order`-th power is 1, from a near start; NaN where it is not steady."""
    n = f.size
    voltage = start_v.copy()
    level, low, high = (np.full(n, np.nan) for _ in range(3))
    for turn in range(5):
        at = np.flatnonzero(np.isfinite(voltage))
        if not at.size:
            break
        seen = tones(voltage[at], f[at])
        used = usage(seen)
        bad = np.array([one != "steady" for one in seen.standing]) | ~np.isfinite(used)
        level[at], low[at], high[at] = level_db(seen), seen.x_low_m, seen.x_high_m
        voltage[at[bad]] = np.nan
        if np.all(np.abs(np.log(used[~bad])) < 5e-4) or turn == 4:
            break
        voltage[at[~bad]] *= used[~bad] ** (-1.0 / order)
    gone = ~np.isfinite(voltage)
    return Met(
        voltage_v=voltage, level_db=np.where(gone, np.nan, level), x_low_m=np.where(gone, np.nan, low), x_high_m=np.where(gone, np.nan, high)
    )  # fmt: skip
