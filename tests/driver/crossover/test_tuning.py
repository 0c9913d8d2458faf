"""Tuning: it finds textbook values again, keeps the impedance, ends on rows of IEC 60063."""

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.driver.crossover.elements import Crossover, Way
from halfroll.driver.crossover.responses import WayData, grid
from halfroll.driver.crossover.results import Asked
from halfroll.driver.crossover.starts import by_frequency
from halfroll.driver.crossover.tuning import E12, E24, row_values, tune, with_values
from tests.driver.crossover.conftest import driver_z, resistive

BAND = (200.0, 15_000.0)


def spoilt() -> tuple[Crossover, dict[str, WayData]]:
    """A Linkwitz-Riley crossover on 8 ohm whose values were moved."""
    good = by_frequency(
        (Way(name="low"), Way(name="high")), (2000.0,), (8.0, 8.0), alignment="linkwitz-riley", order=2
    )
    values = {e.name: e.value * factor for e, factor in zip(good.elements, (2.0, 0.6, 0.6, 1.8), strict=True)}
    return with_values(good, values), {"low": resistive(), "high": resistive()}


def test_flat_sum_is_found_again() -> None:
    """On resistors a flat sum exists (Linkwitz-Riley); from spoilt values it comes within 0.1 dB."""
    crossover, data = spoilt()
    found = tune(crossover, data, BAND, row="free")
    assert found.flat_before.worst_db > 2.0
    assert found.flat_after.worst_db < 0.1
    assert {name for name, *_ in found.moved} == {"L1", "C1", "C2", "L2"}


@pytest.mark.parametrize(("row", "marks"), [("E12", E12), ("E24", E24)])
def test_values_one_can_buy(row: str, marks: tuple[float, ...]) -> None:
    """Every value stands in the row, and the sum is better than before."""
    crossover, data = spoilt()
    found = tune(crossover, data, BAND, row=row)  # type: ignore[arg-type]
    for element in found.after.elements:
        mantissa = element.value / 10.0 ** math.floor(math.log10(element.value) + 1e-9)
        assert min(abs(mantissa - mark) for mark in marks) < 1e-6
    assert found.flat_after.rms_db < 0.4 * found.flat_before.rms_db


def test_rows() -> None:
    """IEC 60063: 12 and 24 values a decade, each near 10^(i/24)."""
    assert (len(E12), len(E24)) == (12, 24)
    np.testing.assert_allclose(
        E24, 10.0 ** (np.arange(24) / 24.0), rtol=0.05
    )  # the standard rounds some of them by hand
    assert row_values(3.3e-6, "E12")[0] == 3.3e-6
    assert row_values(9.7e-6, "E12", 2) == (1e-5, 8.2e-6)
    assert row_values(1.234, "free") == (1.234,)


def test_impedance_is_kept() -> None:
    """With a rated impedance the least impedance stays above 80 % of it, though a flatter sum would fall below."""
    f = grid()
    z = driver_z(2j * np.pi * f, 3.4, 0.1e-3, (20.0, 5e-3, 500e-6))
    crossover = by_frequency(
        (Way(name="low"), Way(name="high")), (2000.0,), (4.0, 4.0), alignment="butterworth", order=2
    )
    data = {name: replace(resistive(), impedance_ohm=z) for name in ("low", "high")}
    found = tune(crossover, data, BAND, row="E24", asked=Asked(rated_ohm=4.0))
    flatter = tune(crossover, data, BAND, row="E24")
    assert found.flat_after.minimum_ohm >= 0.995 * 0.8 * 4.0
    assert found.flat_before.minimum_ohm < 2.5
    assert flatter.flat_after.rms_db < found.flat_after.rms_db
    assert flatter.flat_after.minimum_ohm < 0.8 * 4.0


def test_only_some_move() -> None:
    """Elements that are not named stay."""
    crossover, data = spoilt()
    found = tune(crossover, data, BAND, only=("C1",))
    assert {name for name, *_ in found.moved} <= {"C1"}


def test_coil_resistance_follows() -> None:
    """Twice the inductance of the same wire has about sqrt 2 of the resistance."""
    crossover, _ = spoilt()
    way = crossover.ways[0]
    coil = replace(way.elements[0], series_ohm=0.4)
    changed = with_values(
        replace(crossover, ways=(replace(way, elements=(coil, *way.elements[1:])), *crossover.ways[1:])),
        {coil.name: 2 * coil.value},
    )
    assert changed.elements[0].series_ohm == pytest.approx(0.566)


def test_refusals_and_stopping() -> None:
    """A band that does not ascend, an element that is not there; and it can be stopped."""
    crossover, data = spoilt()
    with pytest.raises(InputError, match="ascend"):
        tune(crossover, data, (2000.0, 2100.0))
    with pytest.raises(InputError, match="must be in the crossover; found C77"):
        tune(crossover, data, BAND, only=("C77",))

    def stop(done: float, what: str) -> None:
        raise CancelledError("The tuning")

    with pytest.raises(CancelledError):
        tune(crossover, data, BAND, progress=stop)
