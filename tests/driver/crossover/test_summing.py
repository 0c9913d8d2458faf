"""The sum at a listener: geometry, patterns, directivity index, band of tolerances, stresses, verdicts."""

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.driver.crossover.circuit import circuit_of
from halfroll.driver.crossover.elements import Crossover, Element, Way
from halfroll.driver.crossover.network import solve
from halfroll.driver.crossover.phase import minimum_phase
from halfroll.driver.crossover.responses import grid
from halfroll.driver.crossover.results import Asked
from halfroll.driver.crossover.starts import by_frequency, one_capacitor
from halfroll.driver.crossover.study import study
from halfroll.driver.crossover.summing import Listener, directivity_index, path, transfers
from halfroll.driver.crossover.tolerance import band_db, factors_of
from tests.driver.crossover.conftest import resistive

C = STANDARD_AIR.speed_of_sound


def ka_to_hz(ka: float, radius_m: float) -> float:
    """Frequency of a ka."""
    return ka * C / (2 * math.pi * radius_m)


@pytest.mark.parametrize(
    ("x", "pattern"), [(1.0, 0.88010), (2.0, 0.57672), (3.0, 0.22604), (3.83171, 0.0), (7.01559, 0.0)]
)
def test_pattern_of_a_piston(x: float, pattern: float) -> None:
    """2 J1(x)/x, x = ka sin θ, at 30 degrees: values and nulls of the tables (Beranek 1954; Kinsler and Frey)."""
    a = 0.05
    f = np.array([ka_to_hz(x / math.sin(math.pi / 6), a)])
    data = {"one": resistive(frequency_hz=f, radius_m=a)}
    crossover = Crossover(ways=(Way(name="one"),))
    found = transfers(crossover, data, Listener(distance_m=2.0, horizontal_deg=30.0), f)["one"]
    assert found[0] == pytest.approx(pattern, abs=2e-5)
    upwards = transfers(crossover, data, Listener(distance_m=2.0, vertical_deg=-30.0), f)["one"]
    assert upwards[0] == pytest.approx(pattern, abs=2e-5)


@pytest.mark.parametrize(
    ("ka", "expected"), [(0.5, 3.191), (1.0, 3.734), (2.0, 5.880), (3.0, 9.159), (5.0, 14.017)]
)
def test_directivity_index_of_a_piston(ka: float, expected: float) -> None:
    """10 lg[(ka)²/(1 - J1(2ka)/ka)] of a piston in a large baffle (Beranek 1954), by adding directions up, within 0.002 dB."""
    a = 0.05
    f = np.array([ka_to_hz(ka, a)])
    data = {"one": resistive(frequency_hz=f, radius_m=a)}
    crossover = Crossover(ways=(Way(name="one"),))
    solved = solve(circuit_of(crossover), f, {"one": data["one"].impedance_ohm})
    assert directivity_index(crossover, data, solved, f)[0] == pytest.approx(expected, abs=2e-3)


def test_two_points_beside_each_other() -> None:
    """Two equal points 0.2 m apart: the sum at angle θ is 2 cos(½ k d sin θ) of one (Kinsler and Frey, two-point array), far away."""
    f = np.array([500.0, 1000.0, 2000.0])
    data = {n: resistive(frequency_hz=f) for n in ("a", "b")}
    crossover = Crossover(
        ways=(Way(name="a", place_m=(0.1, 0.0, 0.0)), Way(name="b", place_m=(-0.1, 0.0, 0.0)))
    )
    heard = transfers(crossover, data, Listener(distance_m=100.0, horizontal_deg=40.0), f)
    k = 2 * math.pi * f / C
    np.testing.assert_allclose(
        np.abs(heard["a"] + heard["b"]),
        2 * np.abs(np.cos(0.5 * k * 0.2 * math.sin(math.radians(40.0)))),
        atol=3e-3,
    )


def test_depth_is_time() -> None:
    """A way 34.3 mm behind the other sounds 0.1 ms later: 36 degrees at 1 kHz (c 343.2 m/s: 35.98), and 1/r weaker."""
    f = np.array([1000.0])
    data = {n: resistive(frequency_hz=f) for n in ("a", "b")}
    crossover = Crossover(ways=(Way(name="a"), Way(name="b", place_m=(0.0, 0.0, -0.0343), inverted=True)))
    heard = transfers(crossover, data, Listener(distance_m=1.0), f)
    assert np.degrees(np.angle(heard["b"] / -heard["a"]))[0] == pytest.approx(
        -360 * 1000 * 0.0343 / C, abs=1e-6
    )
    assert abs(heard["b"][0]) == pytest.approx(1 / 1.0343)
    assert study(crossover, data, frequency_hz=f).arrival_s == pytest.approx({"a": 0.0, "b": 0.0343 / C})
    with pytest.raises(InputError, match="before the drivers"):
        path((0.0, 0.0, 0.2), Listener(distance_m=0.1))


