"""Small-signal response against a circuit simulator, textbook transfer functions and worked examples."""

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from halfroll.acoustics.air import Air
from halfroll.acoustics.load import closed_load, vented_load
from halfroll.core.levels import spl
from halfroll.driver.linear import current_of, group_delay_s, linear_response
from halfroll.driver.lumped import DriverModel, small_signal
from tests.driver.conftest import REFERENCES, reference

BOXES = json.loads((REFERENCES.parent / "cabinet_network" / "ac_boxes.json").read_text(encoding="utf-8"))
IMPEDANCES = json.loads(
    (REFERENCES.parent / "driver_impedance" / "ac_impedance.json").read_text(encoding="utf-8")
)


def stored(values: Any) -> NDArray[np.complex128]:
    """A complex row of a reference file."""
    return np.asarray(np.array(values["re"]) + 1j * np.array(values["im"]))


def test_against_circuit_simulator(reference_driver: DriverModel, reference_air: Air) -> None:
    """Impedance, displacement and pressure per volt equal ngspice's over 5 Hz to 20 kHz (references/driver_model)."""
    truth = reference("ac_infinite_baffle.json")
    found = linear_response(reference_driver, np.array(truth["f_Hz"]), air=reference_air)
    for name, values in (
        ("Z_ohm", found.impedance_ohm),
        ("x_m_per_V", found.displacement_m_per_v),
        ("p_Pa_per_V", found.pressure_pa_per_v),
    ):
        expected = np.array(truth[name]["re"]) + 1j * np.array(truth[name]["im"])
        np.testing.assert_allclose(values, expected, rtol=1e-11)
    np.testing.assert_allclose(spl(2.83 * found.pressure_pa_per_v), truth["spl_2.83V"], atol=1e-9)


def test_impedance_of_worked_driver(worked_driver: DriverModel) -> None:
    """42 ohm at resonance; Re sqrt(r0) = 15.874508 ohm at 33.964342 and 69.054709 Hz (Thiele 1961, by hand)."""
    fs = small_signal(worked_driver).fs
    z = np.abs(linear_response(worked_driver, np.array([33.964342, fs, 69.054709])).impedance_ohm)
    # The model keeps 0.02 mH, the example none: hence 0.1 %.
    np.testing.assert_allclose(z, [15.874508, 42.0, 15.874508], rtol=1e-3)


def test_eddy_branch() -> None:
    """Re 6, Le 0.3 mH, L2 0.5 mH, R2 8 ohm: 7.06887 + 4.60680j ohm at 1 kHz (LR-2 form, by hand), cone held still."""
    held = DriverModel(
        Re=6.0,
        Mms=1e6,
        Rms=1.0,
        Sd=0.01,
        Bl=(1.0,),
        K=(1e3,),
        Le=(0.3e-3,),
        L2=0.5e-3,
        R2=8.0,
        x_range=(-1e-3, 1e-3),
    )
    z = complex(linear_response(held, np.array([1000.0])).impedance_ohm[0])
    assert z == pytest.approx(7.06887 + 4.60680j, abs=6e-6)


def test_pressure_above_resonance(worked_driver: DriverModel) -> None:
    """Well above resonance the level at √8 V is that of the efficiency, 89.52 dB (Small 1972, by hand)."""
    air = Air(1.2, 343.0)
    response = linear_response(worked_driver, np.array([1500.0]), air=air)
    level = float(spl(math.sqrt(8.0) * np.abs(response.pressure_pa_per_v))[0])
    assert level == pytest.approx(89.52374, abs=0.02)


