"""Element values against textbook forms, transfers against SciPy's filters and against ladders on resistors."""

import math

import numpy as np
import pytest
from scipy import signal

from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.driver.crossover.circuit import circuit_of
from halfroll.driver.crossover.elements import Crossover, Way
from halfroll.driver.crossover.network import solve
from halfroll.driver.crossover.prototypes import denominator, ladder, transfer
from halfroll.driver.crossover.responses import grid
from halfroll.driver.crossover.starts import (
    Names,
    Section,
    across_inductance,
    across_resonance,
    by_frequency,
    l_pad,
    one_capacitor,
    section,
    with_l_pad,
)
from halfroll.driver.crossover.study import study
from tests.driver.crossover.conftest import driver_z, resistive

R, F = 8.0, 2000.0
W = 2.0 * math.pi * F


def values(kind: str, alignment: str, order: int) -> list[float]:
    """Elements of a section from the source on, SI."""
    made = section(Section(kind=kind, corner_hz=(F,), load_ohm=R, alignment=alignment, order=order), Names())
    return [element.value for element in made]


@pytest.mark.parametrize(
    ("alignment", "order", "low", "high"),
    [
        # First order: L = R/(2 pi f), C = 1/(2 pi f R).
        ("butterworth", 1, [R / W], [1 / (W * R)]),
        # Second order Butterworth: L = R sqrt 2/w, C = 1/(w R sqrt 2); the high-pass has the same values in the other places.
        ("butterworth", 2, [R * math.sqrt(2) / W, 1 / (W * R * math.sqrt(2))], [1 / (W * R * math.sqrt(2)), R * math.sqrt(2) / W]),
        # Linkwitz-Riley of second order: L = 2R/w, C = 1/(2 R w).
        ("linkwitz-riley", 2, [2 * R / W, 1 / (2 * R * W)], [1 / (2 * R * W), 2 * R / W]),
        # Third order Butterworth: 1.5, 4/3, 0.5 (singly terminated).
        ("butterworth", 3, [1.5 * R / W, 4 / 3 / (R * W), 0.5 * R / W], [1 / (1.5 * R * W), 0.75 * R / W, 2 / (R * W)]),
    ],
)  # fmt: skip
def test_textbook_values(alignment: str, order: int, low: list[float], high: list[float]) -> None:
    """Closed forms of any textbook of passive crossovers (Linkwitz, "Active Crossover Networks", 1976, for his own)."""
    assert values("low-pass", alignment, order) == pytest.approx(low, rel=1e-12)
    assert values("high-pass", alignment, order) == pytest.approx(high, rel=1e-12)


def test_fourth_order_linkwitz_riley() -> None:
    """L1 0.3000 R/f, L2 0.1500 R/f, C1 0.2533/(R f), C2 0.0563/(R f): low-pass values printed in handbooks (from memory)."""
    l1, c1, l2, c2 = values("low-pass", "linkwitz-riley", 4)
    assert (l1 * F / R, l2 * F / R) == pytest.approx((0.3001, 0.15005), rel=1e-3)
    assert (c1 * F * R, c2 * F * R) == pytest.approx((0.2532, 0.05627), rel=1e-3)


@pytest.mark.parametrize(
    ("alignment", "order"), [("butterworth", n) for n in (1, 2, 3, 4)] + [("bessel", n) for n in (1, 2, 3, 4)]
)
def test_denominators_against_scipy(alignment: str, order: int) -> None:
    """The same polynomials as scipy.signal.butter and scipy.signal.bessel(norm="mag"), to 1e-9."""
    made = (
        signal.butter(order, 1.0, analog=True)
        if alignment == "butterworth"
        else signal.bessel(order, 1.0, analog=True, norm="mag")
    )
    expected = np.asarray(made[1]) / made[1][-1]
    np.testing.assert_allclose(denominator(alignment, order), expected, rtol=1e-9)


