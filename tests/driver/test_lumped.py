"""Small-signal parameters against a worked example, and what a driver may be."""

import math
from typing import Any

import pytest

from halfroll.acoustics.air import Air
from halfroll.core.errors import InputError
from halfroll.driver.lumped import DriverModel, small_signal
from tests.driver.conftest import reference

AIR = Air(1.2, 343.0)


def test_worked_driver(worked_driver: DriverModel) -> None:
    """Every derived value of the worked driver, from the definitions of Thiele (1961) and Small (1972) by hand."""
    found = small_signal(worked_driver, AIR)
    assert found.fs == pytest.approx(48.42931, rel=1e-6)
    assert found.Qms == pytest.approx(3.651484, rel=1e-6)
    assert found.Qes == pytest.approx(0.6085806, rel=1e-6)
    assert found.Qts == pytest.approx(0.5216405, rel=1e-6)
    assert found.Vas == pytest.approx(22.475806e-3, rel=1e-6)
    assert found.eta0 == pytest.approx(0.004103924, rel=1e-6)
    assert found.level_1w_db == pytest.approx(88.27435, abs=1e-5)
    assert found.level_2v83_db == pytest.approx(89.52374, abs=1e-5)


def test_two_forms_of_efficiency(worked_driver: DriverModel) -> None:
    """η0 = (4π²/c³) fs³ Vas/Qes (Small 1972) is the same number as the form with Bl, Sd and Mms."""
    s = small_signal(worked_driver, AIR)
    assert s.eta0 == pytest.approx(4 * math.pi**2 / 343.0**3 * s.fs**3 * s.Vas / s.Qes, rel=1e-12)


def test_added_mass(worked_driver: DriverModel) -> None:
    """6 g more lower the resonance to 39.542364 Hz, from which 12 g follow (added-mass method, Small 1972)."""
    heavier = worked_driver.with_scaled(Mms=18.0 / 12.0)
    lower, fs = small_signal(heavier, AIR).fs, small_signal(worked_driver, AIR).fs
    assert lower == pytest.approx(39.542364, rel=1e-7)
    assert 6.0 / ((fs / lower) ** 2 - 1) == pytest.approx(12.0, rel=1e-9)


def test_reference_driver(reference_driver: DriverModel, reference_air: Air) -> None:
    """Resonance, Q and Vas of the driver of the reference files, worked out there."""
    derived, found = reference("params.json")["derived"], small_signal(reference_driver, reference_air)
    assert found.fs == pytest.approx(derived["fs_Hz"], rel=1e-12)
    assert found.Qms == pytest.approx(derived["Qms"], rel=1e-12)
    assert found.Qes == pytest.approx(derived["Qes"], rel=1e-12)
    assert found.Qts == pytest.approx(derived["Qts"], rel=1e-12)
    assert found.Vas == pytest.approx(derived["Vas_m3"], rel=1e-12)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"Mms": 0.0}, "Mms of the driver must be above zero; found 0"),
        ({"Re": math.nan}, "Re of the driver must be above zero; found nan"),
        ({"R2": 1.0}, "L2 and R2 of the driver must both be above zero, or both zero"),
        ({"x_range": (0.0, 1e-3)}, "x_range of the driver must enclose zero"),
        ({"Bl": (6.0, 2000.0)}, r"Bl\(x\) of the driver must keep its sign from -5 mm to 5 mm"),
        ({"K": (1000.0, 0.0, -5e7)}, r"K\(x\) of the driver must be above zero"),
        ({"Le": (0.0,)}, r"Le\(x\) of the driver must be above zero"),
    ],
)
def test_impossible_drivers(change: dict[str, Any], words: str) -> None:
    """A driver that cannot be is refused with its field and value."""
    fields = {
        "Re": 6.0, "Mms": 12e-3, "Rms": 1.0, "Sd": 133e-4, "Bl": (6.0,), "K": (1100.0,), "Le": (2e-5,),
        "x_range": (-5e-3, 5e-3),
    }  # fmt: skip
    with pytest.raises(InputError, match=words):
        DriverModel(**(fields | change))
