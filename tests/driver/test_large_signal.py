"""The time-domain model against other solvers, exact solutions and its own rate of convergence."""

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from halfroll.acoustics.air import Air
from halfroll.acoustics.radiation import piston_pressure
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.levels import spl
from halfroll.core.progress import CancelToken, silent
from halfroll.driver.large_signal import TravelError, play
from halfroll.driver.loops import coefficients_of
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.steps import runge_kutta
from tests.driver.conftest import reference

RATE = 48_000.0
TONES = reference("steady_tones.json")


def harmonics(signal: NDArray[np.float64], f: float, orders: int = 5) -> NDArray[np.complex128]:
    """Complex peak amplitudes of orders 1 to `orders` re cos(wt) over the second that starts at 0.7 s."""
    n = int(RATE)
    start = int(0.7 * RATE)
    spectrum = np.fft.rfft(signal[start : start + n]) * 2 / n
    order = np.arange(1, orders + 1)
    return spectrum[(order * f).astype(int)] * np.exp(-2j * np.pi * order * f * start / RATE)


def tone(f: float, peak: float, seconds: float = 2.0) -> NDArray[np.float64]:
    """A cosine with a soft start."""
    t = np.arange(int(seconds * RATE)) / RATE
    rise = np.clip(t / 0.1, 0, 1)
    return peak * np.cos(2 * np.pi * f * t) * (0.5 - 0.5 * np.cos(np.pi * rise))


@pytest.mark.parametrize("case", TONES, ids=[f"{c['f_Hz']}Hz-{c['U_rms_V']:.2f}V" for c in TONES])
@pytest.mark.parametrize(
    ("solver", "h1_tol", "hn_tol"), [("scipy_radau", 2e-8, 2e-7), ("ngspice", 2e-6, 3e-5)]
)
def test_steady_tones(
    case: dict[str, Any], solver: str, h1_tol: float, hn_tol: float, reference_driver: DriverModel
) -> None:
    """Harmonics 1 to 5 (amplitude and phase), travel and THD equal those of ngspice and of SciPy's Radau.

    Tolerances follow from how far the two references agree with each other (references/driver_model/README.md):
    complex values, harmonics relative to themselves wherever they lie above -80 dB re the first.
    """
    motion = play(reference_driver, tone(case["f_Hz"], math.sqrt(2) * case["U_rms_V"]), RATE)
    truth = case[solver]
    for signal, name in (
        (motion.acceleration_m_s2, "acc_m_s2"),
        (motion.current_a, "current_A"),
        (motion.displacement_m, "disp_m"),
    ):
        found = harmonics(signal, case["f_Hz"])
        expected = np.array(truth[name]["amp"]) * np.exp(1j * np.radians(truth[name]["phase_deg"]))
        error = np.abs(found / expected - 1)
        heard = np.abs(expected) > 1e-4 * np.abs(expected[0])
        assert error[0] < h1_tol
        assert np.all(error[1:][heard[1:]] < hn_tol)
    found = np.abs(harmonics(motion.acceleration_m_s2, case["f_Hz"]))
    assert 100 * np.linalg.norm(found[1:]) / found[0] == pytest.approx(truth["thd_pct"], abs=5e-4)
    settled = motion.displacement_m[int(0.7 * RATE) : int(1.7 * RATE)]
    assert settled.max() == pytest.approx(truth["x_peak_pos_m"], rel=2e-3 * case["f_Hz"] / 400)
    assert settled.min() == pytest.approx(truth["x_peak_neg_m"], rel=2e-3 * case["f_Hz"] / 400)
    assert settled.mean() == pytest.approx(truth["x_dc_m"], abs=2e-9)


