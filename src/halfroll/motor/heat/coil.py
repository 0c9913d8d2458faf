"""How much power a coil bears: what gives way first, held for ever and for a short time, and how long until then.

Power is heat in the wire. Of what a driver takes up all but some per cent ends there (efficiencies are 0.2 % to 2 %).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halfroll.core.errors import InputError
from halfroll.materials.wire import resistance_factor
from halfroll.motor.coil.wound import Coil
from halfroll.motor.heat.borne import Bearable, CoilHeat, Warming, bearable, warming
from halfroll.motor.heat.estimate import HeatPaths, estimate, heat_paths
from halfroll.motor.heat.limits import HeatLimit, limits_of
from halfroll.motor.heat.network import HeatNetwork, runaway_current_a
from halfroll.motor.heat.verdicts import heat_verdicts
from halfroll.motor.types import Assembly, FieldCoil

__all__ = ["SHORT_S", "Bearable", "CoilHeat", "Warming", "bearable", "coil_heat", "warming"]

SHORT_S = (1.0, 10.0, 60.0)
"""Times of the short-term powers (s)."""

_HOTTEST_FACTOR_C = 390.0
"""Warmer than this no resistance is reckoned."""


def coil_heat(
    coil: Coil,
    motor: Assembly | None = None,
    *,
    network: HeatNetwork | None = None,
    air_c: float = 20.0,
    emissivity: float = 0.3,
    short_s: Sequence[float] = SHORT_S,
    rated_power_w: float | None = None,
) -> CoilHeat:
    """Powers a coil bears in its motor.

    Parameters
    ----------
    coil, motor
        The coil as wound and the motor it moves in.
    network
        Measured heat capacities and resistances; None to estimate them from the motor's geometry.
    air_c
        Temperature of the air around (°C).
    emissivity
        Of the motor's outside, 0.3 bare or plated, 0.9 painted; only for the estimate.
    short_s
        Times of the short-term powers (s).
    rated_power_w
        Rated power (W) a verdict weighs against the continuous one.

    Raises
    ------
    InputError
        Neither motor nor network given, or the air is already as warm as a limit.
    """
    limits = limits_of(coil, motor)
    _check_air(limits, air_c)
    paths = None
    if network is None:
        if motor is None:
            raise InputError("The heat of a coil needs its motor or measured thermal resistances", key="coil")
        network, paths = _settled(coil, motor, limits, air_c, emissivity)
    continuous = bearable(network, limits, air_c, math.inf)
    short = tuple(bearable(network, limits, air_c, seconds) for seconds in short_s)
    warm_c = min(air_c + continuous.power_w * network.per_watt_k[0], _HOTTEST_FACTOR_C)
    cold, warm = coil.resistance_at(air_c), coil.resistance_at(warm_c)
    wire = coil.design.wire
    alpha = resistance_factor(wire, air_c + 1.0, air_c) - 1.0
    heat = CoilHeat(
        network=network, paths=paths, limits=limits, continuous=continuous, short=short, air_c=air_c,
        resistance_ohm=cold, warm_resistance_ohm=warm, continuous_v=math.sqrt(continuous.power_w * warm),
        runaway_a=runaway_current_a(network, cold, alpha), level_loss_db=20.0 * math.log10(warm / cold), alpha_per_k=alpha,
    )  # fmt: skip
    field_coils = [
        body.name for body in (motor.bodies if motor else ()) if isinstance(body.matter, FieldCoil)
    ]
    return replace(heat, verdicts=heat_verdicts(coil, heat, rated_power_w, field_coils))


def _settled(
    coil: Coil, motor: Assembly, limits: Sequence[HeatLimit], air_c: float, emissivity: float
) -> tuple[HeatNetwork, HeatPaths]:
    """Network and paths taken at the temperatures the continuous power leads to; three rounds settle them within 1 %."""
    coil_c, motor_c = air_c + 60.0, air_c + 20.0
    for _ in range(4):
        network = estimate(coil, motor, coil_c=coil_c, motor_c=motor_c, air_c=air_c, emissivity=emissivity)
        power = bearable(network, limits, air_c, math.inf).power_w
        paths = heat_paths(coil, motor, coil_c=coil_c, motor_c=motor_c, air_c=air_c, emissivity=emissivity)
        coil_c, motor_c = (air_c + power * per_watt for per_watt in network.per_watt_k)
    return network, paths


def _check_air(limits: Sequence[HeatLimit], air_c: float) -> None:
    lowest = min(limits, key=lambda limit: min(limit.lasting_c, limit.brief_c))
    if not -40.0 <= air_c < min(lowest.lasting_c, lowest.brief_c):
        raise InputError("The air around the coil must be cooler than what gives way first", found=f"{air_c:g} °C",
                         allowed=f"-40 °C to under {lowest.lasting_c:g} °C, what the {lowest.part} bears")  # fmt: skip
