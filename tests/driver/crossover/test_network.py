"""The nodal analysis against a circuit simulator, and refusals of circuits that cannot work."""

import json
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.driver.crossover.circuit import circuit_of
from halfroll.driver.crossover.elements import Crossover, Element, Kind, Way
from halfroll.driver.crossover.network import solve
from tests.driver.crossover.conftest import driver_z

TRUTH = json.loads((Path(__file__).parents[2] / "references" / "crossover" / "three_ways.json").read_text())


def part(name: str, kind: Kind, a: str, b: str, value: float, series_ohm: float = 0.0) -> Element:
    """An element on one line."""
    return Element(name=name, kind=kind, between=(a, b), value=value, series_ohm=series_ohm)


def three_ways() -> Crossover:
    """The circuit of references/crossover/three_ways.cir."""
    low = Way(name="low", elements=(
        part("L1", "coil", "in", "out", 0.68e-3, 0.35), part("C1", "capacitor", "out", "0", 33e-6, 0.1),
        part("R1", "resistor", "out", "z", 6.8), part("C2", "capacitor", "z", "0", 12e-6)))  # fmt: skip
    mid = Way(name="mid", elements=(
        part("C3", "capacitor", "in", "1", 22e-6, 0.05), part("L2", "coil", "1", "0", 2.2e-3, 0.6),
        part("L3", "coil", "1", "out", 0.33e-3, 0.2), part("C4", "capacitor", "out", "0", 4.7e-6)))  # fmt: skip
    high = Way(name="high", elements=(
        part("C5", "capacitor", "mid.1", "pad", 3.3e-6, 0.4), part("R2", "resistor", "pad", "out", 2.7), part("R3", "resistor", "out", "0", 12.0)))  # fmt: skip
    return Crossover(ways=(low, mid, high), source_ohm=0.15)


def test_against_a_circuit_simulator() -> None:
    """Voltages, currents and impedance equal ngspice's (references/crossover) within 2e-9 of the source."""
    f = 20.0 * 10.0 ** (np.arange(37) / 12.0)
    np.testing.assert_allclose(f, TRUTH["frequency_hz"], rtol=1e-9)
    s = 2j * np.pi * f
    loads = {
        "low": driver_z(s, 5.6, 0.2e-3, (38.0, 21e-3, 310e-6), (0.45e-3, 4.0)),
        "mid": driver_z(s, 6.4, 0.15e-3, (25.0, 8e-3, 120e-6)),
        "high": driver_z(s, 5.9, 0.04e-3, (9.0, 0.9e-3, 33e-6)),
    }
    found = solve(circuit_of(three_ways()), f, loads)

    def truth(name: str) -> np.ndarray:
        return np.array(TRUTH[name]["re"]) + 1j * np.array(TRUTH[name]["im"])

    pairs = [(found.way_v[n], f"{n}_v") for n in loads] + [(found.way_a[n], f"{n}_a") for n in loads]
    pairs.append((1.0 / found.input_ohm, "source_a"))
    for ours, name in pairs:
        expected = -truth(name) if name == "source_a" else truth(name)
        np.testing.assert_allclose(ours, expected, atol=2e-9, rtol=1e-8)
    for name, element, ohms in (("c1_v", "C1", 0.1), ("c3_v", "C3", 0.05), ("c5_v", "C5", 0.4)):
        inside = (
            found.element_v[element] - ohms * found.element_a[element]
        )  # the netlist has this resistance apart
        np.testing.assert_allclose(inside, truth(name), atol=2e-9, rtol=1e-8)


def test_energy_balance() -> None:
    """Tellegen: the power of the source is that in all resistances, cable and drivers."""
    f = np.array([63.0, 500.0, 2000.0, 9000.0])
    loads = {name: np.full(4, z) for name, z in (("low", 6 + 3j), ("mid", 7 - 2j), ("high", 6 + 1j))}
    crossover = three_ways()
    circuit = circuit_of(crossover)
    found = solve(circuit, f, loads)
    heat = sum(
        np.abs(found.element_a[e.name]) ** 2 * (e.series_ohm + (e.value if e.kind == "resistor" else 0.0))
        for e in crossover.elements
    )
    drivers = sum((found.way_v[n] * np.conj(found.way_a[n])).real for n in loads)
    total = np.real(1.0 / found.input_ohm)
    cable = np.abs(1.0 / found.input_ohm) ** 2 * crossover.source_ohm
    np.testing.assert_allclose(heat + drivers + cable, total, rtol=1e-12)


def test_source_impedance_is_thevenins() -> None:
    """What a way sees: its open voltage over its shorted current, found with loads of 1 Gohm and 1 nohm."""
    f = np.array([300.0, 3000.0])
    circuit = circuit_of(three_ways())
    loads = {"low": np.full(2, 6 + 3j), "mid": np.full(2, 7 - 2j), "high": np.full(2, 6 + 1j)}
    seen = solve(circuit, f, loads).source_ohm["mid"]
    opened = solve(circuit, f, {**loads, "mid": np.full(2, 1e9 + 0j)}).way_v["mid"]
    shorted = solve(circuit, f, {**loads, "mid": np.full(2, 1e-9 + 0j)}).way_a["mid"]
    np.testing.assert_allclose(seen, opened / shorted, rtol=1e-6)


