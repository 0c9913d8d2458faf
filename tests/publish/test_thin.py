"""Thinning keeps what the eye would see."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from halfroll.publish.thin import thinned

VALUES = arrays(np.float64, st.integers(3, 400), elements=st.floats(-1e6, 1e6) | st.just(float("nan")))


@given(VALUES, st.integers(1, 60), st.integers(0, 2**31))
def test_no_extreme_of_any_column_is_lost(value: np.ndarray, columns: int, seed: int) -> None:
    """In every pixel column the lowest, highest, first and last point of the full curve are still there."""
    position = np.cumsum(np.random.default_rng(seed).exponential(size=value.size))
    kept = thinned(position, value, columns=columns)
    column = np.minimum(((position - position[0]) / np.ptp(position) * columns).astype(int), columns - 1)
    for c in np.unique(column):
        full, thin = value[column == c], value[kept[column[kept] == c]]
        assert np.array_equal([full[0], full[-1]], [thin[0], thin[-1]], equal_nan=True)
        if np.any(np.isfinite(full)):
            assert np.nanmin(full) == np.nanmin(thin)
            assert np.nanmax(full) == np.nanmax(thin)


@given(arrays(np.float64, 3000, elements=st.floats(-1, 1)), st.integers(10, 300))
def test_no_more_points_than_the_width_can_show(value: np.ndarray, columns: int) -> None:
    """At most four points a column for one curve, in order and without repeats."""
    kept = thinned(np.arange(3000.0), value, columns=columns)
    assert kept.size <= 4 * columns
    assert np.all(np.diff(kept) > 0)


def test_a_gap_stays_a_gap() -> None:
    """Missing points between two stretches are not bridged."""
    value = np.ones(1000)
    value[400:420] = np.nan
    kept = thinned(np.arange(1000.0), value, columns=5)
    assert np.isnan(value[kept]).any()
    assert {399, 400, 419, 420} <= set(kept.tolist())


def test_several_curves_share_their_points() -> None:
    """A spike in any of them is kept for all."""
    flat, spiked = np.zeros(1000), np.zeros(1000)
    spiked[617] = 5.0
    assert 617 in thinned(np.arange(1000.0), flat, spiked, columns=10)


def test_short_curves_are_left_alone() -> None:
    """Fewer points than two a column: all stay."""
    assert np.array_equal(thinned(np.arange(50.0), np.zeros(50), columns=40), np.arange(50))