def test_closed_box_of_the_circuit_simulator(reference_driver: DriverModel, reference_air: Air) -> None:
    """Impedance, displacement and pressure on 1.5 lossless litres equal ngspice's (references/cabinet_network, driver_impedance)."""
    truth, load = BOXES["closed"], closed_load(1.5e-3, reference_air)
    found = linear_response(reference_driver, np.array(truth["frequency_hz"]), load=load, air=reference_air)
    np.testing.assert_allclose(found.impedance_ohm, stored(truth["Z_ohm"]), rtol=1e-8)
    np.testing.assert_allclose(found.displacement_m_per_v, stored(truth["x_m_per_V"]), rtol=1e-8)
    np.testing.assert_allclose(found.pressure_pa_per_v, stored(truth["p_Pa_per_V"]), rtol=1e-8)
    expected = (
        -reference_air.density
        * reference_air.speed_of_sound**2
        / 1.5e-3
        * reference_driver.Sd
        * found.displacement_m_per_v
    )
    np.testing.assert_allclose(found.box_pressure_pa_per_v, expected, rtol=1e-12)
    wide = linear_response(reference_driver, np.array(IMPEDANCES["f_Hz"]), load=load)
    np.testing.assert_allclose(wide.impedance_ohm, stored(IMPEDANCES["closed"]), rtol=1e-9)


def test_vented_box_of_the_circuit_simulator(reference_driver: DriverModel, reference_air: Air) -> None:
    """Cone, port and leak of 3 litres tuned to 62 Hz, QL 7, each by itself and like with like in sum, as ngspice says."""
    truth, load = BOXES["vented"], vented_load(3e-3, 62.0, 7.0, reference_air)
    found = linear_response(reference_driver, np.array(truth["frequency_hz"]), load=load, air=reference_air)
    assert found.outlets == ("port", "leak")
    for values, name in (
        (found.impedance_ohm, "Z_ohm"),
        (found.displacement_m_per_v, "x_m_per_V"),
        (found.cone_pressure_pa_per_v, "p_cone_Pa_per_V"),
        (found.outlet_pressure_pa_per_v[0], "p_port_Pa_per_V"),
        (found.outlet_pressure_pa_per_v[1], "p_leak_Pa_per_V"),
        (found.pressure_pa_per_v, "p_total_with_leak_Pa_per_V"),
    ):
        np.testing.assert_allclose(values, stored(truth[name]), rtol=1e-7)
    without_leak = stored(truth["p_cone_Pa_per_V"]) + stored(truth["p_port_Pa_per_V"])
    np.testing.assert_allclose(found.from_outlets("port"), without_leak, rtol=1e-6)


@pytest.mark.parametrize("case", ["closed", "vented"])
def test_boxes_in_the_treble(case: str, reference_driver: DriverModel, reference_air: Air) -> None:
    """The same boxes from 2 kHz to 20 kHz, cone and port without and with the leak (references/driver_model/ac_boxes_high.json)."""
    truth = reference("ac_boxes_high.json")[case]
    load = (
        closed_load(1.5e-3, reference_air)
        if case == "closed"
        else vented_load(3e-3, 62.0, 7.0, reference_air)
    )
    found = linear_response(reference_driver, np.array(truth["f_Hz"]), load=load, air=reference_air)
    np.testing.assert_allclose(found.impedance_ohm, stored(truth["Z_ohm"]), rtol=1e-8)
    np.testing.assert_allclose(found.displacement_m_per_v, stored(truth["x_m_per_V"]), rtol=1e-8)
    np.testing.assert_allclose(found.from_outlets("port"), stored(truth["p_Pa_per_V"]), rtol=1e-7)
    if case == "vented":
        total = stored(truth["p_total_with_leak_Pa_per_V"])
        np.testing.assert_allclose(found.pressure_pa_per_v, total, rtol=1e-7)


@pytest.mark.parametrize(("leak_q", "h", "alpha"), [(math.inf, 1.0, 0.7), (7.0, 1.2, 1.5), (5.0, 0.8, 0.5)])
def test_transfer_of_a_vented_box(leak_q: float, h: float, alpha: float, worked_driver: DriverModel) -> None:
    """Thiele 1971, Small 1973: G(s) = s⁴/(s⁴ + a₁s³ + a₂s² + a₃s + 1), s over 2π√(fb fs), is the pressure of cone, port and leak over that
    far above; a driver without inductance.
    """
    driver = replace(worked_driver, Le=(1e-12,))
    air, known = Air(1.2, 343.0), small_signal(driver, Air(1.2, 343.0))
    tuning = h * known.fs
    load = vented_load(known.Vas / alpha, tuning, leak_q, air)
    f = np.geomspace(8.0, 800.0, 60)
    found = linear_response(driver, f, load=load, air=air).pressure_pa_per_v
    lossy, qts = (0.0 if math.isinf(leak_q) else 1.0 / leak_q), known.Qts
    a1 = (1.0 + h * qts * lossy) / (math.sqrt(h) * qts)
    a2 = (h * lossy / qts + alpha + 1.0 + h**2) / h
    a3 = (h + qts * lossy) / (math.sqrt(h) * qts)
    s = 1j * f / math.sqrt(tuning * known.fs)
    passband = air.density * driver.Sd * driver.Bl[0] / (2.0 * math.pi * driver.Re * driver.Mms)
    transfer = s**4 / (s**4 + a1 * s**3 + a2 * s**2 + a3 * s + 1.0)
    np.testing.assert_allclose(found / passband, transfer, rtol=1e-5)


