"""Power compression against resistances, a handbook's heat network and SciPy."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from halfroll.driver.limits.compression import level_loss_db, power_compression
from halfroll.motor.heat.network import voltage_rise_k
from tests.driver.limits.bench import heat, network, w1


def test_hundred_kelvin_of_copper() -> None:
    """+100 K of copper: 20 lg 1.393 = 2.879 dB (B-90, IEC 60028)."""
    assert level_loss_db(6.0 + 0.0j, 6.0 * 0.393) == pytest.approx(2.879, abs=5e-4)
    r = sum((4.0, 2.0))
    power = (100.0 / r) * 1.393  # into the cold resistance, at the voltage that holds 100 K
    found = power_compression(w1(Bl=(1e-3,)), heat(network(), 300.0), power_w=[power])
    assert found.coil_c[-1, 0] == pytest.approx(120.0, abs=0.02)
    assert found.loss_db[-1, 0] == pytest.approx(2.879, abs=1e-3)
    assert np.ptp(found.over_frequency_db) < 1e-3


def test_network_of_the_handbook() -> None:
    """20 W on 4 K/W and 10 J/K, 2 K/W and 400 J/K end 120 K warmer (B-93). The handbook's sum of two exponentials holds for time constants
    far apart: on a motor a hundred times as heavy it must be 20 W (4 (1 - e^(-t/40)) + 2 (1 - e^(-t/80000))).
    """
    found = power_compression(w1(Bl=(1e-3,)), heat(network(), 300.0, alpha_per_k=0.0), power_w=[20.0])
    assert found.coil_c[-1, 0] == pytest.approx(140.0, rel=1e-6)
    assert np.all(found.loss_db == 0.0)
    heavy = heat(network(motor_j_k=40_000.0), 300.0, alpha_per_k=0.0)
    times = np.array([40.0, 600.0, 8000.0])
    there = 20.0 * (4.0 * (1.0 - np.exp(-times / 40.0)) + 2.0 * (1.0 - np.exp(-times / 80_000.0)))
    early = (
        power_compression(w1(Bl=(1e-3,)), heavy, power_w=[20.0], seconds=(*times, math.inf)).coil_c[:-1, 0]
        - 20.0
    )
    assert early == pytest.approx(there, rel=2e-3)


def test_warming_at_constant_voltage() -> None:
    """The coil takes less while it warms: SciPy's integration of the same two bodies, and the closed end."""
    net, volts, alpha = network(), 12.0, 0.00393
    found = power_compression(
        w1(Bl=(1e-3,)), heat(net, 300.0), power_w=[volts**2 / 6.0], seconds=(10.0, 60.0, math.inf)
    )

    def rates(_t: float, rise: np.ndarray) -> list[float]:
        power = volts**2 / (6.0 * (1.0 + alpha * rise[0]))
        across = (rise[0] - rise[1]) / 4.0
        return [(power - across) / 10.0, (across - rise[1] / 2.0) / 400.0]

    there = solve_ivp(rates, (0.0, 60.0), [0.0, 0.0], rtol=1e-9, t_eval=[10.0, 60.0]).y[0]
    assert found.coil_c[:2, 0] - 20.0 == pytest.approx(there, rel=1e-3)
    assert found.coil_c[2, 0] - 20.0 == pytest.approx(voltage_rise_k(net, volts, 6.0, alpha), rel=1e-6)


def test_impedance_over_frequency() -> None:
    """At resonance the impedance is high (42 ohm, B.1.1) and little is lost; above it most."""
    found = power_compression(w1(), heat(network(), 300.0), power_w=[10.0])
    added = 6.0 * 0.00393 * (found.coil_c[-1, 0] - 20.0)
    peak = int(np.argmin(np.abs(found.frequency_hz - 48.43)))
    assert found.over_frequency_db[0, peak] == pytest.approx(
        20.0 * math.log10((42.0 + added) / 42.0), abs=0.03
    )
    assert found.over_frequency_db[0].max() == pytest.approx(found.loss_db[-1, 0], abs=0.02)


def test_time_to_the_limit() -> None:
    """A constant power reaches 120 °C when SciPy's course does; a power under the continuous one never."""
    found = power_compression(w1(Bl=(1e-3,)), heat(network(), 120.0, alpha_per_k=0.0), power_w=[15.0, 30.0])

    def rates(_t: float, rise: np.ndarray) -> list[float]:
        across = (rise[0] - rise[1]) / 4.0
        return [(30.0 - across) / 10.0, (across - rise[1] / 2.0) / 400.0]

    def reached(_t: float, rise: np.ndarray) -> float:
        return float(rise[0] - 100.0)

    reached.terminal = True  # type: ignore[attr-defined]
    there = solve_ivp(rates, (0.0, 5000.0), [0.0, 0.0], rtol=1e-9, events=reached).t_events[0][0]
    assert found.limit_s[0] == math.inf
    assert found.limit_s[1] == pytest.approx(there, rel=0.01)
    assert found.limit[1].part == "glue"


def test_uncertainty_shrinks_by_feedback() -> None:
    """A spread of 20 % in all resistances together moves a small rise by 20 %, a large one at a constant voltage by less."""
    net = network(u_coil_to_motor_k_w=0.2, u_motor_to_air_k_w=0.0)
    found = power_compression(w1(Bl=(1e-3,)), heat(net, 300.0), power_w=[0.1, 40.0])
    share = found.u_db[-1] / found.loss_db[-1]
    assert share[0] == pytest.approx(0.2 * 4.0 / 6.0, rel=0.02)
    assert share[1] < 0.8 * share[0]