def test_listener_is_checked() -> None:
    """Distance and angles in front of the baffle."""
    with pytest.raises(InputError, match="distance"):
        Listener(distance_m=0.0)
    with pytest.raises(InputError, match="-90 to 90"):
        Listener(horizontal_deg=120.0)


@pytest.mark.parametrize("q", [0.5, 1 / math.sqrt(2), 3.0])
def test_minimum_phase(q: float) -> None:
    """The phase of a second-order low-pass from its level alone, within 0.02 degrees; 0.11 at a peak of Q 3."""
    f = grid(2.0, 200_000.0)
    h = 1 / (1 + 1j * f / 1000 / q - (f / 1000) ** 2)
    found = minimum_phase(f, np.abs(h))
    inside = (f > 20) & (f < 20_000)
    error = np.degrees(found - np.unwrap(np.angle(h)))[inside]
    assert np.abs(error).max() < (
        0.02 if q < 1 else 0.11
    )  # straight lines between 24 points an octave cut the peak


def test_band_of_one_capacitor() -> None:
    """One capacitor, far below its corner: the level follows C, so the worst case of ±20 % is -1.938 and +1.584 dB (by hand)."""
    one = one_capacitor(Way(name="full"), Way(name="small"), 4000.0, 8.0, series_ohm=0.0)
    alone = Crossover(ways=(one.ways[1],))
    f = np.array([20.0])
    circuit = circuit_of(alone)
    loads, heard = {"small": np.array([8.0 + 0j])}, {"small": np.array([1.0 + 0j])}
    level = db(solve(circuit, f, loads).way_v["small"])[0]
    low, high = band_db(circuit, f, loads, heard, "worst-case")
    assert (low[0] - level, high[0] - level) == pytest.approx((-1.9382, 1.5836), abs=1e-3)
    low, high = band_db(circuit, f, loads, heard)  # 95 % of an even spread of ±20 %: ±19 %
    assert (low[0] - level, high[0] - level) == pytest.approx(
        (20 * math.log10(0.81), 20 * math.log10(1.19)), abs=0.06
    )
    factors = factors_of(circuit)["C1"]
    assert factors.min() >= 0.8
    assert factors.max() <= 1.2
    assert factors.std() == pytest.approx(0.2 / math.sqrt(3), rel=0.08)


def test_default_tolerances() -> None:
    """Bipolar electrolytic 20 %, film, coil and resistor 5 % (common practice); what is stated goes first."""

    def of(kind: str, construction: str = "", tolerance: float | None = None) -> float:
        return Element(
            name="X",
            kind=kind,
            between=("in", "out"),
            value=1.0,
            construction=construction,
            tolerance=tolerance,
        ).spread  # type: ignore[arg-type]

    assert (
        of("capacitor", "bipolar"),
        of("capacitor", "film"),
        of("coil"),
        of("resistor"),
        of("capacitor", "bipolar", 0.1),
    ) == (0.2, 0.05, 0.05, 0.05, 0.1)


def test_nothing_to_spread() -> None:
    """Without elements the band is the line."""
    found = study(Crossover(ways=(Way(name="a"),)), {"a": resistive()})
    np.testing.assert_array_equal(found.low_db, found.high_db)


def hot(**parts: float) -> Crossover:
    """A capacitor, a resistor and a coil that bear so much."""
    capacitor = Element(
        name="C1",
        kind="capacitor",
        between=("in", "1"),
        value=10e-6,
        construction="bipolar",
        rated_v=parts["v"],
    )
    resistor = Element(name="R1", kind="resistor", between=("1", "out"), value=4.0, rated_w=parts["w"])
    coil = Element(
        name="L1", kind="coil", between=("out", "0"), value=1e-3, construction="iron-core", rated_a=parts["a"]
    )
    return Crossover(ways=(Way(name="a", elements=(capacitor, resistor, coil)),))


