"""What a source puts in is lost, stored or handed on: this holds the equations of the large-signal model together."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from halfroll.acoustics.load import vented_load
from halfroll.core.errors import InputError
from halfroll.driver.energy import energy_balance
from halfroll.driver.heat import Heat
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.lumped import DriverModel
from halfroll.motor.heat.network import HeatNetwork

RATE = 48_000.0

CASES: dict[str, dict[str, Any]] = {
    "plain": {},
    "branches that follow": {"branches": ((4e-5, 6.0),), "eddy_follows": True},
    "current in Le": {"Le_i": ((-4e-6, 2e-3), (-1.5e-6, 0.0, -0.02))},
    "creep": {"creep": 0.08},
    "everything": {
        "branches": ((4e-5, 6.0),), "eddy_follows": True, "Le_i": ((-4e-6, 2e-3), (-1.5e-6, 0.0, -0.02)), "creep": 0.08,
        "alpha_per_k": 0.0039,
    },
}  # fmt: skip


def burst() -> Any:
    """Two tones of some watts, one where the cone moves, one where the inductance counts; then half a second of silence."""
    t = np.arange(int(0.9 * RATE)) / RATE
    window = np.sin(np.pi * np.clip(t / 0.4, 0.0, 1.0)) ** 2
    return window * (5.0 * np.sin(2 * np.pi * 55 * t) + 6.0 * np.sin(2 * np.pi * 900 * t))


def at_the_peak(motion: Motion) -> int:
    """Samples up to the greatest current."""
    return int(np.abs(motion.current_a).argmax()) + 1


@pytest.mark.parametrize("name", CASES)
def test_energy_closes(name: str, reference_driver: DriverModel) -> None:
    """Work = losses + stored + cabinet within 1e-6 of the work, over the whole burst and in its middle (by definition)."""
    driver = replace(reference_driver, **CASES[name])
    everything = name == "everything"
    heat = Heat.of(HeatNetwork(coil_j_k=0.05, motor_j_k=90.0, coil_to_motor_k_w=6.0, motor_to_air_k_w=5.0))
    motion = play(
        driver, burst(), RATE, inside=True, load=vented_load(3e-3, 62.0, 7.0) if everything else None,
        heat=heat if everything else None,
    )  # fmt: skip
    for until in (None, at_the_peak(motion)):
        balance = energy_balance(driver, motion, until=until)
        assert abs(balance.residue) < 1e-6 * balance.work
    assert balance.stored > 1e-4 * balance.work
    if everything:
        assert motion.coil_c is not None
        assert motion.coil_c.max() > 30.0
        assert balance.cabinet > 0.01 * balance.work


def test_a_wrong_force_shows(reference_driver: DriverModel) -> None:
    """Booked with another inductance than was played, or another spring, the balance stays open."""
    driver = replace(reference_driver, **CASES["everything"])
    motion = play(driver, burst(), RATE, inside=True)
    until = at_the_peak(motion)
    work = energy_balance(driver, motion, until=until).work
    for changes in ({"Le_i": ()}, {"eddy_follows": False}, {"creep": 0.07}, {"Rms": driver.Rms * 1.01}):
        wrong = energy_balance(replace(driver, **changes), motion, until=until)
        assert abs(wrong.residue) > 1e-6 * work, changes


def test_needs_the_inside(reference_driver: DriverModel) -> None:
    """A motion played without it is refused."""
    with pytest.raises(InputError, match="played with its inside"):
        energy_balance(reference_driver, play(reference_driver, np.zeros(100), RATE))
