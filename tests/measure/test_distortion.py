"""THD(f) against its definition, and the statistics of what lies under the noise."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from halfroll.core.frequency import log_grid
from halfroll.measure.analysis.distortion import RESOLVED_POWER, harmonic_distortion, upper_limit_power
from tests.figures.make import make_response

GRID = log_grid(40.0, 150.0)
P1 = 20e-6 * 10 ** (90 / 20)


def with_harmonics(shares, noise=0.0, **more):
    """A response at 90 dB with harmonics as shares of the fundamental and noise as a share of it."""
    return make_response(90.0, harmonics=shares, noise_pa=noise * P1, frequency_hz=GRID, **more)


def test_three_and_four_percent() -> None:
    """H2 3 % and H3 4 % of the fundamental: 5.000 % over the fundamental, 4.9938 % over the total (IEC 60268-5
    cl. 24.1, formula from memory).
    """
    response = with_harmonics({2: 0.03, 3: 0.04j})
    assert harmonic_distortion(response, "fundamental").thd == pytest.approx(0.05, abs=1e-12)
    assert harmonic_distortion(response, "total").thd == pytest.approx(0.049938, abs=5e-7)


def test_orders() -> None:
    """d_n = p_n/p_t (IEC 60268-5 cl. 24.2, from memory): 1 % is -40 dB."""
    found = harmonic_distortion(with_harmonics({2: 0.01}), "fundamental")
    assert 20 * np.log10(found.order_ratio[0]) == pytest.approx(-40.0)
    assert found.order_ratio[1:] == pytest.approx(0.0)


def test_noise_power_is_taken_off() -> None:
    """A resolved order of measured power 20 σ² has a signal power of 19 σ²."""
    sigma = 1e-3
    found = harmonic_distortion(with_harmonics({2: np.sqrt(20) * sigma}, noise=sigma), "fundamental")
    assert found.order_ratio[0] == pytest.approx(np.sqrt(19) * sigma, rel=1e-5)
    assert not found.order_is_bound[0].any()


def test_orders_under_the_noise_are_bounds() -> None:
    """With every harmonic under the noise THD is a bound, and no order is a result."""
    found = harmonic_distortion(with_harmonics({2: 0.002, 3: 0.001}, noise=0.002))
    assert found.is_bound.all()
    assert found.order_is_bound.all()
    assert (found.thd == found.upper).all()
    assert (found.upper > 0.0022).all()


def test_a_strong_order_makes_a_result_of_the_sum() -> None:
    """H2 at 5 % with the rest under 0.02 % of noise is a value; the others stay bounds one by one."""
    found = harmonic_distortion(with_harmonics({2: 0.05}, noise=0.0002))
    assert not found.is_bound.any()
    assert found.thd == pytest.approx(0.05 / np.hypot(1, 0.05), rel=1e-3)
    assert (found.u > 0).all()
    assert found.order_is_bound[1:].all()


def test_unknown_noise_gives_a_bound() -> None:
    """Without silence nobody knows what of a harmonic is noise."""
    found = harmonic_distortion(with_harmonics({2: 0.05}, noise=np.nan), "fundamental")
    assert found.is_bound.all()
    assert found.thd == pytest.approx(0.05)


def test_orders_beyond_the_recording_are_left_out() -> None:
    """An order that was not recorded does not count and is named."""
    shares = {2: 0.03, 3: np.full(len(GRID), np.nan)}
    found = harmonic_distortion(with_harmonics(shares), "fundamental")
    assert found.thd == pytest.approx(0.03)
    assert found.left_out[1].all()
    assert not found.left_out[0].any()


def test_nothing_recorded_is_no_value() -> None:
    """With every order beyond the recording there is no distortion figure, not zero."""
    none = np.full(len(GRID), np.nan)
    assert np.isnan(harmonic_distortion(with_harmonics(dict.fromkeys(range(2, 11), none))).thd).all()


def test_a_fundamental_under_the_noise_has_no_distortion() -> None:
    """A ratio to something not measured is not formed."""
    assert np.isnan(harmonic_distortion(with_harmonics({2: 0.03}, noise=0.5)).thd).all()


def test_limit_of_an_empty_order() -> None:
    """Noise power is exponentially distributed: P(power > 3 σ²) = e⁻³ = 5 %, so an empty order allows 3.00 σ²."""
    assert upper_limit_power(np.zeros(1), np.ones(1)) == pytest.approx(-np.log(0.05), rel=1e-3)


def test_limit_of_a_strong_order_is_gaussian() -> None:
    """Far above the noise the estimate of the amplitude is normal with σ/√2: limit (√h + 1.645/√2)² σ².

    At h = 10 that is still 4 % from the exact non-central χ² limit.
    """
    height = RESOLVED_POWER
    expected = (np.sqrt(height) + 1.6449 / np.sqrt(2)) ** 2
    assert upper_limit_power(np.array([height]), np.ones(1)) == pytest.approx(expected, rel=0.04)


@pytest.mark.parametrize("power", [0.0, 0.5, 1.0, 3.0, 6.0, 12.0])
def test_limit_covers_the_truth(power: float) -> None:
    """Simulated: a signal of given power in complex Gaussian noise lies under its limit in at least 95 % of draws."""
    rng = np.random.default_rng(7)
    noise = (rng.standard_normal(20000) + 1j * rng.standard_normal(20000)) / np.sqrt(2)
    seen = np.abs(np.sqrt(power) + noise) ** 2
    limit = upper_limit_power(np.minimum(seen, RESOLVED_POWER), np.ones_like(seen))
    covered = np.mean((limit >= power) | (seen >= RESOLVED_POWER))
    assert covered >= 0.945


@pytest.mark.parametrize("share", [0.0, 0.3, 1.0, 2.0, 4.0, 10.0])
def test_thd_limit_covers_the_truth(share: float) -> None:
    """Simulated with nine noisy orders: the true THD lies under `upper` in at least 95 % of draws."""
    rng = np.random.default_rng(11)
    n, sigma = 4000, 1e-3
    grid = 1000.0 * 2.0 ** (np.arange(n) / 1e4)
    truth = sigma * share / np.arange(1, 10)[:, None] * np.ones(n)
    noise = sigma * (rng.standard_normal((9, n)) + 1j * rng.standard_normal((9, n))) / np.sqrt(2)
    shares = dict(zip(range(2, 11), truth + noise, strict=True))
    response = make_response(90.0, harmonics=shares, noise_pa=sigma * P1, frequency_hz=grid)
    found = harmonic_distortion(response, "fundamental")
    assert np.mean(found.upper >= np.sqrt((truth[:, 0] ** 2).sum())) >= 0.945


def test_uncertainty_covers_the_truth() -> None:
    """Simulated at 20 dB over the noise: the true THD lies within 2 u in about 95 % of draws."""
    rng = np.random.default_rng(3)
    n, sigma = 4000, 1e-3
    grid = 1000.0 * 2.0 ** (np.arange(n) / 1e4)
    noise = sigma * (rng.standard_normal((2, n)) + 1j * rng.standard_normal((2, n))) / np.sqrt(2)
    none = np.full(n, np.nan)
    shares = {2: 0.03 + noise[0], 3: 0.01 + noise[1], **dict.fromkeys(range(4, 11), none)}
    response = make_response(90.0, harmonics=shares, noise_pa=sigma * P1, frequency_hz=grid)
    found = harmonic_distortion(response, "fundamental")
    assert not found.is_bound.any()
    covered = np.mean(np.abs(found.thd - np.hypot(0.03, 0.01)) <= 1.96 * found.u)
    assert covered == pytest.approx(0.95, abs=0.015)


@given(st.floats(1e-3, 1e3), st.floats(0.0, 0.3), st.floats(0.0, 0.3), st.floats(0.0, 0.01))
@example(1.0, 0.25, 0.0, 2.8e-157)
def test_gain_leaves_distortion_alone(gain: float, h2: float, h3: float, noise: float) -> None:
    """A louder or softer recording has the same distortion, bounds included."""
    one = harmonic_distortion(
        make_response(90.0, harmonics={2: h2, 3: h3}, noise_pa=noise * P1, frequency_hz=GRID)
    )
    level = 90.0 + 20 * np.log10(gain)
    two = harmonic_distortion(
        make_response(level, harmonics={2: h2, 3: h3}, noise_pa=noise * P1 * gain, frequency_hz=GRID)
    )
    np.testing.assert_allclose(two.upper, one.upper, rtol=1e-6, atol=1e-12)
