"""Distortion against level, and the highest level under a limit."""

import math

import numpy as np
import pytest

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError, RefusedError
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.recording import Recording
from halfroll.measure.stepped.highest_level import highest_level
from halfroll.measure.stepped.level_series import LevelCurve, at_frequency, over_band, series_of_tones
from halfroll.measure.stepped.level_takes import series_of_takes
from halfroll.measure.stepped.tone_analysis import analyse_tones
from halfroll.measure.stepped.tone_run import measure_tones
from halfroll.measure.stepped.tones import TonePlan, ToneSettings, level_steps
from tests.measure.test_tones_truth import CONDITIONS, TRUTH, reference_driver
from tests.measure.tone_players import RATE, ROLES, SCALES, V_PER_FULL_SCALE, DriverPlayer


def curve(thd, level_v, u=None, bound=None, spl_db=None):
    """A curve from its numbers."""
    n = len(thd)
    return LevelCurve(
        name="100 Hz", level_v=np.array(level_v), thd=np.array(thd), thd_u=np.array(u or [0.0] * n),
        is_bound=np.array(bound or [False] * n), spl_db=np.array(spl_db or [np.nan] * n), spl_u_db=np.zeros(n), at_hz=100.0,
    )  # fmt: skip


def test_a_power_law_is_found_exactly():
    """THD of 1 % at 1 V that goes with the square of the voltage reaches 3 % at sqrt(3) V and 10 % at sqrt(10) V."""
    volts = [0.5, 1.0, 2.0, 4.0]
    law = curve([0.01 * v**2 for v in volts], volts, spl_db=[80 + 20 * math.log10(v) for v in volts])
    for limit in (0.03, 0.10):
        found = highest_level(law, limit, 4.0)
        expected = math.sqrt(100 * limit)
        assert found.level_v == pytest.approx(expected, rel=1e-9)
        assert found.level_w == pytest.approx(expected**2 / 4.0, rel=1e-9)
        assert found.spl_db == pytest.approx(80 + 20 * math.log10(expected), abs=1e-9)
        assert found.bound is None
        assert found.level_u_db == pytest.approx(0.0, abs=1e-9)


def test_uncertainty_of_thd_goes_into_the_level():
    """With THD ~ U², 10 % of THD are 5 % of U at the upper drive, 0.42 dB, when the limit lies on it."""
    found = highest_level(curve([0.01, 0.04, 0.16], [1.0, 2.0, 4.0], u=[0.0, 0.004, 0.0]), 0.04)
    assert found.level_v == pytest.approx(2.0)
    assert found.level_u_db == pytest.approx(20 * 0.05 / math.log(10), rel=1e-3)


def test_bounds_are_said():
    """Never reached: at least the highest drive; passed at once: at most the lowest."""
    never = highest_level(curve([0.01, 0.02], [1.0, 2.0]), 0.1, 4.0)
    assert (never.bound, never.level_v, never.level_u_db) == ("lower", 2.0, None)
    at_once = highest_level(curve([0.2, 0.4], [1.0, 2.0]), 0.1)
    assert (at_once.bound, at_once.level_v) == ("upper", 1.0)


def test_a_bound_on_thd_is_no_value():
    """Under the noise at the lower drive: the crossing is only known to an interval; above the limit it says nothing."""
    found = highest_level(curve([0.02, 0.08], [1.0, 2.0], bound=[True, False]), 0.04)
    by_bound = math.sqrt(2.0)  # where the line from the bound crosses
    assert by_bound < found.level_v < 2.0
    assert found.level_u_db == pytest.approx(20 * math.log10(2.0 / by_bound) / 2 / math.sqrt(3.0), rel=1e-6)
    noisy = highest_level(curve([0.2, 0.02, 0.08], [0.5, 1.0, 2.0], bound=[True, False, False]), 0.04)
    assert noisy.level_v == pytest.approx(by_bound)


def test_the_first_crossing_counts():
    """A rattle that comes and goes: the lowest drive that passes the limit ends what is allowed."""
    found = highest_level(curve([0.01, 0.2, 0.02, 0.4], [1.0, 2.0, 4.0, 8.0]), 0.1)
    assert 1.0 < found.level_v < 2.0


@pytest.mark.parametrize("limit", [0.0, -0.1, 3.0])
def test_a_limit_that_is_none_is_refused(limit):
    """A limit is a ratio above 0."""
    with pytest.raises(InputError, match="limit of distortion"):
        highest_level(curve([0.01, 0.2], [1.0, 2.0]), limit)


def test_nothing_known_is_refused():
    """A curve of bounds above the limit alone says nothing."""
    with pytest.raises(InputError, match="known"):
        highest_level(curve([0.2, 0.3], [1.0, 2.0], bound=[True, True]), 0.1)


@pytest.fixture(scope="module")
def driver_series():
    """0.1 to 3 W at five frequencies through the reference driver."""
    plan = TonePlan(
        frequency_hz=(40.0, 55.0, 75.0, 100.0, 140.0), level_v=tuple(np.sqrt(4.0 * np.array(level_steps(0.1, 3.0, 6)))),
        rate_hz=RATE, v_per_full_scale=V_PER_FULL_SCALE, limit_v=4.0, settings=ToneSettings(stop_thd=3.0, silence_s=0.1),
    )  # fmt: skip
    run = measure_tones(DriverPlayer(reference_driver()), plan, ROLES, SCALES)
    recording = Recording(samples=run.samples, rate_hz=RATE, roles=ROLES, scales=SCALES)
    return series_of_tones(analyse_tones(recording, run.schedule, CONDITIONS), "fundamental")