def test_a_mass_lowers_the_resonance(reference_driver: DriverModel) -> None:
    """fs·√(Mms/(Mms + m)): the peak with half of Mms on the cone lies at 0.8165 of that without (by hand)."""
    f = np.linspace(20.0, 200.0, 20_000)
    with_mass = np.abs(linear_response(reference_driver, f, added_kg=reference_driver.Mms / 2).impedance_ohm)
    alone = np.abs(linear_response(reference_driver, f).impedance_ohm)
    assert math.isclose(f[with_mass.argmax()] / f[alone.argmax()], math.sqrt(1 / 1.5), rel_tol=2e-3)


def test_creep_makes_the_bass_softer(reference_driver: DriverModel) -> None:
    """With λ = 0.1 a tenth of fs meets 1.1 - j0.0682 times the compliance (Knudsen and Jensen 1993, by hand)."""
    f = np.array([small_signal(reference_driver).fs / 10.0])
    s = 2j * np.pi * f
    softer = reference_driver.K[0] / (1.1 - 0.0682188j)
    mechanical = reference_driver.Rms + s * reference_driver.Mms + softer / s
    creeping = replace(reference_driver, creep=0.1)
    blocked = linear_response(creeping, f, added_kg=1e9).impedance_ohm
    expected = blocked + reference_driver.Bl[0] ** 2 / mechanical
    np.testing.assert_allclose(linear_response(creeping, f).impedance_ohm, expected, rtol=1e-6)


def test_two_branches_in_series(reference_driver: DriverModel) -> None:
    """A second branch adds jωL R/(R + jωL): 0.4 mH parallel 5 ohm at 1 kHz adds 1.00850 + j2.00635 ohm (by hand)."""
    f = np.array([1000.0])
    more = replace(reference_driver, branches=((0.4e-3, 5.0),))
    added = (
        linear_response(more, f, added_kg=1e9).impedance_ohm
        - linear_response(reference_driver, f, added_kg=1e9).impedance_ohm
    )
    assert complex(added[0]) == pytest.approx(1.00850 + 2.00635j, abs=2e-5)


def test_current_of_a_burst(reference_driver: DriverModel) -> None:
    """A long sine draws the current its impedance asks for once it has settled."""
    rate, at = 48_000, 150.0
    t = np.arange(rate) / rate
    volts = np.where(t < 0.7, np.sin(2 * np.pi * at * t), 0.0)
    amps = current_of(reference_driver, volts, rate)
    inside = (t > 0.4) & (t < 0.6)
    peak = float(np.sqrt(2 * np.mean(amps[inside] ** 2)))
    impedance = linear_response(reference_driver, np.array([at])).impedance_ohm[0]
    assert math.isclose(peak, 1.0 / abs(impedance), rel_tol=1e-3)


def test_group_delay_of_a_high_pass() -> None:
    """A second-order Butterworth high-pass delays √2(1 + Ω²)/(ω₀(1 + Ω⁴)): 1.41421/ω₀ at its corner (by hand)."""
    f, corner = np.linspace(20.0, 200.0, 3001), 80.0
    s = 1j * f / corner
    found = group_delay_s(f, s**2 / (s**2 + math.sqrt(2.0) * s + 1.0))
    at = f / corner
    expected = math.sqrt(2.0) * (1.0 + at**2) / (1.0 + at**4) / (2.0 * math.pi * corner)
    np.testing.assert_allclose(found[1:-1], expected[1:-1], rtol=1e-5)
