"""Levels: reference values by definition (ISO 1683) and energetic means (IEC 60268-5 cl. 20.1.2.4)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.levels import amplitude, db, db_sum, power_mean_db, spl


def test_one_pascal() -> None:
    """1 Pa is 93.9794 dB; 94 dB is 1.002374 Pa (20 µPa, ISO 1683)."""
    assert spl(1.0) == pytest.approx(93.9794, abs=5e-5)
    assert 20e-6 * amplitude(94.0) == pytest.approx(1.002374, abs=5e-7)


def test_energetic_mean() -> None:
    """The mean of 90 dB and 80 dB is 87.404 dB, not 85 (IEC 60268-5 cl. 20.1.2.4)."""
    assert power_mean_db([90.0, 80.0]) == pytest.approx(87.404, abs=5e-4)


def test_sums() -> None:
    """Two equal sources add 3.010 dB, ten add 10 dB."""
    assert db_sum([80.0, 80.0]) == pytest.approx(83.0103, abs=5e-5)
    assert db_sum([80.0] * 10) == pytest.approx(90.0)


def test_weights() -> None:
    """A level that weighs three times is like three levels."""
    assert power_mean_db([90.0, 80.0], [3, 1]) == pytest.approx(power_mean_db([90.0] * 3 + [80.0]))


def test_nothing_has_no_level() -> None:
    """Zero is minus infinity, without a warning."""
    assert db(0.0) == -math.inf


@given(st.floats(-200.0, 200.0))
def test_amplitude_undoes_db(level: float) -> None:
    """Level to amplitude and back is the identity."""
    assert db(amplitude(level)) == pytest.approx(level, abs=1e-9)


@given(st.lists(st.floats(-50.0, 150.0), min_size=1, max_size=20))
def test_mean_lies_between(levels: list[float]) -> None:
    """An energetic mean lies between the arithmetic mean and the highest level."""
    assert np.mean(levels) - 1e-9 <= power_mean_db(levels) <= max(levels) + 1e-9
