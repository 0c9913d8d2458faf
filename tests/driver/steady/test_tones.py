"""Steady tones against other solvers, closed forms of the Duffing oscillator, small signals and the time-domain model."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ellipj, ellipk

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import silent
from halfroll.driver.large_signal import play
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.solve import settled, steady_tones
from tests.driver.conftest import reference

TONES = reference("steady_tones.json")
TRUTH = json.loads(
    (Path(__file__).parents[2] / "references/nonlinear_driver/truth_distortion.json").read_text(
        encoding="utf-8"
    )
)["cases"]
HEARD = 1e-4
"""-80 dB: harmonics below are not compared."""


def db(ratio: NDArray[Any]) -> NDArray[np.float64]:
    """Absolute level of a ratio of complex values (dB), its phase (1 rad is 8.7 dB) taken in."""
    return np.asarray(20 / math.log(10) * np.abs(np.log(ratio)))


def complex_of(table: dict[str, list[float]]) -> NDArray[np.complex128]:
    """Harmonics 1 to 5 of a reference."""
    return np.array(table["amp"]) * np.exp(1j * np.radians(table["phase_deg"]))


@pytest.mark.parametrize("volts", sorted({case["U_rms_V"] for case in TONES}))
def test_harmonics_are_those_of_two_other_solvers(
    volts: float, reference_driver: DriverModel, reference_air: Air
) -> None:
    """Harmonics 1 to 5 of acceleration, current, displacement (amplitude and phase), mean, extremes and THD of ngspice and SciPy's Radau
    (tests/references/driver_model): the bounds asked for are 0.02 dB, 1 % of the mean and 0.1 % of the extremes.
    """
    cases = [case for case in TONES if case["U_rms_V"] == volts]
    f = np.array([float(case["f_Hz"]) for case in cases])
    found = steady_tones(reference_driver, volts, f, air=reference_air)
    assert set(found.standing) == {"steady"}
    order = np.arange(1, 6)[:, None]
    ours = {
        "acc_m_s2": -((2 * np.pi * order * f) ** 2) * found.displacement_m[1:6],
        "current_A": found.current_a[1:6],
        "disp_m": found.displacement_m[1:6],
    }
    for solver, tolerance in (("scipy_radau", 5e-6), ("ngspice", 5e-4)):
        for name, rows in ours.items():
            truth = np.array([complex_of(case[solver][name]) for case in cases]).T
            loud = np.abs(truth) > HEARD * np.abs(truth[0])
            assert db(rows / truth)[loud].max() < tolerance
    for k, case in enumerate(cases):
        truth = case["scipy_radau"]
        assert 100 * found.thd()[k] == pytest.approx(truth["thd_pct"], abs=1e-6)
        assert found.x_high_m[k] == pytest.approx(truth["x_peak_pos_m"], rel=1e-6)
        assert found.x_low_m[k] == pytest.approx(truth["x_peak_neg_m"], rel=1e-6)
        assert found.displacement_m[0, k].real == pytest.approx(truth["x_dc_m"], rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("level", TRUTH)
@pytest.mark.parametrize(("table", "shunt"), [("with_shunt", 0.1), ("no_shunt", 0.0)])
def test_the_stored_curves_of_distortion_are_met(
    level: str, table: str, shunt: float, reference_driver: DriverModel, reference_air: Air
) -> None:
    """THD over 32 frequencies, H1 to H5 of pressure, extremes and mean (tests/references/nonlinear_driver: another author's harmonic balance,
    checked there against Radau and ngspice), behind the current shunt and without.
    """
    case = TRUTH[level]
    rows = case[table]
    f = np.array([row["f_Hz"] for row in rows])
    found = steady_tones(reference_driver, case["U_rms_V"], f, series_ohm=shunt, air=reference_air)
    truth = np.array([[row[f"H{n}_Pa_pk"] for n in range(1, 6)] for row in rows]).T
    loud = truth > HEARD * truth[0]
    assert db(np.abs(found.pressure_pa[1:6]) / truth)[loud].max() < 1e-4
    np.testing.assert_allclose(100 * found.thd(), [row["THD_pct_H2_H5_over_H1"] for row in rows], atol=1e-7)
    np.testing.assert_allclose(found.x_high_m, [1e-3 * row["x_max_mm"] for row in rows], rtol=1e-4)
    np.testing.assert_allclose(found.x_low_m, [1e-3 * row["x_min_mm"] for row in rows], rtol=1e-4)
    np.testing.assert_allclose(
        found.displacement_m[0].real, [1e-3 * row["x_dc_mm"] for row in rows], rtol=1e-6, atol=1e-12
    )


def light(K: tuple[float, ...], force_n: float, travel: float = 3e-3) -> tuple[DriverModel, float]:
    """A driver that is all spring far below its resonance, and the voltage that gives a peak force (N)."""
    driver = DriverModel(
        Re=1.0, Mms=1e-7, Rms=1e-4, Sd=1e-3, Bl=(1e-3,), K=K, Le=(1e-9,), x_range=(-travel, travel)
    )
    return driver, force_n / 1e-3 / math.sqrt(2)


@pytest.mark.parametrize(
    ("q", "x1", "x3_percent"), [(0.05, 0.966505, 1.0923), (0.1, 0.939061, 1.9533), (0.2, 0.895563, 3.2603)]
)
def test_a_cubic_spring_driven_slowly(q: float, x1: float, x3_percent: float) -> None:
    """x(1 + q x²) = cos wt inverted point by point: x1 and x3/x1 as computed once for the reference table D-11; Duffing's quasi-static case."""
    driver, volts = light((1000.0, 0.0, 1000.0 * q / 1e-6), 1.0)
    found = steady_tones(driver, volts, np.array([0.5]))
    size = np.abs(found.displacement_m[:, 0])
    assert size[1] / 1e-3 == pytest.approx(x1, abs=1e-6)
    assert 100 * size[3] / size[1] == pytest.approx(x3_percent, abs=1e-4)
    assert size[2] < 1e-9 * size[1]


