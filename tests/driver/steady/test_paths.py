"""Far beyond comfortable levels: what the solver returns is what raising the level from rest leads to, or it says that it found none."""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from halfroll.core.errors import InputError
from halfroll.driver.large_signal import TravelError, play
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.balance import Balance
from halfroll.driver.steady.curves import Curves
from halfroll.driver.steady.solve import steady_tones
from tests.driver.steady.test_tones import full, vented


def played(
    driver: DriverModel, volts: float, f: float, *, rise_s: float = 0.5, hold_s: float = 0.5
) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Eight periods of displacement from the time-domain solver, the level raised slowly from rest, and their spectrum in eighths of the
    frequency (peak); None where the cone leaves its range.
    """
    n = max(48, math.ceil(24_000 / f))
    periods = math.ceil((rise_s + hold_s) * f)
    at = np.arange((periods + 4) * n) / n
    rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(at / math.ceil(rise_s * f), 0, 1))
    try:
        motion = play(driver, volts * math.sqrt(2) * np.cos(2 * np.pi * at) * rise, n * f)
    except TravelError:
        return None
    x = motion.displacement_m[(periods - 8) * n : periods * n]
    return x, np.abs(np.fft.rfft(x)) / (4 * n)


def agrees(driver: DriverModel, volts: float, f: float, **how: float) -> str:
    """How a tone stands, having held it against the time-domain solver: harmonics 1 to 5 above -80 dB within 0.02 dB, extremes within 0.1 %."""
    found = steady_tones(driver, volts, np.array([f]))
    run = played(driver, volts, f, **how)
    if found.standing[0] == "beyond travel":
        assert run is None
    if found.standing[0] == "steady":
        assert run is not None
        x, spectrum = run
        truth, ours = spectrum[8:48:8], np.abs(found.displacement_m[1:6, 0])
        loud = truth > 1e-4 * truth[0]
        assert np.abs(20 * np.log10(ours / truth))[loud].max() < 0.02
        # Samples miss the extremes by up to (pi/N)²/2 of the amplitude.
        assert found.x_high_m[0] == pytest.approx(x.max(), abs=1e-3 * truth[0] + 2e-6)
        assert found.x_low_m[0] == pytest.approx(x.min(), abs=1e-3 * truth[0] + 2e-6)
        others = np.delete(spectrum, np.arange(0, spectrum.size, 8))
        assert others.max() < 1e-3 * truth[0]
    return found.standing[0]


@pytest.mark.parametrize("watts", [30.0, 100.0, 300.0])
def test_the_reference_driver_at_a_hundred_times_its_power(
    watts: float, reference_driver: DriverModel
) -> None:
    """30, 100 and 300 W: in the bass the cone leaves its 4 mm, which both solvers say; above both agree."""
    volts = math.sqrt(4 * watts)
    ends = [agrees(reference_driver, volts, f) for f in (30.0, 75.0, 180.0, 250.0, 400.0)]
    assert ends[0] == "beyond travel"
    assert ends[-1] == "steady"


@pytest.mark.parametrize("watts", [30.0, 100.0, 300.0])
def test_far_beyond_the_travel_of_its_curves(watts: float, reference_driver: DriverModel) -> None:
    """The same curves drawn on to 9 mm, where K is 17 times that at rest and Bl has fallen and risen again: up to 8.9 mm both solvers agree."""
    wide = replace(reference_driver, x_range=(-9e-3, 9e-3), Le=(1.1e-4, -5.5e-3))
    volts = math.sqrt(4 * watts)
    ends = [agrees(wide, volts, f) for f in (20.0, 40.0, 75.0, 100.0, 250.0)]
    assert ends == ["steady"] * 5


def test_a_fold_is_said(reference_driver: DriverModel) -> None:
    """100 W at 140 Hz: on the way up the path folds back and the driver jumps from 4.7 to 7.7 mm. Just below the fold both solvers agree; above it none is given."""
    wide = replace(reference_driver, x_range=(-9e-3, 9e-3), Le=(1.1e-4, -5.5e-3))
    volts = np.linspace(10.0, 20.0, 41)
    found = steady_tones(wide, volts, np.full(41, 140.0))
    ends = np.array([one == "steady" for one in found.standing])
    last = int(np.flatnonzero(ends)[-1])
    assert ends[: last + 1].all()
    assert set(found.standing[last + 1 :]) == {"not found"}
    assert agrees(wide, float(volts[last]), 140.0, rise_s=2.0) == "steady"
    above = played(wide, float(volts[last + 2]), 140.0, rise_s=2.0)
    assert above is not None
    assert above[0].max() > 1.4 * found.x_high_m[last]


def test_duffings_jump_is_where_the_harmonic_balance_of_one_term_has_it() -> None:
    """A weakly damped hardening spring just above resonance: of (w0² - w² + ¾ b w0² A²)² A² + (c w A)² = (F/m)² the lower branch ends where dF/dA = 0
    (Nayfeh and Mook, chapter 4); for weak nonlinearity the solver's last level is that within a percent.
    """
    k0, mass, loss, bl, resistance = 1000.0, 10e-3, 0.1, 0.1, 1e3
    b = 0.02 / 1e-6
    driver = DriverModel(
        Re=resistance,
        Mms=mass,
        Rms=loss,
        Sd=1e-2,
        Bl=(bl,),
        K=(k0, 0.0, k0 * b),
        Le=(1e-9,),
        x_range=(-4e-3, 4e-3),
    )
    w = 1.04 * math.sqrt(k0 / mass)
    a = np.linspace(1e-5, 2.5e-3, 200_001)
    force = a * np.hypot(k0 * (1 + 0.75 * b * a**2) - mass * w**2, (loss + bl**2 / resistance) * w)
    top = int(np.flatnonzero(np.diff(force) < 0)[0])
    fold_v = force[top] / bl * resistance / math.sqrt(2)
    volts = fold_v * np.linspace(0.95, 1.05, 21)
    found = steady_tones(driver, volts, np.full(21, w / (2 * math.pi)))
    last = int(np.flatnonzero([one == "steady" for one in found.standing])[-1])
    assert volts[last] == pytest.approx(fold_v, rel=0.01)
    assert abs(found.displacement_m[1, last]) == pytest.approx(a[top], rel=0.15)
    assert "steady" not in found.standing[last + 1 :]


def test_a_coil_in_the_middle_of_a_falling_field_creeps_out() -> None:
    """D-06 (Klippel 2006, from memory): above resonance a Bl(x) that falls both ways pushes the coil out. Exactly in the middle the motion is unstable, and
    none is returned; 10 µm off it goes more than a millimetre, as the time-domain solver finds.
    """
    field = DriverModel(
        Re=4.0,
        Mms=10e-3,
        Rms=0.4,
        Sd=1e-2,
        Bl=(6.0, 0.0, -1.5e5),
        K=(400.0, 0.0, 5e7),
        Le=(1e-5,),
        x_range=(-6e-3, 6e-3),
    )
    off = field.with_coil_moved(1e-5)
    f = np.array([110.0])
    assert agrees(field, 9.0, 110.0) == "steady"
    assert steady_tones(field, 11.0, f).standing == ("not found",)
    for volts, mean in ((11.0, -1.18e-3), (12.0, -2.04e-3)):
        assert agrees(off, volts, 110.0, hold_s=4.0) == "steady"
        assert steady_tones(off, volts, f).displacement_m[0, 0].real == pytest.approx(mean, rel=0.01)


def test_a_tone_that_shakes_up_half_its_frequency_is_none() -> None:
    """An asymmetric, weakly damped spring at twice its resonance: a stiffness that swings by more than 2/Q makes the resonance grow by itself
    (Mathieu's equation; Nayfeh and Mook, chapter 5). The last steady amplitude meets that within 2 %; above it the time-domain solver shows half
    the frequency.
    """
    driver = DriverModel(
        Re=6.0,
        Mms=10e-3,
        Rms=0.3,
        Sd=1e-2,
        Bl=(0.8,),
        K=(1500.0, -1.5e5, 3e6),
        Le=(1e-4,),
        x_range=(-4e-3, 4e-3),
    )
    f = 2 * math.sqrt(1500.0 / 10e-3) / (2 * math.pi)
    q = math.sqrt(1500.0 * 10e-3) / (0.3 + 0.8**2 / 6.0)
    volts = np.arange(20.0, 31.0, 0.2)
    found = steady_tones(driver, volts, np.full(volts.size, f))
    last = int(np.flatnonzero([one == "steady" for one in found.standing])[-1])
    assert set(found.standing[last + 1 :]) == {"not found"}
    # The tangent stiffness 1500 - 3e5 x swings by 2/Q of itself at this amplitude:
    assert abs(found.displacement_m[1, last]) == pytest.approx(2.0 / q * 1500.0 / 3e5, rel=0.02)
    assert agrees(driver, 22.0, f, rise_s=1.0, hold_s=2.0) == "steady"
    run = played(driver, 28.0, f, rise_s=1.0, hold_s=3.0)
    assert run is None or run[1][4] > 0.01 * run[1][8]


def test_drivers_drawn_by_lot_agree_or_say_so() -> None:
    """Forty drivers with strongly bent, lopsided curves at levels far beyond use: steady ones agree with the time-domain solver, in the others the cone
    leaves its range there too or nothing is returned; at most a tenth of them.
    """
    rng = np.random.default_rng(6)
    ends = []
    while len(ends) < 40:
        drawn = by_lot(rng)
        if drawn is None:
            continue
        driver, volts, f = drawn
        ends.append(agrees(driver, volts, f, rise_s=1.0, hold_s=1.5))
    assert ends.count("steady") >= 30
    assert ends.count("not found") <= 4


def by_lot(rng: np.random.Generator) -> tuple[DriverModel, float, float] | None:
    """A driver, a voltage and a frequency; None where the draw makes no driver."""
    reach = 10e-3
    k0, hard = 10 ** rng.uniform(2.7, 3.7), 10 ** rng.uniform(0, 1.6)
    bl, fall, lean = rng.uniform(1.5, 6), rng.uniform(0.2, 0.95), rng.uniform(-0.3, 0.3)
    le = 10 ** rng.uniform(-4, -3)
    mass = 10 ** rng.uniform(-2.3, -1.6)
    f = math.sqrt(k0 / mass) / (2 * math.pi) * 10 ** rng.uniform(-0.6, 0.7)
    volts = 10 ** rng.uniform(0.5, 1.7)
    try:
        driver = DriverModel(
            Re=rng.uniform(3, 8), Mms=mass, Rms=10 ** rng.uniform(-0.7, 0.3), Sd=80e-4,
            Bl=(bl, bl * lean / reach, -bl * fall / reach**2),
            K=(k0, k0 * rng.uniform(-0.6, 0.6) * math.sqrt(hard) / reach, k0 * hard / reach**2),
            Le=(le, -le * rng.uniform(0, 0.6) / reach), x_range=(-reach, reach),
        )  # fmt: skip
    except InputError:
        return None
    return driver, volts, f


@pytest.mark.parametrize("acting", ["both", "voltage", "force"])
def test_the_jacobian_is_the_slope_of_the_residual(acting: str, reference_driver: DriverModel) -> None:
    """Every term of the whole model by central differences, to 1e-6 of the largest in its row."""
    rng = np.random.default_rng(4)
    points = 11
    driver = full(reference_driver)
    balance = Balance(driver, np.array([60.0]), vented(), 0.1, points, Curves(driver, acting))  # type: ignore[arg-type]
    ops = balance.operators
    y = np.concatenate([2e-3 * rng.standard_normal((1, points)), rng.standard_normal((1, points))], axis=1)

    def residual(y: NDArray[np.float64]) -> NDArray[np.float64]:
        x, i = y[:, :points], y[:, points:]
        return balance.residual(ops, balance.point(ops, x, i), i, np.zeros((1, points)))

    x, i = y[:, :points], y[:, points:]
    jacobian = balance.jacobian(ops, balance.point(ops, x, i), i)[0]
    step = np.repeat([1e-8, 1e-5], points)
    for column in range(2 * points):
        h = np.zeros((1, 2 * points))
        h[0, column] = step[column]
        slope = (residual(y + h) - residual(y - h))[0] / (2 * step[column])
        np.testing.assert_allclose(jacobian[:, column], slope, rtol=1e-5, atol=1e-6 * np.abs(slope).max())