def test_rate_of_convergence(reference_driver: DriverModel) -> None:
    """Halving the step divides the error by 16, as fourth order must (reference: SciPy's DOP853, rtol 1e-12).

    The problem: two tones at 3 W from rest, 20 ms; state of SciPy's solver is the flux Le(x)·i, not the current.
    """
    d, end = reference_driver, 0.02

    def voltage(t: Any) -> Any:
        return 4.5 * np.sin(2 * np.pi * 60 * t) + 1.5 * np.sin(2 * np.pi * 700 * t)

    def poly(c: tuple[float, ...], x: float) -> float:
        return float(np.polynomial.polynomial.polyval(x, c))

    dle = tuple(np.polynomial.polynomial.polyder(d.Le))

    def slopes(t: float, y: NDArray[np.float64]) -> list[float]:
        flux, i2, v, x = y
        i = flux / poly(d.Le, x)
        lossy = d.R2 * (i - i2)
        force = poly(d.Bl, x) * i + 0.5 * poly(dle, x) * i**2 - d.Rms * v - poly(d.K, x) * x
        return [voltage(t) - d.Re * i - lossy - poly(d.Bl, x) * v, lossy / d.L2, force / d.Mms, v]

    exact = solve_ivp(slopes, (0, end), [0.0] * 4, method="DOP853", rtol=1e-12, atol=1e-16).y[:, -1]
    truth = np.array([exact[0] / poly(d.Le, exact[3]), *exact[1:]])
    errors = []
    for steps in (3840, 7680, 15360, 30720):
        grid = np.linspace(0, end, 2 * steps + 1)
        _, state, _ = runge_kutta((0.0,) * 4, voltage(grid), end / steps, coefficients_of(d, 0.0), d.x_range)
        errors.append(np.linalg.norm(np.array(state) / truth - 1))
    np.testing.assert_allclose(np.log2(np.array(errors[:-1]) / errors[1:]), 4.0, atol=0.2)


def test_oversampling_error(reference_driver: DriverModel) -> None:
    """The default number of steps is within 2e-6 of twice as many on a sweep to 20 kHz, as the docstring says."""
    t = np.arange(int(1.0 * RATE)) / RATE
    constant = 1.0 / math.log(1000.0)
    sweep = 2.8 * np.sin(2 * np.pi * 20 * constant * (np.exp(t / constant))) * np.clip(t / 0.05, 0, 1)
    sweep[-480:] *= np.linspace(1, 0, 480)
    normal = play(reference_driver, sweep, RATE)
    finer = play(reference_driver, sweep, RATE, oversampling=16)
    for name, limit in (("acceleration_m_s2", 2e-6), ("current_a", 2e-6), ("displacement_m", 1e-8)):
        a, b = getattr(normal, name), getattr(finer, name)
        assert np.linalg.norm(a - b) < limit * np.linalg.norm(b)


def driver_with(**changes: Any) -> DriverModel:
    """A driver whose current hardly depends on its motion: for problems of mechanics alone."""
    fields: dict[str, Any] = {
        "Re": 10.0, "Mms": 1e-3, "Rms": 1e-12, "Sd": 1e-2, "Bl": (1e-6,), "K": (1000.0,), "Le": (1e-3,),
        "x_range": (-1.0, 1.0),
    }  # fmt: skip
    return DriverModel(**(fields | changes))


@pytest.mark.parametrize(("b_a2", "ratio"), [(0.1, 1.036717), (0.5, 1.170781), (1.0, 1.317776)])
def test_duffing_free_vibration(b_a2: float, ratio: float) -> None:
    """Free vibration with K = K0(1 + b x²): frequency over the linear one by the complete elliptic integral.

    Source: Duffing oscillator, exact solution (any textbook of nonlinear vibration).
    """
    amplitude = 1e-3
    d = driver_with(K=(1000.0, 0.0, 1000.0 * b_a2 / amplitude**2))
    step = 2e-6
    track, _, _ = runge_kutta(
        (0.0, 0.0, 0.0, amplitude), np.zeros(80_001), step, coefficients_of(d, 0.0), d.x_range
    )
    x = track[:, 2]
    falling = np.flatnonzero((x[:-1] > 0) & (x[1:] <= 0))
    crossing = falling + x[falling] / (x[falling] - x[falling + 1])
    period = step * (crossing[-1] - crossing[0]) / (len(crossing) - 1)
    assert (2 * math.pi / period) / math.sqrt(1000.0 / 1e-3) == pytest.approx(ratio, rel=2e-6)
    energy = 0.5 * d.Mms * track[:, 1] ** 2 + 0.5 * 1000.0 * x**2 + 0.25 * d.K[2] * x**4
    np.testing.assert_allclose(energy, energy[0], rtol=1e-8)