def test_an_asymmetric_spring_driven_slowly() -> None:
    """x(1 + 0.1 x) = cos wt: mean -0.052019, x2/x1 5.1890 % (reference table D-11b), and by quadrature of the root."""
    driver, volts = light((1000.0, 1000.0 * 0.1 / 1e-3), 1.0)
    found = steady_tones(driver, volts, np.array([0.5]))
    size = np.abs(found.displacement_m[:, 0])
    assert found.displacement_m[0, 0].real / 1e-3 == pytest.approx(-0.052019, abs=1e-6)
    assert 100 * size[2] / size[1] == pytest.approx(5.1890, abs=1e-4)

    def root(t: float) -> float:
        return float(brentq(lambda x: x * (1 + 0.1 * x) - math.cos(t), -2, 2, xtol=1e-15))

    first = quad(lambda t: root(t) * math.cos(t), 0, math.pi)[0] * 2 / math.pi
    assert size[1] / 1e-3 == pytest.approx(first, rel=1e-7)


@pytest.mark.parametrize(("share", "ratio"), [(0.1, 1.036717), (0.5, 1.170781), (1.0, 1.317776)])
def test_the_free_vibration_of_a_hardening_spring_is_duffings(share: float, ratio: float) -> None:
    """K = K0(1 + b x²) with b A² = `share` swings freely as x = A cn(4K(m) t/T | m), m = bA²/2/(1 + bA²), at `ratio` times the linear frequency
    (elliptic integrals; reference table D-10). Driven by just the force its damper takes, all harmonics of it, a lossy driver does the same.
    """
    amplitude, k0, mass, loss, bl, resistance = 1e-3, 1000.0, 10e-3, 5.0, 1e-3, 1e3
    driver = DriverModel(
        Re=resistance, Mms=mass, Rms=loss, Sd=1e-2, Bl=(bl,), K=(k0, 0.0, share * k0 / amplitude**2), Le=(1e-9,), x_range=(-3e-3, 3e-3)
    )  # fmt: skip
    m = share / 2 / (1 + share)
    exact = math.pi * math.sqrt(1 + share) / (2 * ellipk(m))
    assert exact == pytest.approx(ratio, abs=1e-6)
    f = exact * math.sqrt(k0 / mass) / (2 * math.pi)
    points = 256
    sn, cn, dn, _ = ellipj(4 * ellipk(m) * np.arange(points) / points, m)
    velocity = -amplitude * 4 * ellipk(m) * f * sn * dn
    spectrum = np.fft.rfft(velocity * (resistance * loss / bl + bl))[None, :20] * 2 / points
    found = settled(
        driver,
        spectrum,
        np.array([f]),
        np.array([1.0]),
        load=None,
        series_ohm=0.0,
        orders=9,
        air=STANDARD_AIR,
        progress=silent,
    )
    expected = np.fft.rfft(amplitude * cn)[:10] * 2 / points
    np.testing.assert_allclose(found.displacement_m[:, 0], expected, rtol=0, atol=1e-8 * amplitude)