def test_the_series_meets_the_reference_at_its_end(driver_series):
    """At 3 W the THD of the series is that of the stored steady states (orders 2 to 5) within 2 %."""
    for i, f in enumerate((40, 55, 75, 100, 140)):
        expected = TRUTH[(f, math.sqrt(12.0))]["thd_pct"] / 100
        assert driver_series.thd[-1, i] == pytest.approx(expected, rel=0.02)


def steady_thd(driver, frequency, volts):
    """THD (orders 2 to 10 over the fundamental) of the driver's two equations by SciPy's Radau, last period."""
    from numpy.polynomial import polynomial as poly
    from scipy.integrate import solve_ivp

    le1 = poly.polyder(driver.Le)
    omega = 2 * math.pi * frequency

    def slopes(t, y):
        i, i2, v, x = y
        bl, k, le, dle = (poly.polyval(x, c) for c in (driver.Bl, driver.K, driver.Le, le1))
        drop = driver.R2 * (i - i2)
        di = (math.sqrt(2) * volts * math.cos(omega * t) - driver.Re * i - dle * v * i - drop - bl * v) / le
        dv = (bl * i + 0.5 * dle * i * i - driver.Rms * v - k * x) / driver.Mms
        return [di, drop / driver.L2, dv, v]

    periods, n = math.ceil(0.35 * frequency), 512
    end = periods / frequency
    times = end - 1 / frequency + np.arange(n) / n / frequency
    solved = solve_ivp(slopes, (0, end), [0, 0, 0, 0], method="Radau", rtol=1e-7, atol=1e-10, t_eval=times)
    acceleration = np.array([slopes(t, y)[2] for t, y in zip(solved.t, solved.y.T, strict=True)])
    lines = np.abs(np.fft.rfft(acceleration))[1:11]
    return float(np.linalg.norm(lines[1:]) / lines[0])


@pytest.mark.slow
@pytest.mark.parametrize(("index", "frequency", "limit"), [(1, 55.0, 0.10), (2, 75.0, 0.03)])
def test_the_highest_level_is_where_another_solver_reaches_the_limit(driver_series, index, frequency, limit):
    """At the level found, SciPy's Radau gives the limit within what the stated uncertainty of the level allows."""
    found = highest_level(at_frequency(driver_series, index), limit, 4.0)
    assert found.bound is None
    assert found.level_u_db < 0.5
    u = max(found.level_u_db, 0.03)
    low, high = (found.level_v * 10 ** (s * 1.96 * u / 20) for s in (-1, 1))
    driver = reference_driver()
    assert steady_thd(driver, frequency, low) < limit < steady_thd(driver, frequency, high)


def test_a_band_is_the_mean_of_its_octaves(driver_series):
    """Over a band whose THD is everywhere the same the mean is that; a band hardly touched is refused."""
    flat = driver_series.__class__(**{**vars(driver_series), "thd": np.full_like(driver_series.thd, 0.05)})
    assert over_band(flat, (40.0, 150.0)).thd == pytest.approx(0.05)
    with pytest.raises(RefusedError, match="Too little of the band"):
        over_band(driver_series, (200.0, 2000.0))


def test_the_fundamental_is_compressed(driver_series):
    """Against the reference at 1 W and 3 W: 40 Hz loses what H1 of the stored steady states says, within 0.05 dB."""
    at_one, at_three = (TRUTH[(40, u)]["acc_m_s2"]["amp"][0] / u for u in (2.0, math.sqrt(12.0)))
    gain = driver_series.spl_db[:, 0] - 20 * np.log10(driver_series.level_v)
    one = np.interp(math.log10(2.0), np.log10(driver_series.level_v), gain)
    assert one - gain[-1] == pytest.approx(20 * math.log10(at_one / at_three), abs=0.05)


def test_sweeps_and_tones_agree(driver_series):
    """A sweep of the same driver at 1 W and 3 W gives the THD of the tones within 0.3 points or 5 %."""
    from halfroll.measure.sweep import Sweep

    sweep = Sweep(duration_s=5.0, silence_before_s=0.3, silence_after_s=0.5)
    player = DriverPlayer(reference_driver())
    takes = {}
    for name, volts in (("1w", 2.0), ("3w", math.sqrt(12.0))):
        samples = player.play(sweep.samples() * (math.sqrt(2.0) * volts / V_PER_FULL_SCALE / sweep.level))
        samples = samples + 1e-7 * np.random.default_rng(1).standard_normal(samples.shape)
        recording = Recording(samples=samples, rate_hz=RATE, roles=ROLES, scales=SCALES)
        conditions = Conditions(drive_v=volts, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=4.0)
        takes[name] = analyse(recording, sweep, conditions, AnalysisSettings(gate="none"))
    series = series_of_takes(takes, "fundamental")
    assert series.level_v == pytest.approx([2.0, math.sqrt(12.0)], rel=0.01)
    for f in driver_series.frequency_hz:
        for level in (0, 1):
            at = np.interp(math.log(f), np.log(series.frequency_hz), series.thd[level])
            expected = TRUTH[(round(f), (2.0, math.sqrt(12.0))[level])]["thd_pct"] / 100
            assert at == pytest.approx(expected, abs=max(0.003, 0.05 * expected)), f
    assert len(driver_series.frequency_hz) == 5


def test_takes_at_one_level_are_no_series():
    """Two takes at the same drive do not say how distortion grows."""
    from tests.measure.conftest import load_response

    one = load_response("main_clean.flac")
    with pytest.raises(RefusedError, match="two levels"):
        series_of_takes({"a": one, "b": one})