@pytest.mark.parametrize("alignment", ["butterworth", "bessel", "linkwitz-riley"])
@pytest.mark.parametrize("order", [1, 2, 3, 4])
@pytest.mark.parametrize("kind", ["low-pass", "high-pass", "band-pass"])
def test_ladders_give_scipys_filters(alignment: str, order: int, kind: str) -> None:
    """The circuit on a resistor against scipy.signal's transfer over frequency, magnitude and phase, to 1e-7."""
    if alignment == "linkwitz-riley" and order % 2:
        with pytest.raises(InputError, match="second or fourth order"):
            ladder(alignment, order)
        return
    corners = (500.0, 4000.0) if kind == "band-pass" else (F,)
    made = section(
        Section(kind=kind, corner_hz=corners, load_ohm=R, alignment=alignment, order=order), Names()
    )
    f = grid()
    found = solve(
        circuit_of(Crossover(ways=(Way(name="one", elements=made),))), f, {"one": np.full(f.shape, R + 0j)}
    ).way_v["one"]
    w = [2 * math.pi * c for c in corners]
    given = {"btype": kind.replace("-", ""), "analog": True}
    if alignment == "butterworth":
        b, a = signal.butter(order, w if len(w) > 1 else w[0], **given)
    elif alignment == "bessel":
        b, a = signal.bessel(order, w if len(w) > 1 else w[0], norm="mag", **given)
    else:
        half = signal.butter(order // 2, w if len(w) > 1 else w[0], **given)
        b, a = np.polymul(half[0], half[0]), np.polymul(half[1], half[1])
    expected = signal.freqs(b, a, 2 * math.pi * f)[1]
    np.testing.assert_allclose(found, expected, rtol=1e-7, atol=1e-12)
    np.testing.assert_allclose(transfer(alignment, order, kind, f, corners), found, rtol=1e-9, atol=1e-14)


@pytest.mark.parametrize(
    ("alignment", "order", "flat", "each_db"),
    [("linkwitz-riley", 2, True, -6.0206), ("linkwitz-riley", 4, True, -6.0206), ("butterworth", 1, True, -3.0103),
     ("butterworth", 3, True, -3.0103), ("butterworth", 2, False, -3.0103)],
)  # fmt: skip
def test_sums(alignment: str, order: int, flat: bool, each_db: float) -> None:
    """Linkwitz 1976: flat, each way -6 dB at the crossing. Odd Butterworth flat too, each -3 dB; the second-order one +3 dB there."""
    made = by_frequency((Way(name="low"), Way(name="high")), (F,), (R, R), alignment=alignment, order=order)
    f = np.append(grid(), F)
    f.sort()
    found = study(made, {"low": resistive(frequency_hz=f), "high": resistive(frequency_hz=f)}, frequency_hz=f)
    at = int(np.argmin(np.abs(f - F)))
    assert db(found.parts["low"])[at] == pytest.approx(each_db, abs=1e-3)
    assert db(found.parts["high"])[at] == pytest.approx(each_db, abs=1e-3)
    level = db(found.total)
    if flat:
        np.testing.assert_allclose(level, 0.0, atol=1e-9)
    else:
        assert level[at] == pytest.approx(3.0103, abs=1e-3)
    assert made.way("high").inverted is (order == 2)
    if alignment == "butterworth":  # constant power: the sum of the squared voltages is 1
        power = sum(np.abs(found.way_v[name]) ** 2 for name in ("low", "high"))
        np.testing.assert_allclose(power, 1.0, atol=1e-9)
        if order % 2:  # two complementary ladders in parallel show a resistor
            np.testing.assert_allclose(found.input_ohm, R, rtol=1e-9)


def test_l_pad() -> None:
    """6 dB on 8 ohm: 3.990 ohm in series, 8.038 ohm across (handbook table: 4.0 and 8.0); it shows 8 ohm and lowers by 6 dB."""
    series, across = l_pad(8.0, 6.0)
    assert (series, across) == pytest.approx((3.9905, 8.0381), rel=1e-4)
    assert series + 1 / (1 / across + 1 / 8.0) == pytest.approx(8.0, rel=1e-12)
    assert l_pad(8.0, 20 * math.log10(2)) == pytest.approx((4.0, 8.0), rel=1e-12)
    one = one_capacitor(Way(name="full"), Way(name="small"), F, R)
    padded = with_l_pad(one.ways[1], R, 6.0, Names(["C1"]))
    f = np.array([F])
    bare = solve(circuit_of(one), f, {"full": np.array([R + 0j]), "small": np.array([R + 0j])})
    lower = solve(
        circuit_of(Crossover(ways=(one.ways[0], padded))),
        f,
        {"full": np.array([R + 0j]), "small": np.array([R + 0j])},
    )
    assert db(lower.way_v["small"] / bare.way_v["small"])[0] == pytest.approx(-6.0, abs=1e-9)


def test_one_capacitor() -> None:
    """C = 1/(2 pi f R): 3.3 µF on 8 ohm crosses at 6.03 kHz (by hand); the full-range way sees the amplifier whole."""
    one = one_capacitor(
        Way(name="full"), Way(name="small"), 1 / (2 * math.pi * 8.0 * 3.3e-6), 8.0, series_ohm=0.0
    )
    (capacitor,) = one.elements
    assert capacitor.value == pytest.approx(3.3e-6)
    assert (capacitor.construction, capacitor.spread) == ("bipolar", 0.20)
    f = np.array([1 / (2 * math.pi * 8.0 * 3.3e-6)])
    assert f[0] == pytest.approx(6028.6, abs=0.1)
    found = solve(circuit_of(one), f, {"full": np.array([4.0 + 0j]), "small": np.array([8.0 + 0j])})
    assert found.way_v["full"][0] == 1.0
    assert found.way_v["small"][0] == pytest.approx(0.5 + 0.5j)
    assert found.source_ohm["small"][0] == pytest.approx(-8.0j)


def test_compensations_make_a_resistor() -> None:
    """Duals re Re: Re + Le with its RC, and a resonance with its RLC, are Re at every frequency."""
    f = grid()
    s = 2j * math.pi * f
    r, c = across_inductance(6.0, 0.5e-3)
    coil = 6.0 + s * 0.5e-3
    np.testing.assert_allclose(1 / (1 / coil + 1 / (r + 1 / (s * c))), 6.0, rtol=1e-12)
    fs, qms, qes, re = 90.0, 4.0, 0.8, 6.0
    w = 2 * math.pi * fs
    whole = driver_z(s, re, 0.0, (re * qms / qes, re / (w * qes), qes / (w * re)))
    r, inductance, c = across_resonance(re, fs, qms, qes)
    np.testing.assert_allclose(1 / (1 / whole + 1 / (r + s * inductance + 1 / (s * c))), re, rtol=1e-12)


@pytest.mark.parametrize(
    ("corners", "loads", "order", "said"),
    [((2000.0, 3000.0), (8.0, 8.0), 2, "one frequency less"), ((-5.0,), (8.0, 8.0), 2, "above 0 Hz"), ((2000.0,), (8.0, 0.0), 2, "must be above zero"),
     ((2000.0,), (8.0, 8.0), 5, "1 to 4"), ((3000.0, 2000.0), (8.0, 8.0, 8.0), 2, "ascending")],
)  # fmt: skip
def test_refusals(corners: tuple[float, ...], loads: tuple[float, ...], order: int, said: str) -> None:
    """What cannot be a crossover is said."""
    ways = tuple(Way(name=f"w{i}") for i in range(len(loads)))
    with pytest.raises(InputError, match=said):
        by_frequency(ways, corners, loads, order=order)
