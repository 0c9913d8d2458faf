"""Two-level spread against published analyses of variance and a general-purpose statistics library."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import f_oneway

from halfroll.figures.spread import pool, two_level


def ten_days_of_five() -> dict[str, list[float]]:
    """The Zener voltage standard of JCGM 100:2008 H.5 (daily means and standard deviations, from memory), in µV above
    10 V: five values with each day's mean and standard deviation.
    """
    means = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
    deviations = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]
    pattern = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    pattern /= pattern.std(ddof=1)
    return {f"day {i}": list(m + s * pattern) for i, (m, s) in enumerate(zip(means, deviations, strict=True))}


def test_gum_h5_analysis_of_variance() -> None:
    """JCGM 100:2008 H.5: mean 10.000 097 V, s of daily means 57 µV, pooled s within days 85 µV, component between
    days 43 µV, uncertainty of the mean 18 µV (all from memory).
    """
    found = two_level(ten_days_of_five())
    assert found.mean == pytest.approx(97.0, abs=0.5)
    assert found.between == pytest.approx(57.0, abs=0.5)
    assert found.within == pytest.approx(85.0, abs=0.5)
    assert found.component == pytest.approx(43.0, abs=0.6)
    assert found.between / math.sqrt(10) == pytest.approx(18.0, abs=0.5)
    assert (found.within_dof, found.n_units) == (40, 10)


def test_f_ratio_agrees_with_scipy() -> None:
    """K s²(means)/s_r² is the F of one-way analysis of variance as SciPy computes it (H.5 prints 2.25)."""
    data = ten_days_of_five()
    found = two_level(data)
    ratio = 5 * found.between**2 / found.within**2
    assert ratio == pytest.approx(f_oneway(*data.values()).statistic)
    assert ratio == pytest.approx(2.25, abs=0.02)


def test_by_hand() -> None:
    """Two units of two takes: means 2 and 5, within √((2+2)/2) = √2, between 3/√2."""
    found = two_level({"a": [1.0, 3.0], "b": [4.0, 6.0]})
    assert (found.mean, found.within, found.between) == pytest.approx((3.5, math.sqrt(2), 3 / math.sqrt(2)))


def test_unlike_numbers_of_takes() -> None:
    """The version's mean is the mean of units, not of takes: a unit measured often does not count more."""
    found = two_level({"a": [1.0] * 9, "b": [3.0]})
    assert found.mean == 2.0
    assert found.mean_inverse_count == pytest.approx((1 / 9 + 1) / 2)


def test_what_cannot_be_told() -> None:
    """One take tells no spread; one unit none between; single takes none within."""
    single = two_level({"a": [1.0]})
    assert (single.within, single.between, single.component) == (None, None, None)
    assert two_level({"a": [1.0, 2.0]}).between is None
    assert two_level({"a": [1.0], "b": [2.0]}).within is None


def test_variance_of_an_unbalanced_mean_is_unbiased() -> None:
    """Simulated with 1, 2 and 6 takes: s²(unit means)/m is on average the true variance of the mean of unit means."""
    rng = np.random.default_rng(5)
    counts, n = (1, 2, 6), 4000
    units = [rng.normal(0, 1, n) + rng.normal(0, 2, (k, n)).mean(axis=0) for k in counts]
    estimated = np.mean(
        [two_level(dict(enumerate([[u] for u in row]))).between ** 2 / 3 for row in zip(*units, strict=True)]
    )
    truth = sum(1 + 4 / k for k in counts) / 9
    assert estimated == pytest.approx(truth, rel=0.05)


def test_pooled_spread_is_auto83b() -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B: s 6.41470 of 249 and 6.10771 of 79 pool to 6.34260 with 326 degrees
    of freedom.
    """
    pooled = pool(
        [two_level(sample(249, 20.14458, 6.41470)), two_level(sample(79, 30.48101, 6.10771))], relative=False
    )
    assert pooled.component == pytest.approx(6.34260, abs=5e-6)
    assert pooled.dof == 326


def test_pooling_relative_to_the_mean() -> None:
    """Units that scatter by 3 % at 60 Hz and at 100 Hz pool to 3 %."""
    pooled = pool([two_level(sample(5, 60.0, 1.8)), two_level(sample(3, 100.0, 3.0))], relative=True)
    assert pooled.component == pytest.approx(0.03)


def test_nothing_to_pool() -> None:
    """Single units say nothing about the spread between units."""
    assert pool([two_level({"a": [1.0, 2.0]})], relative=False) is None


@given(
    st.lists(st.lists(st.floats(-100, 100), min_size=1, max_size=4), min_size=1, max_size=5),
    st.floats(-10, 10),
)
def test_shift_changes_no_spread(values: list[list[float]], shift: float) -> None:
    """Adding a constant moves the mean and no spread."""
    one = two_level(dict(enumerate(values)))
    two = two_level({k: [x + shift for x in v] for k, v in enumerate(values)})
    assert two.mean == pytest.approx(one.mean + shift, abs=1e-9)
    for a, b in ((one.within, two.within), (one.between, two.between)):
        assert (a is None) == (b is None)
        assert a is None or a == pytest.approx(b, abs=1e-9)


def sample(n: int, mean: float, deviation: float) -> dict[int, list[float]]:
    """Units with exactly this mean and standard deviation, one take each."""
    x = np.random.default_rng(1).standard_normal(n)
    x = (x - x.mean()) / x.std(ddof=1)
    return {i: [mean + deviation * v] for i, v in enumerate(x)}