def test_realisations_at_once_equal_one_by_one() -> None:
    """A batch of values gives what each gives alone."""
    f = np.array([300.0, 3000.0])
    circuit = circuit_of(three_ways())
    loads = {"low": np.full(2, 6 + 3j), "mid": np.full(2, 7 - 2j), "high": np.full(2, 6 + 1j)}
    many = solve(circuit, f, loads, {"C3": np.array([0.8, 1.0, 1.2])})
    for place, factor in enumerate((0.8, 1.0, 1.2)):
        one = solve(circuit, f, loads, {"C3": np.array(factor)})
        np.testing.assert_allclose(many.way_v["high"][place], one.way_v["high"], rtol=1e-13)


def test_series_connection() -> None:
    """Two drivers in series share the voltage: a way's minus stands on the other's node (series crossover)."""
    f = np.array([1000.0])
    upper = Way(name="upper", minus="lower.out")
    lower = Way(
        name="lower",
        elements=(part("C1", "capacitor", "out", "0", 10e-6), part("L1", "coil", "upper.out", "out", 1e-3)),
    )
    found = solve(
        circuit_of(Crossover(ways=(upper, lower))),
        f,
        {"upper": np.array([8 + 0j]), "lower": np.array([4 + 0j])},
    )
    w = 2j * np.pi * f
    top, bottom = 1 / (1 / 8 + 1 / (w * 1e-3)), 1 / (1 / 4 + w * 10e-6)
    np.testing.assert_allclose(found.way_v["upper"], top / (top + bottom), rtol=1e-12)


C = part("C1", "capacitor", "in", "out", 4e-6)


@pytest.mark.parametrize(
    ("ways", "said"),
    [
        ((), "one way at least"),
        ((Way(name="a", fed_by="a"),), "feeds itself.*a is fed by a"),
        ((Way(name="a", fed_by="b"), Way(name="b", fed_by="c"), Way(name="c", fed_by="a")), "in a circle.*a is fed by b is fed by c is fed by a"),
        ((Way(name="a", fed_by="x"),), "not there; found x"),
        ((Way(name="a", elements=(part("C1", "capacitor", "in", "1", 4e-6), part("L1", "coil", "1", "0", 1e-3))),), "not connected"),
        ((Way(name="a", elements=(C, part("L1", "coil", "out", "x", 1e-3))),), "Only L1 ends at the node a.x"),
        ((Way(name="a", elements=(C, part("L1", "coil", "x", "y", 1e-3), part("L2", "coil", "x", "y", 1e-3))),), "floats"),
        ((Way(name="a", elements=(C,)), Way(name="b", elements=(C,))), "name of its own.*C1 twice"),
        ((Way(name="a"), Way(name="a")), "name of its own.*a twice"),
        ((Way(name="a", minus="out"),), "feeds itself: both its terminals"),
        ((Way(name="a", elements=(part("C1", "capacitor", "b.1", "out", 4e-6),)),), "a way that is not there"),
        ((Way(name="a", elements=(part("C1", "capacitor", "out", "1", 4e-6), part("R1", "resistor", "1", "0", 4.0)), fed_by="b"),
          Way(name="b", elements=(part("C9", "capacitor", "in", "a.1", 4e-6),))), "not connected"),
    ],
)  # fmt: skip
def test_circuits_that_cannot_work(ways: tuple[Way, ...], said: str) -> None:
    """Cyclic, floating and unconnected crossovers are refused with names."""
    with pytest.raises(InputError, match=f"(?s){said}"):
        circuit_of(Crossover(ways=ways))


@pytest.mark.parametrize("value", [0.0, -4e-6, float("nan"), float("inf")])
def test_values_must_be_above_zero(value: float) -> None:
    """No zero, negative or unknown value."""
    with pytest.raises(InputError, match="must be above zero"):
        part("C1", "capacitor", "in", "out", value)


def test_other_faults_of_elements() -> None:
    """Series resistance, tolerance and nodes are checked too."""
    with pytest.raises(InputError, match="below zero"):
        part("L1", "coil", "in", "out", 1e-3, -0.1)
    with pytest.raises(InputError, match="two different nodes"):
        part("L1", "coil", "in", "in", 1e-3)
    with pytest.raises(InputError, match="plain name"):
        part("L1", "coil", "in", "a.b.c", 1e-3)
    with pytest.raises(InputError, match="tolerance"):
        Element(name="L1", kind="coil", between=("in", "out"), value=1e-3, tolerance=1.5)
    with pytest.raises(InputError, match="cable"):
        circuit_of(Crossover(ways=(Way(name="a"),), source_ohm=-1.0))
