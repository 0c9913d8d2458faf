"""Heat while a driver plays, against the exact network, published values and energy."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.driver.heat import Heat
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.lumped import DriverModel
from halfroll.motor.coil.wound import wind
from halfroll.motor.heat.estimate import estimate, heat_paths
from halfroll.motor.heat.network import HeatNetwork, voltage_rise_k
from halfroll.motor.placing.stack import assemble
from tests.motor.designs import a2_with_coil, coil

TRADE = HeatNetwork(coil_j_k=10.0, motor_j_k=400.0, coil_to_motor_k_w=4.0, motor_to_air_k_w=2.0)
"""The network of B-93 in the trade's papers (Chapman 1998, from memory): 52.52 K after 40 s of 20 W, 101.11 K after 600 s, 120 K at last."""


def slow_driver(**changes: Any) -> DriverModel:
    """A driver so slow that minutes of direct current are played in few steps."""
    fields: dict[str, Any] = {
        "Re": 5.0, "Mms": 1.0, "Rms": 100.0, "Sd": 1e-2, "Bl": (1e-3,), "K": (1e4,), "Le": (0.05,), "x_range": (-1e-2, 1e-2),
    }  # fmt: skip
    return DriverModel(**(fields | changes))


def held(driver: DriverModel, volts: float, seconds: int, heat: Heat, rate: float = 20.0) -> Motion:
    """Direct voltage for some time."""
    return play(driver, np.full(int(seconds * rate) + 1, volts), rate, oversampling=50, heat=heat)


def test_constant_power() -> None:
    """20 W for ten minutes: the exact two bodies within 0.1 %, later 0.02 % (the current needs 10 ms to rise). The trade's formula, 52.52 K at 40 s
    and 100.87 K at 590 s, holds for a coil much lighter than the motor, and is 3.4 % and 2.4 % above them.
    """
    motion = held(slow_driver(), 10.0, 600, Heat.of(TRADE, air_c=25.0))
    assert motion.coil_c is not None
    assert motion.magnet_c is not None
    t = np.arange(motion.coil_c.size) / 20.0
    coil, motor = TRADE.rises_k(20.0, t)
    late = t > 20.0
    np.testing.assert_allclose((motion.coil_c - 25.0)[late], coil[late], rtol=1e-3)
    np.testing.assert_allclose((motion.coil_c - 25.0)[-100:], coil[-100:], rtol=2e-4)
    np.testing.assert_allclose((motion.magnet_c - 25.0)[-100:], motor[-100:], rtol=2e-4)
    assert (motion.coil_c[[800, 11_800]] - 25.0) / [52.52, 100.87] - 1.0 == pytest.approx(
        [-0.033, -0.0237], abs=1e-3
    )
    assert Heat.of(TRADE).settled_k(20.0) == pytest.approx([120.0, 40.0])


def test_constant_voltage_ends_lower() -> None:
    """Copper, 0.393 % a kelvin: the coil ends at the root of α θ² + θ = r V²/R, and draws V/(R (1 + α θ)) (by hand)."""
    quick = HeatNetwork(coil_j_k=0.5, motor_j_k=2.0, coil_to_motor_k_w=4.0, motor_to_air_k_w=2.0)
    motion = held(slow_driver(alpha_per_k=0.00393), 10.0, 120, Heat.of(quick))
    rise = voltage_rise_k(quick, 10.0, 5.0, 0.00393)
    assert motion.coil_c is not None
    assert motion.coil_c[-200] - 20.0 == pytest.approx(rise, rel=1e-4)
    assert motion.current_a[-200] == pytest.approx(10.0 / (5.0 * (1.0 + 0.00393 * rise)), rel=1e-4)


def test_warm_air_counts() -> None:
    """At 60 °C a coil whose Re holds at 20 °C has 1.1572 times the resistance (IEC 60028's 0.393 %), and Bl of ferrite is 8 % less."""
    heat = Heat.of(TRADE, air_c=60.0, bl_per_k=-2e-3)
    motion = held(slow_driver(alpha_per_k=0.00393, Bl=(1.0,), K=(1e3,)), 0.1, 40, heat)
    assert motion.current_a[400] == pytest.approx(0.1 / 5.0 / 1.1572, rel=1e-4)
    assert motion.displacement_m[400] == pytest.approx(motion.current_a[400] * 0.92 / 1e3, rel=1e-3)