@pytest.mark.parametrize(("creep", "within"), [(0.0, 2e-5), (0.08, 5e-4)])
@pytest.mark.parametrize("load", [None, "vented"])
def test_a_weak_tone_is_the_small_signal_response(
    load: str | None, creep: float, within: float, reference_driver: DriverModel
) -> None:
    """At 1 mV displacement, impedance, pressure and flows are those of the closed form, with branches and a cabinet; with creep as near as its elements
    are to the logarithmic law.
    """
    driver = replace(full(reference_driver), Le_i=(), creep=creep)
    behind = vented() if load else None
    f = np.geomspace(20, 5000, 25)
    found = steady_tones(driver, 1e-3, f, load=behind, series_ohm=0.2)
    linear = linear_response(driver, f, load=behind, series_ohm=0.2)
    volts = 1e-3 * math.sqrt(2)
    np.testing.assert_allclose(found.displacement_m[1], volts * linear.displacement_m_per_v, rtol=within)
    np.testing.assert_allclose(volts / found.current_a[1], linear.impedance_ohm + 0.2, rtol=within)
    np.testing.assert_allclose(found.pressure_pa[1], volts * linear.pressure_pa_per_v, rtol=within)
    np.testing.assert_allclose(found.flows_m3_s[:, 1], volts * linear.flows_m3_s_per_v, rtol=within)
    assert found.thd().max() < 1e-3


def full(driver: DriverModel) -> DriverModel:
    """The driver with everything the model knows: a second branch, branches that follow the inductance, current-dependent inductance, creep."""
    return replace(
        driver, branches=((4e-4, 0.5),), eddy_follows=True, Le_i=((-4e-6, 1e-4), (-3e-7,)), creep=0.08
    )


def vented() -> AcousticLoad:
    """The reference's vented box: 3 L tuned to 62 Hz, leak of QL 7; states pressure and flow of the port."""
    volume, tuning = 3e-3, 2 * math.pi * 62.0
    compliance = volume / (1.2041 * 343.2**2)
    mass, leak = 1 / (tuning**2 * compliance), 7 / (tuning * compliance)
    return AcousticLoad(
        a=np.array([[-1 / (leak * compliance), -1 / compliance], [1 / mass, 0.0]]), b=np.array([-1 / compliance, 0.0]),
        c=np.array([1.0, 0.0]), outlets=("port", "leak"), e=np.array([[0.0, 1.0], [1 / leak, 0.0]]), g=np.zeros(2),
    )  # fmt: skip


def closed(litres: float) -> AcousticLoad:
    """A box without losses."""
    stiffness = 1.2041 * 343.2**2 / (1e-3 * litres)
    return AcousticLoad(
        a=np.zeros((1, 1)), b=np.array([-stiffness]), c=np.array([1.0]), e=np.zeros((0, 1)), g=np.zeros(0)
    )


@pytest.mark.parametrize(("f", "box"), [(40.0, "vented"), (90.0, "none"), (300.0, "closed")])
def test_the_whole_model_is_the_one_that_is_played(f: float, box: str, reference_driver: DriverModel) -> None:
    """Everything at once, against the time-domain solver from rest: harmonics 1 to 5 of displacement and current above -80 dB within 0.002 dB,
    flows too, extremes within 0.1 %, losses and mean within 1 % (creep still moves the mean after seconds).
    """
    driver, load = full(reference_driver), {"vented": vented(), "none": None, "closed": closed(1.5)}[box]
    found = steady_tones(driver, 2.0, np.array([f]), load=load)
    n, periods = math.ceil(12_000 / f), math.ceil(12.0 * f)
    at = np.arange((periods + 6) * n) / n
    rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(at / (0.3 * f), 0, 1))
    motion = play(driver, 2 * math.sqrt(2) * np.cos(2 * np.pi * at) * rise, n * f, load=load, oversampling=16)
    settled_part = slice((periods - 4) * n, periods * n)

    def harmonics(rows: NDArray[np.float64]) -> NDArray[np.complex128]:
        return np.asarray(np.fft.rfft(rows[..., settled_part])[..., ::4][..., :6] / (2 * n))

    pairs = [(found.displacement_m, motion.displacement_m), (found.current_a, motion.current_a)]
    if load is not None and motion.flows_m3_s is not None:
        pairs += list(zip(found.flows_m3_s, motion.flows_m3_s, strict=True))
    for ours, played in pairs:
        truth = harmonics(played)[1:]
        loud = np.abs(truth) > HEARD * np.abs(truth[0])
        assert np.abs(20 * np.log10(np.abs(ours[1:6, 0] / truth)))[loud].max() < 0.002
    x = motion.displacement_m[settled_part]
    assert found.x_high_m[0] == pytest.approx(x.max(), rel=1e-3)
    assert found.x_low_m[0] == pytest.approx(x.min(), rel=1e-3)
    assert found.coil_w[0] == pytest.approx(
        driver.Re * np.mean(motion.current_a[settled_part] ** 2), rel=1e-3
    )
    assert found.displacement_m[0, 0].real == pytest.approx(x.mean(), rel=1e-2, abs=1e-7)


