"""Creep as a row of elements against the logarithmic law."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from halfroll.driver.creep import SLOWEST_HZ, creep_spectrum
from halfroll.driver.lumped import DriverModel, small_signal


def compliance(driver: DriverModel, frequency_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Of spring and creep together, over 1/K(0)."""
    rate = 2j * np.pi * frequency_hz
    return np.asarray(driver.K[0] / (driver.K[0] + creep_spectrum(driver).per_displacement(rate)))


@pytest.mark.parametrize("creep", [0.03, 0.1])
def test_elements_follow_the_law(creep: float, reference_driver: DriverModel) -> None:
    """1 - λ lg(jf/fs) within 0.1 % from 5 Hz to 1 kHz (Knudsen and Jensen, JAES 41(1/2), 1993, written out here)."""
    driver = replace(reference_driver, creep=creep)
    f = np.geomspace(5.0, 1000.0, 300)
    law = 1.0 - creep * (np.log10(f / small_signal(driver).fs) + 0.5j * np.pi / np.log(10.0))
    assert np.abs(compliance(driver, f) / law - 1.0).max() < 1e-3


def test_much_creep_follows_it_where_the_suspension_counts(reference_driver: DriverModel) -> None:
    """λ = 0.3, more than any plastic of the catalogue: within 1 % up to twice the resonance; above the mass decides."""
    driver = replace(reference_driver, creep=0.3)
    resonance = small_signal(driver).fs
    f = np.geomspace(5.0, 2.0 * resonance, 200)
    law = 1.0 - 0.3 * (np.log10(f / resonance) + 0.5j * np.pi / np.log(10.0))
    assert np.abs(compliance(driver, f) / law - 1.0).max() < 1e-2


def test_at_a_tenth_of_the_resonance(reference_driver: DriverModel) -> None:
    """λ = 0.1 at fs/10: 1.1 - j0.0682 (by hand from the law)."""
    driver = replace(reference_driver, creep=0.1)
    found = complex(compliance(driver, np.array([small_signal(driver).fs / 10.0]))[0])
    assert found == pytest.approx(1.1 - 0.0682188j, abs=5e-4)


def test_a_constant_force_has_an_end(reference_driver: DriverModel) -> None:
    """Held for ever the suspension is softer by about λ a decade from fs down to the slowest element, half a step beyond it included."""
    driver = replace(reference_driver, creep=0.1)
    at_rest = driver.K[0] / (driver.K[0] + creep_spectrum(driver).constant)
    assert at_rest == pytest.approx(1.0 + 0.1 * np.log10(small_signal(driver).fs / SLOWEST_HZ), rel=0.01)


def test_every_element_takes_energy(reference_driver: DriverModel) -> None:
    """Springs and dampers above zero, so that the row is passive whatever the motion; the spring less the constant stays a spring."""
    driver = replace(reference_driver, creep=0.3)
    spectrum = creep_spectrum(driver)
    assert spectrum.stiffness.min() > 0.0
    assert spectrum.damper > 0.0
    assert 0.0 < -spectrum.constant < driver.K[0]


def test_no_creep_no_elements(reference_driver: DriverModel) -> None:
    """Without creep the force is the spring's alone."""
    spectrum = creep_spectrum(reference_driver)
    assert spectrum.stiffness.size == 0
    assert spectrum.constant == spectrum.damper == 0.0