def test_adiabatic_start(reference_driver: DriverModel) -> None:
    """So fast that nothing flows off, the coil has what Re lost and the motor what the eddy currents lost (energy)."""
    lone = HeatNetwork(coil_j_k=2.0, motor_j_k=3.0, coil_to_motor_k_w=1e9, motor_to_air_k_w=1e9)
    t = np.arange(24_000) / 48_000.0
    drive = 4.0 * np.sin(2 * np.pi * 900 * t) * np.clip(t / 0.05, 0, 1)
    motion = play(reference_driver, drive, 48_000.0, heat=Heat.of(lone))
    assert motion.coil_c is not None
    assert motion.magnet_c is not None
    i = motion.current_a
    s = 2j * np.pi * np.fft.rfftfreq(i.size, 1 / 48_000.0)
    d = reference_driver
    in_r2 = np.fft.irfft(np.fft.rfft(i) * s * d.L2 / (d.R2 + s * d.L2), i.size)
    at = 20_000
    assert 2.0 * (motion.coil_c[at] - 20.0) == pytest.approx(d.Re * np.sum(i[:at] ** 2) / 48_000, rel=1e-4)
    assert 3.0 * (motion.magnet_c[at] - 20.0) == pytest.approx(
        d.R2 * np.sum(in_r2[:at] ** 2) / 48_000, rel=1e-3
    )


def test_former_as_a_third_body() -> None:
    """Taken out of the coil's way to the air it changes nothing in the end, and is as warm as its fin on average, tanh(mL)/(mL)."""
    short = wind(a2_with_coil().coil or coil(20.5))
    wound, motor = (
        wind(replace(short.design, former_height_m=short.height_m + 8e-3)),
        assemble(a2_with_coil()),
    )
    network = estimate(wound, motor)
    paths = heat_paths(wound, motor, coil_c=80.0, motor_c=40.0, air_c=20.0)
    two, three = Heat.of(network), Heat.with_former(network, wound, paths)
    assert three.bodies == ("coil", "former", "motor")
    np.testing.assert_allclose(three.settled_k(5.0)[[0, 2]], two.settled_k(5.0), rtol=1e-9)
    effective = paths.former_fin / paths.former_surface  # tanh(mL)/(mL) of the fin
    assert 0.0 < effective < 1.0
    assert three.settled_k(5.0)[1] == pytest.approx(effective * two.settled_k(5.0)[0], rel=1e-9)
    measured = HeatNetwork(coil_j_k=3.0, motor_j_k=100.0, coil_to_motor_k_w=5.0, motor_to_air_k_w=4.0)
    assert Heat.with_former(measured, wound, paths).bodies == ("coil", "motor")


@pytest.mark.parametrize(
    ("a", "b"),
    [(np.diag([-1.0, 0.1]), np.eye(2)), (np.eye(3), np.eye(2)), (np.diag([-1.0, math.nan]), np.eye(2))],
)
def test_networks_that_cannot_be(a: Any, b: Any) -> None:
    """Growing without power, or of the wrong shape: refused."""
    with pytest.raises(InputError, match="heat network must"):
        Heat(bodies=("coil", "motor"), a=a, b=b)


def test_start_warm() -> None:
    """A coil that begins warm cools down by the slow and the quick time constant of its network (matrix exponential)."""
    from scipy.linalg import expm

    begun = Heat(
        bodies=("coil", "motor"),
        a=TRADE.matrix(),
        b=np.diag([0.1, 1 / 400.0]),
        start_k=np.array([50.0, 10.0]),
    )
    motion = held(slow_driver(), 0.0, 100, begun)
    assert motion.coil_c is not None
    expected = expm(TRADE.matrix() * 100.0) @ np.array([50.0, 10.0])
    assert motion.coil_c[-1] - 20.0 == pytest.approx(expected[0], rel=1e-6)