def quasi_static(d: DriverModel, force_n: float) -> NDArray[np.complex128]:
    """Displacement: DC, first to third harmonic (real parts count) of a slow force; resonance lies 1600 times above."""
    f, steps = 0.1, 400_000
    grid = np.arange(2 * steps + 1) / (2 * steps) * 2 / f
    voltage = force_n * d.Re / d.Bl[0] * np.cos(2 * np.pi * f * grid) * np.clip(grid * f / 0.5, 0, 1)
    track, _, stopped = runge_kutta((0.0,) * 4, voltage, grid[2], coefficients_of(d, 0.0), d.x_range)
    assert stopped == -1
    return np.fft.rfft(track[steps // 2 :, 2])[:4] * 2 / (steps // 2) / [2, 1, 1, 1]


@pytest.mark.parametrize(
    ("q", "x1", "x3_percent"), [(0.05, 0.966505, 1.0923), (0.1, 0.939061, 1.9533), (0.2, 0.895563, 3.2603)]
)
def test_quasi_static_cubic(q: float, x1: float, x3_percent: float) -> None:
    """Far below resonance x(1 + q x²) = cos wt: first and third harmonic, by solving the cubic and Fourier series."""
    d = driver_with(Rms=0.5, Bl=(0.01,), Re=1.0, K=(1000.0, 0.0, 1000.0 * q / 1e-3**2))
    found = np.abs(quasi_static(d, 1.0)) / 1e-3
    assert found[1] == pytest.approx(x1, rel=2e-5)
    assert 100 * found[3] / found[1] == pytest.approx(x3_percent, abs=2e-3)
    assert found[2] == pytest.approx(0.0, abs=1e-5)


def test_quasi_static_quadratic() -> None:
    """Far below resonance x(1 + 0.1 x) = cos wt: shift -0.052019, second harmonic 5.1890 % (same method)."""
    d = driver_with(Rms=0.5, Bl=(0.01,), Re=1.0, K=(1000.0, 1000.0 * 0.1 / 1e-3), x_range=(-5e-3, 5e-3))
    found = quasi_static(d, 1.0) / 1e-3
    assert found[0].real == pytest.approx(-0.052019, abs=2e-5)
    assert 100 * abs(found[2]) / abs(found[1]) == pytest.approx(5.1890, abs=2e-3)


def test_reluctance_force() -> None:
    """A current of 2 A in dLe/dx = 0.05 H/m pulls with 0.100 N, towards more inductance (co-energy)."""
    d = driver_with(Re=1.0, Rms=1.0, Bl=(1e-9,), Le=(1e-3, 0.05), x_range=(-5e-3, 5e-3))
    track, _, _ = runge_kutta((0.0,) * 4, np.full(40_001, 2.0), 1e-5, coefficients_of(d, 0.0), d.x_range)
    assert track[-1, 0] == pytest.approx(2.0, rel=1e-9)
    assert track[-1, 2] * 1000.0 == pytest.approx(0.100, rel=1e-6)


def test_linear_limit(worked_driver: DriverModel) -> None:
    """At 0.01 V: 42 ohm at resonance, and the level of the efficiency above it, within 0.1 % (Small 1972, by hand)."""
    air = Air(1.2, 343.0)
    motion = play(worked_driver, tone(48.0, 0.01), RATE)
    z = 0.01 / abs(harmonics(motion.current_a, 48.0)[0])
    fs = small_signal(worked_driver, air).fs
    detuned = 6.0 + 36.0 / (1.0 + 1j * 3.651484 * (48.0 / fs - fs / 48.0))
    assert z == pytest.approx(abs(detuned), rel=1e-3)
    high = play(worked_driver, tone(1000.0, 0.01 * math.sqrt(2)), RATE)
    rms = abs(harmonics(high.acceleration_m_s2, 1000.0)[0]) / math.sqrt(2)
    level = float(spl(piston_pressure(rms, worked_driver.Sd, 1.0, air))) + 20 * math.log10(
        math.sqrt(8.0) / 0.01
    )
    assert level == pytest.approx(89.52374, abs=0.01)


def test_energy_balance(reference_driver: DriverModel) -> None:
    """Over whole periods, electrical power in equals heat in Re and R2 plus mechanical loss, to 1e-4.

    In R2 flows what does not flow in L2: u_R2 follows from the current by L2 and R2 in parallel.
    """
    d = reference_driver
    motion = play(d, tone(75.0, 4.0), RATE)
    window = slice(int(0.7 * RATE), int(1.7 * RATE))
    i, v = motion.current_a[window], motion.velocity_m_s[window]
    power_in = np.mean(motion.voltage_v[window] * i)
    s = 2j * np.pi * np.fft.rfftfreq(i.size, 1 / RATE)
    in_r2 = np.fft.irfft(np.fft.rfft(i) * s * d.L2 / (d.R2 + s * d.L2), i.size)
    out = d.Re * np.mean(i**2) + d.R2 * np.mean(in_r2**2) + d.Rms * np.mean(v**2)
    assert out == pytest.approx(power_in, rel=1e-4)


def test_series_resistance(reference_driver: DriverModel) -> None:
    """A shunt before the terminals takes its share: terminal voltage plus shunt voltage is the source."""
    source = tone(100.0, 2.0)
    motion = play(reference_driver, source, RATE, series_ohm=0.1)
    np.testing.assert_allclose(motion.voltage_v + 0.1 * motion.current_a, source, atol=1e-12)
    again = play(reference_driver, motion.voltage_v, RATE)
    np.testing.assert_allclose(again.current_a[:-960], motion.current_a[:-960], atol=1e-7)


def test_too_much_travel(reference_driver: DriverModel) -> None:
    """A voltage that drives the cone out of range is refused with time, travel and range."""
    with pytest.raises(
        TravelError, match=r"found -?4\.\d\d mm at 0\.\d+ s. Allowed: -4 mm to 4 mm"
    ) as caught:
        play(reference_driver, tone(30.0, 12.0), RATE)
    assert abs(caught.value.displacement_m) > 4e-3
    assert 0 < caught.value.time_s < 0.2


def test_bad_voltage(reference_driver: DriverModel) -> None:
    """A voltage with a hole in it, or none at all, is refused."""
    for bad in (np.array([0.0, np.nan]), np.zeros(0), np.zeros((2, 5))):
        with pytest.raises(InputError, match="must be one row of finite numbers"):
            play(reference_driver, bad, RATE)


def test_progress_and_cancel(reference_driver: DriverModel) -> None:
    """Progress runs from 0 to 1, and a request to stop is honoured."""
    seen: list[float] = []
    play(reference_driver, tone(100.0, 1.0, 1.0), RATE, progress=lambda done, what: seen.append(done))
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)
    assert len(seen) == 5
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        play(reference_driver, tone(100.0, 1.0), RATE, progress=token.wrap(silent))


def test_pieces_do_not_show(reference_driver: DriverModel) -> None:
    """The signal is solved in pieces; a length that is no multiple of the piece gives the same start and full length."""
    source = tone(100.0, 2.0, 1.013)
    whole, cut = play(reference_driver, source, RATE), play(reference_driver, source[:40_001], RATE)
    assert cut.current_a.shape == (40_001,)
    np.testing.assert_allclose(cut.displacement_m[:39_000], whole.displacement_m[:39_000], atol=1e-12)


@pytest.mark.parametrize("rate", [50.0, 400.0])
def test_slow_sampling(reference_driver: DriverModel, rate: float) -> None:
    """A voltage sampled slowly is played whole: held steady, the cone rests where Bl(x) i + Le'(x) i²/2 = K(x) x."""
    motion = play(reference_driver, np.ones(math.ceil(8 * rate)), rate)
    assert motion.displacement_m.shape == (math.ceil(8 * rate),)
    current = 1.0 / reference_driver.Re
    value, slope = np.polynomial.polynomial.polyval, np.polynomial.polynomial.polyder

    def force(x: float) -> float:
        magnetic = value(x, reference_driver.Bl) * current
        magnetic += 0.5 * value(x, slope(reference_driver.Le)) * current**2
        return float(magnetic - value(x, reference_driver.K) * x)

    middle = motion.displacement_m[math.ceil(4 * rate)]
    assert middle == pytest.approx(brentq(force, 0.0, 3e-3), rel=2e-3)
