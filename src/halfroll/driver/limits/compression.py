"""Power compression: what the level loses while the coil warms at a constant voltage, over power, time and frequency.

The voltage is held, so the warmer coil takes less power and drives less current. With the driver's impedance Z at rest and ΔR more
in the wire, current and pressure fall by |Z + ΔR|/|Z| at every frequency, in any cabinet: much where the impedance is low, hardly at
resonance. That is exact as long as the motion is small; what the large motion takes is in the limits and the distortion.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.limits.types import PowerCompression
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.motor.heat.borne import NODES
from halfroll.motor.heat.limits import HeatLimit

if TYPE_CHECKING:
    from halfroll.motor.heat.borne import CoilHeat
    from halfroll.motor.heat.network import HeatNetwork

TIMES_S = (10.0, 60.0, math.inf)
"""Ten seconds, a minute, for ever."""

NOISE_HZ = (20.0, 20_000.0)
_POINTS = 181
_STEPS = 240
_TURNS = 60
_FIRST_S = 0.1
_STEP_REL = 1e-3


Power = Callable[[float], float]
"""Heat in the wire (W) when the coil is so much warmer than the air (K)."""


def power_compression(
    model: DriverModel,
    heat: CoilHeat,
    *,
    load: AcousticLoad | None = None,
    power_w: Sequence[float] | None = None,
    seconds: Sequence[float] = TIMES_S,
    band_hz: tuple[float, float] = NOISE_HZ,
) -> PowerCompression:
    """What a warm coil takes from the level.

    Parameters
    ----------
    model
        The driver, Re at the temperature of the air of `heat`.
    power_w
        Nominal powers, voltage squared over Re (W); a ladder up to four times the continuous one when None.
    seconds
        How long the drive is on, ascending; the last must be endless.
    band_hz
        Band of the noise, equal power in every octave (pink), that drives it.
    """
    from halfroll.driver.linear import linear_response

    powers = _ladder(heat) if power_w is None else np.asarray(power_w, dtype=np.float64)
    f = np.geomspace(*band_hz, _POINTS)
    impedance = linear_response(model, f, load=load).impedance_ohm
    volts = np.sqrt(powers * model.Re)
    per_ohm = heat.alpha_per_k * model.Re

    def taking(voltage_v: float) -> Power:
        return lambda rise_k: noise_power_w(impedance, model.Re, per_ohm * rise_k, voltage_v)

    courses = [_Course(heat.network, taking(v), seconds) for v in volts]
    rises = np.array([[one.coil_k(t) for one in courses] for t in seconds])
    u_rise = np.array([[rise * _u(heat, taking(v), t) for v, rise in zip(volts, row, strict=True)] for t, row in zip(seconds, rises, strict=True)])  # fmt: skip
    lowest = _lowest(model, f, impedance)
    loss = level_loss_db(lowest, per_ohm * rises)
    ends = [one.until(heat.limits, heat.air_c) for one in courses]
    return PowerCompression(
        band_hz=band_hz, power_w=powers, voltage_v=volts, seconds=np.asarray(seconds), coil_c=heat.air_c + rises, loss_db=loss,
        u_db=level_loss_db(lowest, per_ohm * (rises + u_rise)) - loss,
        limit_s=np.array([t for t, _ in ends]), limit=tuple(limit for _, limit in ends),
        frequency_hz=f, over_frequency_db=np.array([level_loss_db(impedance, per_ohm * float(one)) for one in rises[-1]]),
    )  # fmt: skip


def level_loss_db(impedance_ohm: ComplexArray | complex, added_ohm: FloatArray | float) -> FloatArray:
    """Level lost (dB) where a driver of an impedance gets so much more resistance at a constant voltage."""
    return np.asarray(20.0 * np.log10(np.abs(impedance_ohm + added_ohm) / np.abs(impedance_ohm)))


def noise_power_w(impedance_ohm: ComplexArray, re_ohm: float, added_ohm: float, voltage_v: float) -> float:
    """Heat in the wire (W) by pink noise of an r.m.s. voltage: every point of a logarithmic grid of frequencies carries the same."""
    return float(voltage_v**2 * np.mean((re_ohm + added_ohm) / np.abs(impedance_ohm + added_ohm) ** 2))


def settled_k(per_watt_k: float, power: Power) -> float:
    """The rise (K) at which the heat that goes is the heat that comes."""
    from scipy.optimize import brentq

    most = per_watt_k * power(0.0)
    for _ in range(
        _TURNS
    ):  # where eddy currents or motion make most of the impedance, warming may add to the power
        if per_watt_k * power(most) <= most:
            break
        most *= 2.0
    return float(brentq(lambda rise: per_watt_k * power(rise) - rise, 0.0, most))


class _Course:
    """How coil and motor warm at a constant voltage: the exact motion of the network, the power held over each short step at its middle."""

    def __init__(self, network: HeatNetwork, power: Power, seconds: Sequence[float]) -> None:
        last = 8.0 * network.time_constants_s[1]
        asked = [t for t in seconds if math.isfinite(t)]
        self.time_s = np.unique(
            np.concatenate([np.geomspace(_FIRST_S, max(last, 120.0), _STEPS), asked, [60.0]])
        )
        self.final_k = settled_k(network.per_watt_k[0], power)
        self.rises_k = self._walk(network, power)
        self._motor_final_k = network.per_watt_k[1] * power(self.final_k)

    def _walk(self, network: HeatNetwork, power: Power) -> FloatArray:
        rates, modes = np.linalg.eig(network.matrix())
        back = np.linalg.inv(modes)
        push = back[:, 0] / network.coil_j_k
        rises = np.zeros((2, self.time_s.size))
        now = np.zeros(2)
        for i, step in enumerate(np.diff(self.time_s, prepend=0.0)):
            decay, ahead = np.exp(rates * step), np.expm1(rates * step) / rates
            at = back @ now
            guess = modes @ (decay * at + ahead * push * power(now[0]))
            now = modes @ (decay * at + ahead * push * power(0.5 * (now[0] + guess[0])))
            rises[:, i] = now
        return rises

    def coil_k(self, seconds: float) -> float:
        """Rise of the coil (K) after a time."""
        if math.isinf(seconds):
            return self.final_k
        return float(np.interp(seconds, self.time_s, self.rises_k[0]))

    def until(self, limits: Sequence[HeatLimit], air_c: float) -> tuple[float, HeatLimit]:
        """Time (s) until the first part is as warm as it bears, the brief limit for a minute and the lasting one after; endless for never."""
        found = [(self._until(limit, air_c), limit) for limit in limits]
        return min(found, key=lambda one: (one[0], one[1].lasting_c))

    def _until(self, limit: HeatLimit, air_c: float) -> float:
        node = NODES[limit.node]
        for allowed, after, before in ((limit.brief_c, 0.0, 60.0), (limit.lasting_c, 60.0, math.inf)):
            inside = (self.time_s >= after) & (self.time_s <= before)
            time, rise = self.time_s[inside], self.rises_k[node, inside]
            over = np.flatnonzero(rise >= allowed - air_c)
            if over.size:
                first = int(over[0])
                return float(
                    time[0]
                    if first == 0
                    else np.interp(allowed - air_c, rise[first - 1 : first + 1], time[first - 1 : first + 1])
                )
        return math.inf


def _ladder(heat: CoilHeat) -> FloatArray:
    top = 4.0 * heat.continuous.power_w
    return np.geomspace(top / 64.0, top, 13)


def _lowest(model: DriverModel, f: FloatArray, impedance: ComplexArray) -> complex:
    """The impedance where its magnitude is least above resonance."""
    above = f > small_signal(model).fs
    place = np.argmin(np.where(above, np.abs(impedance), np.inf))
    return complex(impedance[place])


def _u(heat: CoilHeat, power: Power, seconds: float) -> float:
    """Relative standard uncertainty of the rise from the ways of the heat; the coil's own feedback shrinks it."""

    def per_watt(network: HeatNetwork) -> float:
        if math.isinf(seconds):
            return network.per_watt_k[0]
        return float(network.rises_k(1.0, np.array([seconds]))[0, 0])

    at = per_watt(heat.network)
    up, down = (settled_k(scale * at, power) for scale in (1.0 + _STEP_REL, 1.0 - _STEP_REL))
    return heat.network.u_rel(per_watt) * (math.log(up) - math.log(down)) / (2.0 * _STEP_REL)
