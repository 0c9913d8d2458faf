"""Drivers and heat for the tests of limits: the worked driver W1 of the textbooks' formulas, straight as a line or with one known bend."""

from __future__ import annotations

import math

from halfroll.acoustics.load import AcousticLoad
from halfroll.driver.lumped import DriverModel
from halfroll.motor.heat.borne import CoilHeat, bearable
from halfroll.motor.heat.limits import HeatLimit
from halfroll.motor.heat.network import HeatNetwork
from halfroll.motor.types import Assembly, Gap, Winding

COPPER_PER_K = 0.00393
"""IEC 60028."""


def w1(**other: object) -> DriverModel:
    """Re 6.0 ohm, Bl 6.0 N/A, Mms 12.0 g, Cms 0.90 mm/N, Rms 1.0 N s/m, Sd 133 cm², without inductance worth a word."""
    values: dict[str, object] = {
        "Re": 6.0, "Mms": 12e-3, "Rms": 1.0, "Sd": 133e-4, "Bl": (6.0,), "K": (1.0 / 0.9e-3,), "Le": (1e-9,), "x_range": (-20e-3, 20e-3)
    }  # fmt: skip
    return DriverModel(**{**values, **other})  # type: ignore[arg-type]


def motor(height_mm: float, gap_mm: float, offset_mm: float = 0.0, room_mm: float | None = None) -> Assembly:
    """A winding in a gap, and nothing else."""
    half = 0.5e-3 * height_mm
    return Assembly(
        bodies=(), gap=Gap(inner="pole", outer="plate", r_inner=0.012, r_outer=0.014, z_low=-0.5e-3 * gap_mm, z_high=0.5e-3 * gap_mm),
        winding=Winding(r_inner=0.0125, r_outer=0.0135, z_low=1e-3 * offset_mm - half, z_high=1e-3 * offset_mm + half, turns=60),
        inward_room_m=None if room_mm is None else 1e-3 * room_mm,
    )  # fmt: skip


def heat(
    network: HeatNetwork,
    limit_c: float = 120.0,
    *,
    resistance_ohm: float = 6.0,
    alpha_per_k: float = COPPER_PER_K,
) -> CoilHeat:
    """The heat of a coil with one thing that gives way."""
    limits = (HeatLimit(part="glue", node="coil", lasting_c=limit_c, brief_c=limit_c),)
    continuous = bearable(network, limits, 20.0, math.inf)
    warm = resistance_ohm * (1.0 + alpha_per_k * (limit_c - 20.0))
    return CoilHeat(
        network=network, paths=None, limits=limits, continuous=continuous,
        short=tuple(bearable(network, limits, 20.0, t) for t in (1.0, 10.0, 60.0)), air_c=20.0, resistance_ohm=resistance_ohm,
        warm_resistance_ohm=warm, continuous_v=math.sqrt(continuous.power_w * warm), runaway_a=10.0,
        level_loss_db=20.0 * math.log10(warm / resistance_ohm), alpha_per_k=alpha_per_k,
    )  # fmt: skip


def network(**other: float) -> HeatNetwork:
    """The network of a handbook's example: 4 K/W and 10 J/K at the coil, 2 K/W and 400 J/K at the magnet."""
    values = {"coil_j_k": 10.0, "motor_j_k": 400.0, "coil_to_motor_k_w": 4.0, "motor_to_air_k_w": 2.0}
    return HeatNetwork(**{**values, **other})  # type: ignore[arg-type]


def closed(volume_m3: float, density: float, speed: float) -> AcousticLoad:
    """The air of a closed cabinet: p = -ρ c²/V times the volume the cone has moved out."""
    import numpy as np

    return AcousticLoad(
        a=np.zeros((1, 1)), b=np.ones(1), c=np.array([-density * speed**2 / volume_m3]), e=np.zeros((0, 1)), g=np.zeros(0)
    )  # fmt: skip


def vented(volume_m3: float, tuning_hz: float, density: float, speed: float) -> AcousticLoad:
    """A cabinet with a port without losses: states are what the cone and the port have moved out, and the port's flow."""
    import numpy as np

    spring = density * speed**2 / volume_m3
    mass = spring / (2.0 * np.pi * tuning_hz) ** 2
    return AcousticLoad(
        a=np.array([[0.0, 1.0], [-spring / mass, 0.0]]), b=np.array([1.0, 0.0]), c=np.array([-spring, 0.0]),
        outlets=("port",), e=np.array([[0.0, 1.0]]), g=np.zeros(1),
    )  # fmt: skip