def test_stresses_and_what_is_said_of_them() -> None:
    """Peaks and heat at 20 W into 4 ohm against the same circuit by hand at each worst frequency."""
    asked = Asked(rated_ohm=4.0, power_w=20.0)
    assert asked.drive_v == pytest.approx(math.sqrt(80))
    found = study(hot(v=10.0, w=2.0, a=0.3), {"a": replace(resistive(8.0), rated_w=1.0)}, asked)
    s = 2j * np.pi * found.frequency_hz
    parallel = 1 / (1 / 8 + 1 / (s * 1e-3))
    z = 1 / (s * 10e-6) + 4.0 + parallel
    current = np.abs(1 / z) * math.sqrt(80)
    by_name = {one.name: one for one in found.stresses}
    assert by_name["R1"].power_w == pytest.approx((current**2 * 4.0).max(), rel=1e-9)
    assert by_name["C1"].peak_v == pytest.approx(math.sqrt(2) * (current / np.abs(s * 10e-6)).max(), rel=1e-9)
    assert by_name["L1"].peak_a == pytest.approx(
        math.sqrt(2) * (current * np.abs(parallel / (s * 1e-3))).max(), rel=1e-9
    )
    codes = {v.code for v in found.verdicts}
    assert codes >= {"crossover-capacitor-voltage", "crossover-resistor-hot", "crossover-coil-saturates", "crossover-driver-power",
                     "crossover-capacitor-ages"}  # fmt: skip
    calm = study(hot(v=1000.0, w=1000.0, a=1000.0), {"a": resistive(8.0)}, asked)
    assert {v.code for v in calm.verdicts} == {"crossover-capacitor-ages"}


def test_low_impedance_is_said() -> None:
    """IEC 60268-5, 16.1: not below 80 % of the rated impedance; 4 ohm beside 4 ohm is too low for 4, not for 2.5."""
    crossover = Crossover(ways=(Way(name="a"), Way(name="b")))
    data = {"a": resistive(4.0), "b": resistive(4.0)}
    low = study(crossover, data, Asked(rated_ohm=4.0))
    assert low.minimum_ohm == pytest.approx(2.0)
    assert "crossover-impedance-low" in {v.code for v in low.verdicts}
    assert not study(crossover, data, Asked(rated_ohm=2.5)).verdicts


def test_validity_is_carried_over() -> None:
    """Where a way that counts does not hold the sum does not; one that is 20 dB below is not missed."""
    crossover = by_frequency(
        (Way(name="low"), Way(name="high")), (2000.0,), (8.0, 8.0), alignment="linkwitz-riley", order=4
    )
    high_ends = replace(
        resistive(), valid_hz=(300.0, 20_000.0)
    )  # 24 dB/octave: -20 dB is at 2 kHz/1.77 for the high way
    found = study(crossover, {"low": resistive(), "high": high_ends})
    assert found.valid_hz[0] == pytest.approx(found.frequency_hz[0])
    gated = study(crossover, {"low": replace(resistive(), valid_hz=(300.0, 20_000.0)), "high": resistive()})
    assert gated.valid_hz[0] == pytest.approx(300.0, rel=0.03)
    assert "crossover-valid-range" in {v.code for v in gated.verdicts}
    nowhere = study(
        crossover,
        {"low": replace(resistive(), valid_hz=(1e5, 2e5)), "high": replace(resistive(), valid_hz=(1e5, 2e5))},
    )
    assert math.isnan(nowhere.valid_hz[0])


def test_unlike_sources_are_said() -> None:
    """A phase that is only assumed, unlike spaces, a way that comes late."""
    crossover = by_frequency(
        (Way(name="low"), Way(name="high", place_m=(0.0, 0.05, -0.06))), (2000.0,), (8.0, 8.0), alignment="linkwitz-riley", order=4)  # fmt: skip
    data = {"low": replace(resistive(), phase="minimum", space=Space.FREE), "high": resistive()}
    codes = {v.code for v in study(crossover, data).verdicts}
    assert codes >= {"crossover-phase-assumed", "crossover-unlike-spaces", "crossover-late-way"}


def test_impedance_that_no_driver_has() -> None:
    """A negative resistance is refused with its way and frequency; a way without driver too."""
    with pytest.raises(InputError, match="impedance of the way a"):
        study(
            Crossover(ways=(Way(name="a"),)),
            {"a": replace(resistive(), impedance_ohm=np.full(grid().shape, -1.0 + 2j))},
        )
    with pytest.raises(InputError, match="must have a driver"):
        study(Crossover(ways=(Way(name="a"),)), {})