def test_power_that_goes_in_is_lost(reference_driver: DriverModel) -> None:
    """Mean u i over a period is what Re, the branches and Rms take (no creep, whose loss is not told): to 1e-8 of it."""
    driver = replace(full(reference_driver), creep=0.0)
    f = np.array([50.0, 150.0, 900.0])
    found = steady_tones(driver, 3.0, f, orders=40)
    taken = 3.0 * math.sqrt(2) * found.current_a[1].real / 2
    order = np.arange(41)[:, None]
    moving = driver.Rms * np.sum(np.abs(2 * np.pi * order * f * found.displacement_m) ** 2, axis=0) / 2
    np.testing.assert_allclose(found.coil_w + found.eddy_w + moving, taken, rtol=1e-8)
    assert np.all(found.eddy_w > 0)


def test_symptoms_of_asymmetry(reference_driver: DriverModel) -> None:
    """Klippel 2006, table of symptoms (from memory; reference table D-05): an asymmetric stiffness makes mean and second harmonic below resonance and
    pushes the cone to its softer side; symmetric Bl or K the third alone. With Bl asymmetric the mean goes to where Bl is larger below
    resonance and away from it above (D-06).
    """
    plain = replace(reference_driver, Bl=(2.6,), K=(1150.0,), Le=(1.1e-4,))
    soft_out = steady_tones(replace(plain, K=(1150.0, -5e4)), 0.7, np.array([25.0]))
    assert soft_out.displacement_m[0, 0].real > 5e-6
    assert abs(soft_out.pressure_pa[2, 0]) > 10 * abs(soft_out.pressure_pa[3, 0])
    for symmetric in (replace(plain, K=(1150.0, 0.0, 3e7)), replace(plain, Bl=(2.6, 0.0, -5e4))):
        found = steady_tones(symmetric, 1.0, np.array([25.0, 60.0]))
        assert np.all(np.abs(found.pressure_pa[2]) < 1e-9 * np.abs(found.pressure_pa[1]))
        assert np.all(np.abs(found.pressure_pa[3]) > 1e-4 * np.abs(found.pressure_pa[1]))
    strong_out = steady_tones(replace(plain, Bl=(2.6, 60.0, -5e4)), 2.0, np.array([30.0, 250.0]))
    assert strong_out.displacement_m[0, 0].real > 0 > strong_out.displacement_m[0, 1].real
    lossy = steady_tones(replace(plain, Le=(1.1e-3, -0.15)), 2.0, np.array([25.0, 300.0]))
    second = np.abs(lossy.pressure_pa[2] / lossy.pressure_pa[1])
    assert second[1] > 1e-4


def test_what_cannot_be_a_tone_is_refused(reference_driver: DriverModel) -> None:
    """Voltage and frequency must be above zero, the resistance not below; work can be cancelled."""
    for volts, hertz, word in ((0.0, 50.0, "voltage"), (math.nan, 50.0, "voltage"), (1.0, -5.0, "frequency")):
        with pytest.raises(InputError, match=word):
            steady_tones(reference_driver, volts, np.array([hertz]))
    with pytest.raises(InputError, match="series"):
        steady_tones(reference_driver, 1.0, np.array([50.0]), series_ohm=-1.0)

    def stop(share: float, what: str) -> None:
        raise CancelledError

    with pytest.raises(CancelledError):
        steady_tones(reference_driver, 1.0, np.array([50.0]), progress=stop)
