"""Impedance on the bench: against a circuit simulator in a baffle and on a box, by hand with a mass, and with creep."""

import json
import math
from pathlib import Path

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.driver.bench import bench_impedance, current_of
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel, small_signal

REFERENCE = Path(__file__).parents[1] / "references" / "driver_impedance" / "ac_impedance.json"


def test_against_circuit_simulator(reference_driver: DriverModel, reference_air: Air) -> None:
    """In a baffle and on a lossless closed box of 1.5 litres, 5 Hz to 20 kHz, as ngspice says (references/driver_impedance)."""
    truth = json.loads(REFERENCE.read_text(encoding="utf-8"))
    for case, box in (("infinite_baffle", None), ("closed", 1.5e-3)):
        expected = np.array(truth[case]["re"]) + 1j * np.array(truth[case]["im"])
        found = bench_impedance(reference_driver, np.array(truth["f_Hz"]), box_m3=box, air=reference_air)
        np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_a_mass_lowers_the_resonance(reference_driver: DriverModel) -> None:
    """fs·√(Mms/(Mms + m)): the peak with half of Mms on the cone lies at 0.8165 of that without (by hand)."""
    f = np.linspace(20.0, 200.0, 20_000)
    with_mass = np.abs(bench_impedance(reference_driver, f, added_kg=reference_driver.Mms / 2))
    alone = np.abs(bench_impedance(reference_driver, f))
    assert math.isclose(f[with_mass.argmax()] / f[alone.argmax()], math.sqrt(1 / 1.5), rel_tol=2e-3)


def test_creep_makes_the_bass_softer(reference_driver: DriverModel) -> None:
    """With λ = 0.1 a tenth of fs meets 1.1 - j0.0682 times the compliance (Knudsen and Jensen 1993, by hand); 0 is a spring."""
    fs = small_signal(reference_driver).fs
    f = np.array([fs / 10.0])
    s = 2j * np.pi * f
    softer = reference_driver.K[0] / (1.1 - 0.0682188j)
    mechanical = reference_driver.Rms + s * reference_driver.Mms + softer / s
    blocked = bench_impedance(reference_driver, f, added_kg=1e9)
    np.testing.assert_allclose(
        bench_impedance(reference_driver, f, creep_lambda=0.1),
        blocked + reference_driver.Bl[0] ** 2 / mechanical,
        rtol=1e-6,
    )
    plain = bench_impedance(reference_driver, f)
    np.testing.assert_allclose(plain, linear_response(reference_driver, f).impedance_ohm, rtol=1e-12)


def test_current_of_a_burst(reference_driver: DriverModel) -> None:
    """A long sine draws the current its impedance asks for once it has settled."""
    rate, at = 48_000, 150.0
    t = np.arange(rate) / rate
    volts = np.where(t < 0.7, np.sin(2 * np.pi * at * t), 0.0)
    amps = current_of(reference_driver, volts, rate)
    inside = (t > 0.4) & (t < 0.6)
    peak = float(np.sqrt(2 * np.mean(amps[inside] ** 2)))
    assert math.isclose(peak, 1.0 / abs(bench_impedance(reference_driver, np.array([at]))[0]), rel_tol=1e-3)
