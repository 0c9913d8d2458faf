"""The full time loop: against SciPy's solvers on fluxes, against the lean loop, and against the closed form at small signals."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from halfroll.acoustics.load import closed_load, vented_load
from halfroll.driver.creep import creep_spectrum
from halfroll.driver.heat import Heat
from halfroll.driver.large_signal import InductanceError, TravelError, play
from halfroll.driver.linear import linear_response
from halfroll.driver.loops import FullLoop, LeanLoop, full_model, steps_per_sample
from halfroll.driver.lumped import DriverModel
from halfroll.motor.heat.network import HeatNetwork

RATE = 48_000.0
Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def rich_driver(reference_driver: DriverModel) -> DriverModel:
    """The reference driver with everything the model knows: two branches that follow Le(x), current in Le, creep."""
    return replace(
        reference_driver, branches=((4e-5, 6.0),), eddy_follows=True, Le_i=((-4e-6, 2e-4), (-1.5e-6, 0.0, -0.02)), creep=0.08,
    )  # fmt: skip


def voltage(t: Array | float) -> Array:
    """Two tones at about 3 W that begin softly."""
    rise = 1.0 - np.exp(-((np.asarray(t) / 0.003) ** 2))
    return np.asarray(rise * (4.0 * np.sin(2 * np.pi * 55 * t) + 2.0 * np.sin(2 * np.pi * 610 * t + 0.4)))


def test_against_scipy_on_fluxes(rich_driver: DriverModel) -> None:
    """Everything on, 40 ms from rest: SciPy's Radau, whose states are the fluxes L(x, i) i and L_b s i_b and not the currents.

    The vented box is written out from its circuit here; only the creep elements are taken from the code (they are checked against
    the law of Knudsen and Jensen elsewhere).
    """
    d, end, rho, c = rich_driver, 0.04, 1.2041, 343.2
    volume, tuning, leak_q = 3e-3, 2 * np.pi * 62.0, 7.0
    compliance = volume / (rho * c**2)
    mass, leak = 1.0 / (tuning**2 * compliance), leak_q / (tuning * compliance)
    branches = ((d.L2, d.R2), *d.branches)
    elements = creep_spectrum(d)
    value, slope = np.polynomial.polynomial.polyval, np.polynomial.polynomial.polyder
    inductances = (d.Le, *d.Le_i)

    def current_of_flux(flux: float, x: float) -> float:
        def over(i: float) -> float:
            return sum(float(value(x, one)) * i ** (n + 1) for n, one in enumerate(inductances)) - flux

        return float(brentq(over, -3.0, 3.0, xtol=1e-15, rtol=1e-14))

    def slopes(t: float, y: Array) -> Array:
        flux, first, second, v, x, pressure, port = y[:7]
        i = current_of_flux(flux, x)
        s, ds = float(value(x, d.Le)) / d.Le[0], float(value(x, slope(d.Le))) / d.Le[0]
        eddy = [
            one / (inductance * s) for one, (inductance, _) in zip((first, second), branches, strict=True)
        ]
        induced = [r * s * (i - one) for one, (_, r) in zip(eddy, branches, strict=True)]
        spring = (float(value(x, d.K)) + elements.constant) * x + float(elements.stiffness @ (x - y[7:]))
        force = float(value(x, d.Bl)) * i + d.Sd * pressure - (d.Rms + elements.damper) * v - spring
        force += sum(
            float(value(x, slope(one))) * i ** (n + 2) / (n + 2) for n, one in enumerate(inductances)
        )
        force += sum(
            0.5 * inductance * ds * one**2 for one, (inductance, _) in zip(eddy, branches, strict=True)
        )
        return np.array([
            float(voltage(t)) - d.Re * i - sum(induced) - float(value(x, d.Bl)) * v, *induced, force / d.Mms, v,
            -(d.Sd * v + port + pressure / leak) / compliance, pressure / mass,
            *(x - y[7:]) / elements.time_s,
        ])  # fmt: skip

    at = np.linspace(0.0, end, 81)
    truth = solve_ivp(
        slopes, (0, end), np.zeros(7 + elements.time_s.size), method="Radau", t_eval=at, rtol=1e-9, atol=1e-13
    )
    steps = 24_000
    loop = FullLoop(d, 0.0, vented_load(volume, 62.0, leak_q, _air(rho, c)), None, inside=True)
    track = loop(voltage(np.arange(2 * steps + 1) * end / (2 * steps)), end / steps, 0)[:: steps // 80].T
    expected = truth.y[:, :-1]
    currents = [current_of_flux(flux, x) for flux, x in zip(expected[0], expected[4], strict=True)]
    for found, true in (
        (track[0], np.array(currents)), (track[1], expected[3]), (track[2], expected[4]), (track[4], expected[5]),
        (track[5], expected[6]), (track[6], expected[5] / leak),
    ):  # fmt: skip
        assert np.abs(found - true).max() < 1e-5 * np.abs(true).max()
    assert np.abs(expected[4]).max() > 0.5e-3  # it is a large signal


def _air(rho: float, c: float):  # type: ignore[no-untyped-def]
    from halfroll.acoustics.air import Air

    return Air(rho, c)


def test_both_loops_agree(reference_driver: DriverModel) -> None:
    """Where the lean loop knows the driver, the full one gives the same to rounding."""
    drive = voltage(np.arange(40_001) / 768_000.0)
    lean = LeanLoop(reference_driver, 0.2)(drive, 1 / 384_000.0, 0)
    full = FullLoop(reference_driver, 0.2, None, None, inside=False)(drive, 1 / 384_000.0, 0)
    for column in range(4):
        assert np.abs(full[:, column] - lean[:, column]).max() < 1e-12 * np.abs(lean[:, column]).max()
    eddies = replace(reference_driver, L2=0.0, R2=0.0, branches=((reference_driver.L2, reference_driver.R2),))
    again = FullLoop(eddies, 0.2, None, None, inside=False)(drive, 1 / 384_000.0, 0)
    np.testing.assert_array_equal(again, full)


def test_a_closed_box_is_a_spring(reference_driver: DriverModel) -> None:
    """ρc²Sd²/V beside the suspension (Small 1972): the load and a stiffer driver move alike; the pressure is -x Sd ρc²/V."""
    air = _air(1.2041, 343.2)
    stiffness = air.density * air.speed_of_sound**2 / 1.5e-3
    drive = voltage(np.arange(9600) / RATE)
    boxed = play(reference_driver, drive, RATE, load=closed_load(1.5e-3, air))
    sprung = play(reference_driver.with_stiffness_added(stiffness * reference_driver.Sd**2), drive, RATE)
    size = np.abs(sprung.displacement_m).max()
    assert np.abs(boxed.displacement_m - sprung.displacement_m).max() < 1e-10 * size
    assert boxed.box_pressure_pa is not None
    expected = -stiffness * reference_driver.Sd * boxed.displacement_m
    assert np.abs(boxed.box_pressure_pa - expected).max() < 1e-9 * np.abs(expected).max()
    assert boxed.outlets == ()
    assert boxed.flows_m3_s is not None
    assert boxed.flows_m3_s.shape == (0, 9600)


def test_small_tones_meet_the_closed_form(rich_driver: DriverModel) -> None:
    """A millivolt of eight tones from 5 Hz to 1 kHz, vented, creeping: current, travel, box and port within 0.1 dB and 1 degree.

    The time loop's creep is a row of elements, the closed form the law of Knudsen and Jensen 1993 itself.
    """
    tones = np.array([5.0, 12.0, 31.0, 62.0, 90.0, 177.0, 420.0, 1000.0])
    t = np.arange(int(6 * RATE)) / RATE
    drive = 1e-3 * np.sum(np.cos(2 * np.pi * tones[:, None] * t), axis=0) * np.clip(t / 0.5, 0.0, 1.0)
    load = vented_load(3e-3, 62.0, 7.0)
    motion = play(rich_driver, drive, RATE, load=load)
    closed = linear_response(rich_driver, tones, load=load)
    window = slice(int(4.5 * RATE), int(5.5 * RATE))

    def per_volt(signal: Array) -> NDArray[np.complex128]:
        bins = tones.astype(int)
        return np.asarray(np.fft.rfft(signal[window])[bins] / np.fft.rfft(drive[window])[bins])

    assert motion.flows_m3_s is not None
    assert motion.box_pressure_pa is not None
    for found, true in (
        (per_volt(motion.current_a), 1.0 / closed.impedance_ohm),
        (per_volt(motion.displacement_m), closed.displacement_m_per_v),
        (per_volt(motion.box_pressure_pa), closed.box_pressure_pa_per_v),
        (per_volt(motion.flows_m3_s[0]), closed.flows_m3_s_per_v[0]),
        (per_volt(motion.flows_m3_s[1]), closed.flows_m3_s_per_v[1]),
    ):
        assert np.abs(20 * np.log10(np.abs(found / true))).max() < 0.1
        assert np.abs(np.degrees(np.angle(found / true))).max() < 1.0
    plain = linear_response(replace(rich_driver, creep=0.0), tones, load=load)
    assert np.abs(20 * np.log10(np.abs(plain.displacement_m_per_v / closed.displacement_m_per_v))).max() > 0.3


def test_step_follows_what_is_fast(reference_driver: DriverModel) -> None:
    """A branch, a leak or creep that is fast asks for shorter steps, and the motion then stays finite."""

    def steps(driver: DriverModel, *, volume: float | None = None) -> int:
        load = None if volume is None else vented_load(volume, 5000.0, 0.01)
        return steps_per_sample(driver, RATE, 0.0, full_model(driver, 0.0, load, None), 1.0)

    assert steps(reference_driver) == 8
    assert steps(replace(reference_driver, branches=((1e-6, 4.0),))) > 100
    assert steps(reference_driver, volume=1e-5) > 30
    quick = vented_load(1e-5, 5000.0, 0.01)
    motion = play(reference_driver, 1e-2 * voltage(np.arange(960) / RATE), RATE, load=quick)
    assert np.all(np.isfinite(motion.displacement_m))


def test_inductance_that_ends(reference_driver: DriverModel) -> None:
    """L + 2 L₁ i reaches zero at 0.55 A where L₁ is -0.1 mH/A: refused with the current, not played on."""
    short = replace(reference_driver, Le_i=((-1e-4,),))
    with pytest.raises(InductanceError, match="must stay above zero") as caught:
        play(short, 4.0 * np.sin(2 * np.pi * 300 * np.arange(4800) / RATE), RATE, oversampling=16)
    assert 0.0 < caught.value.time_s < 0.01


def test_travel_of_the_full_loop(reference_driver: DriverModel) -> None:
    """Refused as by the lean one: with time, travel and range."""
    heat = Heat.of(HeatNetwork(coil_j_k=2.0, motor_j_k=90.0, coil_to_motor_k_w=6.0, motor_to_air_k_w=5.0))
    drive = 12.0 * np.sqrt(2.0) * np.sin(2 * np.pi * 30 * np.arange(9600) / RATE)
    with pytest.raises(TravelError, match=r"found -?4\.\d\d mm at 0\.\d+ s. Allowed: -4 mm to 4 mm"):
        play(reference_driver, drive, RATE, heat=heat)


def test_a_steep_spring_that_creeps_is_played(reference_driver: DriverModel) -> None:
    """Forty times as steep at the ends of its travel and creeping as much as soft TPU: it plays, and longer steps than needed change nothing."""
    steep = replace(reference_driver, K=(1150.0, 0.0, 1e9), creep=0.2)
    drive = voltage(np.arange(4800) / RATE)
    found, finer = (play(steep, drive, RATE, oversampling=steps).displacement_m[:-480] for steps in (8, 32))
    assert (
        np.abs(found - finer).max() < 1e-6 * np.abs(finer).max()
    )  # but for the last hundredth of a second, where the filters end
