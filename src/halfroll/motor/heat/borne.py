"""What power a heat network bears for how long, how warm it gets meanwhile, and the answer that is made of both."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.motor.heat.estimate import HeatPaths
from halfroll.motor.heat.limits import HeatLimit
from halfroll.motor.heat.network import COVERAGE, HeatNetwork, voltage_rise_k

NODES = {"coil": 0, "motor": 1}


@dataclass(frozen=True, kw_only=True)
class Bearable:
    """The highest power (W) for a time, its relative standard uncertainty, and what gives way first then.

    `seconds` is endless for the continuous power; short ones begin cold.
    """

    seconds: float
    power_w: float
    u_rel: float
    limit: HeatLimit

    @property
    def band_w(self) -> tuple[float, float]:
        """95 % band (W)."""
        spread = math.exp(COVERAGE * self.u_rel)
        return self.power_w / spread, self.power_w * spread


@dataclass(frozen=True, kw_only=True)
class Warming:
    """Temperatures over time (°C) of coil and motor at a power: `time_s` (n,); value, lower and upper end of the 95 % band,
    each (2, n).
    """

    power_w: float
    time_s: FloatArray
    celsius: FloatArray
    low_c: FloatArray
    high_c: FloatArray


@dataclass(frozen=True, kw_only=True)
class CoilHeat:
    """What heat does to a coil.

    Parameters
    ----------
    network
        Heat capacities and resistances with uncertainties.
    paths
        Which way the heat goes, where the network was estimated.
    limits
        Everything that may give way, the lowest first.
    continuous, short
        Powers for ever and for `SHORT_S`.
    air_c
        Air around (°C).
    resistance_ohm, warm_resistance_ohm
        Of the coil at the air's temperature, and after hours of the continuous power.
    continuous_v
        R.m.s. voltage over the wire's resistance that ends at the same temperature (V).
    runaway_a
        Current from which a constant-current source heats it without end (A).
    level_loss_db
        What a constant voltage loses in level when the coil is as warm as its limit.
    verdicts
        What to know and to mind.
    """

    network: HeatNetwork
    paths: HeatPaths | None
    limits: tuple[HeatLimit, ...]
    continuous: Bearable
    short: tuple[Bearable, ...]
    air_c: float
    resistance_ohm: float
    warm_resistance_ohm: float
    continuous_v: float
    runaway_a: float
    level_loss_db: float
    alpha_per_k: float
    verdicts: tuple[Verdict, ...] = field(default=())

    @property
    def warm_c(self) -> tuple[float, float]:
        """Temperatures of coil and motor (°C) after hours of the continuous power, such as for `clearance`."""
        coil, motor = self.network.per_watt_k
        return self.air_c + coil * self.continuous.power_w, self.air_c + motor * self.continuous.power_w

    def seconds_to_limit(self, power_w: float) -> tuple[float, HeatLimit]:
        """Time (s) from cold until the first limit is reached at a power, endless when none is; and which limit."""
        _above_zero(power_w)
        found = [(_time_to(self.network, power_w, limit, self.air_c), limit) for limit in self.limits]
        return min(found, key=lambda one: (one[0], one[1].lasting_c))

    def at_voltage_c(self, voltage_v: float) -> float:
        """Temperature of the coil (°C) after hours at a constant voltage over its resistance."""
        return self.air_c + voltage_rise_k(self.network, voltage_v, self.resistance_ohm, self.alpha_per_k)

    def warming(self, power_w: float, time_s: FloatArray) -> Warming:
        """Temperatures of coil and motor over time at a power held, with their 95 % band."""
        _above_zero(power_w)
        return warming(self.network, power_w, time_s, self.air_c)


def bearable(network: HeatNetwork, limits: Sequence[HeatLimit], air_c: float, seconds: float) -> Bearable:
    """The highest power held for a time from cold (endless: for ever), and the limit that sets it."""

    def power(net: HeatNetwork, limit: HeatLimit) -> float:
        return _allowed_k(limit, seconds, air_c) / _unit_rise(net, limit, seconds)

    limit = min(limits, key=lambda one: power(network, one))
    u = network.u_rel(lambda net: power(net, limit))
    allowed = _allowed_k(limit, seconds, air_c)
    return Bearable(
        seconds=seconds, power_w=power(network, limit), u_rel=math.hypot(u, limit.u_k / allowed), limit=limit
    )


def warming(network: HeatNetwork, power_w: float, time_s: FloatArray, air_c: float = 20.0) -> Warming:
    """Temperatures of coil and motor over time at a power held, with their 95 % band."""
    time_s = np.asarray(time_s, dtype=np.float64)
    rises = network.rises_k(power_w, time_s)
    u = np.array([
        [0.0 if rise <= 0.0 else network.u_rel(lambda net, i=i, t=t: float(net.rises_k(1.0, np.array([t]))[i, 0]))  # type: ignore[misc]
         for t, rise in zip(time_s, rises[i], strict=True)]
        for i in (0, 1)
    ])  # fmt: skip
    spread = np.exp(COVERAGE * u)
    return Warming(
        power_w=power_w, time_s=time_s, celsius=air_c + rises, low_c=air_c + rises / spread, high_c=air_c + rises * spread
    )  # fmt: skip


def _allowed_k(limit: HeatLimit, seconds: float, air_c: float) -> float:
    """Rise over the air (K) a limit allows for a time: the brief one up to a minute."""
    return (limit.brief_c if seconds <= 60.0 else limit.lasting_c) - air_c


def _unit_rise(network: HeatNetwork, limit: HeatLimit, seconds: float) -> float:
    """Rise (K) of the limit's body for one watt held for a time."""
    node = NODES[limit.node]
    if math.isinf(seconds):
        return network.per_watt_k[node]
    return float(network.rises_k(1.0, np.array([seconds]))[node, 0])


def _time_to(network: HeatNetwork, power_w: float, limit: HeatLimit, air_c: float) -> float:
    """Seconds until a limit is reached: the brief one within a minute, after that the lasting one."""
    from scipy.optimize import brentq

    node = NODES[limit.node]

    def over(seconds: float) -> float:
        return power_w * _unit_rise(network, limit, seconds) - _allowed_k(limit, seconds, air_c)

    if over(60.0) >= 0.0:
        return float(brentq(over, 0.0, 60.0))
    if power_w * _unit_rise(network, limit, 60.0) >= limit.lasting_c - air_c:
        return 60.0
    if power_w * network.per_watt_k[node] <= limit.lasting_c - air_c:
        return math.inf
    late = 50.0 * network.time_constants_s[1]
    after = math.nextafter(60.0, math.inf)
    return float(brentq(over, after, max(late, 120.0))) if over(max(late, 120.0)) > 0.0 else math.inf


def _above_zero(power_w: float) -> None:
    if not 0.0 < power_w < math.inf:
        raise InputError("The power must be above 0 W", found=f"{power_w:g} W")
