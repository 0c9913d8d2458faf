"""Creep as a row of elements against the logarithmic law."""

from dataclasses import replace

import numpy as np
import pytest

from halfroll.driver.creep import LEAST_GIVE, SLOWEST_HZ, creep_spectrum, steepest
from halfroll.driver.lumped import DriverModel, small_signal


@pytest.mark.parametrize("creep", [0.03, 0.1])
def test_elements_follow_the_law(creep: float, reference_driver: DriverModel) -> None:
    """1 - λ lg(jf/fs) within 0.2 % from 5 Hz to 1 kHz (Knudsen and Jensen, JAES 41(1/2), 1993, written out here)."""
    driver = replace(reference_driver, creep=creep)
    f = np.geomspace(5.0, 1000.0, 300)
    law = 1.0 - creep * (np.log10(f / small_signal(driver).fs) + 0.5j * np.pi / np.log(10.0))
    found = 1.0 + driver.K[0] * creep_spectrum(driver).per_force(f)
    assert np.abs(found / law - 1.0).max() < 2e-3


def test_at_a_tenth_of_the_resonance(reference_driver: DriverModel) -> None:
    """λ = 0.1 at fs/10: 1.1 - j0.0682 (by hand from the law)."""
    driver = replace(reference_driver, creep=0.1)
    at = np.array([small_signal(driver).fs / 10.0])
    found = complex(1.0 + driver.K[0] * creep_spectrum(driver).per_force(at)[0])
    assert found == pytest.approx(1.1 - 0.0682188j, abs=5e-4)


def test_a_constant_force_has_an_end(reference_driver: DriverModel) -> None:
    """Held for ever the suspension is softer by λ a decade from fs down to the slowest element: 1 + λ lg(fs/0.05 Hz)."""
    driver = replace(reference_driver, creep=0.1)
    rest = 1.0 + driver.K[0] * creep_spectrum(driver).rest
    assert rest == pytest.approx(1.0 + 0.1 * np.log10(small_signal(driver).fs / SLOWEST_HZ), rel=1e-9)


def test_no_creep_no_elements(reference_driver: DriverModel) -> None:
    """Without creep the displacement is the spring's alone."""
    spectrum = creep_spectrum(reference_driver)
    assert spectrum.compliance.size == 0
    assert spectrum.rest == 0.0


def test_a_steep_spring_keeps_its_give(reference_driver: DriverModel) -> None:
    """Where the spring is six times as steep as at rest, the constant leaves it a tenth of its give; in the bass the law holds as before."""
    driver = replace(reference_driver, creep=0.1, K=(1150.0, 0.0, 1.2e8))
    spectrum = creep_spectrum(driver)
    steep, at_m = steepest(driver)
    assert (steep, at_m) == (pytest.approx(1.0 + 3.0 * 1.2e8 * 16e-6 / 1150.0), pytest.approx(-4e-3))
    assert 1.0 + spectrum.constant * driver.K[0] * steep >= LEAST_GIVE - 0.01
    f = np.geomspace(5.0, 75.0, 50)
    law = 1.0 - 0.1 * (np.log10(f / small_signal(driver).fs) + 0.5j * np.pi / np.log(10.0))
    assert np.abs((1.0 + driver.K[0] * spectrum.per_force(f)) / law - 1.0).max() < 2e-3
