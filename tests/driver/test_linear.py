"""Small-signal response against a circuit simulator and a worked example."""

import math

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.core.levels import spl
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel, small_signal
from tests.driver.conftest import reference


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
