"""Tones found beside those of a like driver against those raised from silence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.beside import Beside
from halfroll.driver.steady.solve import steady_tones

DRIVER = DriverModel(
    Re=6.0, Mms=6e-3, Rms=0.6, Sd=5e-3, Bl=(4.2, 20.0, -1e5), K=(1500.0, -2e4, 8e7), Le=(2e-4, -0.01), x_range=(-5e-3, 5e-3),
    branches=((3e-4, 4.0),), eddy_follows=True, creep=0.1,
)  # fmt: skip
TONES = np.geomspace(25.0, 800.0, 31)
VOLTS = 2.0


@pytest.mark.parametrize(
    "other",
    [
        replace(DRIVER, K=tuple(1.03 * c for c in DRIVER.K)),
        replace(DRIVER, K=tuple(1.25 * c for c in DRIVER.K), Mms=5.5e-3),
        replace(DRIVER, Bl=(4.0, 60.0, -1.1e5), Re=6.2),
    ],
    ids=["a little stiffer", "much stiffer and lighter", "another motor"],
)
def test_tones_beside_are_those_from_silence(other: DriverModel) -> None:
    """Both ways to one answer, whether few steps suffice or none do."""
    beside = Beside(DRIVER, VOLTS, TONES, series_ohm=0.1)
    found, wanted = (
        beside.tones(other, 1.02 * VOLTS),
        steady_tones(other, 1.02 * VOLTS, TONES, series_ohm=0.1),
    )
    assert found.standing == wanted.standing
    steady = np.array(wanted.standing) == "steady"
    assert steady.any()
    for name in ("displacement_m", "current_a", "pressure_pa"):
        one, two = getattr(found, name)[:6, steady], getattr(wanted, name)[:6, steady]
        assert np.abs(one - two).max(axis=0) == pytest.approx(0.0, abs=2e-6 * np.abs(two).max())
    assert found.x_high_m[steady] == pytest.approx(wanted.x_high_m[steady], rel=1e-5)
    assert found.eddy_w[steady] == pytest.approx(wanted.eddy_w[steady], rel=1e-5)


def test_tones_beside_that_leave_the_travel_are_told() -> None:
    """A driver with less travel than the one beside it."""
    narrow = replace(DRIVER, x_range=(-1e-3, 1e-3))
    standing = Beside(DRIVER, VOLTS, TONES).tones(narrow, VOLTS).standing
    assert standing == steady_tones(narrow, VOLTS, TONES).standing
    assert "beyond travel" in standing
