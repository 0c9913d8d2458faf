"""Limits of the usable range: the worked example of IEC 60268-5, troughs, ends, and invariance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.figures.limits import usable_range
from tests.figures.make import GRID, level_of_corners

BAND = (200.0, 2000.0)
SKIRTS = [(50.0, 80.0), (80.0, 90.0), (15000.0, 90.0), (18000.0, 80.0)]


def test_effective_range() -> None:
    """Flat 90 dB with straight skirts from 90 to 80 dB between 80 and 50 Hz and 15 and 18 kHz: 50 Hz to 18 kHz
    (IEC 60268-5 cl. 21.2, after a secondary transcription).
    """
    found = usable_range(GRID, level_of_corners(SKIRTS), "effective", BAND)
    assert found is not None
    assert found.low.hz == pytest.approx(50.0, rel=2e-3)
    assert found.high.hz == pytest.approx(18000.0, rel=2e-3)
    assert found.reference_db == pytest.approx(90.0)
    assert found.low.slope_db_per_octave == pytest.approx(10.0 / np.log2(80 / 50), rel=1e-6)


@pytest.mark.parametrize(("rule", "drop"), [("minus_3", 3.0), ("minus_6", 6.0), ("minus_10", 10.0)])
def test_fixed_drops(rule: str, drop: float) -> None:
    """On a straight skirt in lg f each drop is reached in proportion."""
    found = usable_range(GRID, level_of_corners(SKIRTS), rule, BAND)  # type: ignore[arg-type]
    assert found is not None
    assert found.low.hz == pytest.approx(80.0 * (50 / 80) ** (drop / 10), rel=2e-3)
    assert found.octave_centre_hz is None


def test_butterworth_corner() -> None:
    """A second-order Butterworth high-pass at 60 Hz is 3.01 dB down at 60 Hz and 10 dB down where (60/f)⁴ = 9."""
    level = 90.0 - 10 * np.log10(1 + (60.0 / GRID) ** 4)
    three = usable_range(GRID, level, "minus_3", (1000.0, 10000.0))
    ten = usable_range(GRID, level, "minus_10", (1000.0, 10000.0))
    assert three is not None
    assert ten is not None
    assert three.low.hz == pytest.approx(60.0, rel=2e-3)
    assert ten.low.hz == pytest.approx(60.0 / 9**0.25, rel=1e-3)


def test_best_octave_is_found_and_named() -> None:
    """A hump of an octave about 1 kHz is the region of maximum sensitivity; the rest lies 12 dB below and is out."""
    level = np.where((GRID > 700) & (GRID < 1430), 96.0, 84.0)
    found = usable_range(GRID, level, "effective", BAND)
    assert found is not None
    assert found.octave_centre_hz == pytest.approx(1000.0, rel=0.02)
    assert found.reference_db == pytest.approx(96.0, abs=0.05)
    assert found.low.hz == pytest.approx(700.0, rel=0.02)
    assert found.high.hz == pytest.approx(1430.0, rel=0.02)


@pytest.mark.parametrize(("width", "lower"), [(1 / 12, 50.0), (1 / 6, 300.0 * 2 ** (1 / 12))])
def test_narrow_troughs_are_ignored(width: float, lower: float) -> None:
    """A trough of 1/12 octave at 300 Hz does not end the range, one of 1/6 octave does (limit 1/9, cl. 21.2)."""
    level = level_of_corners(SKIRTS) + np.exp(-(np.log2(GRID / 1000.0) ** 2))
    level = np.where(np.abs(np.log2(GRID / 300.0)) < width / 2, 60.0, level)
    found = usable_range(GRID, level, "effective", BAND)
    assert found is not None
    assert found.low.hz == pytest.approx(lower, rel=0.06)


def test_not_reached() -> None:
    """A flat curve ends with its range, and that is not a limit."""
    found = usable_range(GRID, np.full(len(GRID), 90.0), "effective", BAND)
    assert found is not None
    assert (found.low.reached, found.high.reached) == (False, False)
    assert (found.low.hz, found.high.hz) == pytest.approx((GRID[0], GRID[-1]))


def test_band_that_starts_on_the_skirt() -> None:
    """When the band's edge is already below the limit's level, the limit lies inside the band."""
    level = level_of_corners([(200.0, 70.0), (400.0, 90.0), (15000.0, 90.0), (18000.0, 80.0)])
    found = usable_range(GRID, level, "minus_3", BAND)
    assert found is not None
    assert 200.0 < found.low.hz < 400.0


def test_too_short() -> None:
    """Less than an octave has no best octave; a curve outside the band has no band mean."""
    short = GRID[:40]
    assert usable_range(short, np.full(40, 90.0), "effective", BAND) is None
    assert usable_range(short, np.full(40, 90.0), "minus_3", BAND) is None


@given(st.floats(-60.0, 60.0), st.sampled_from(["effective", "minus_3", "minus_6", "minus_10"]))
def test_gain_moves_no_limit(gain_db: float, rule: str) -> None:
    """Limits are relative: a louder curve has the same."""
    level = level_of_corners(SKIRTS) + 2.0 * np.sin(3 * np.log2(GRID))
    one = usable_range(GRID, level, rule, BAND)  # type: ignore[arg-type]
    two = usable_range(GRID, level + gain_db, rule, BAND)  # type: ignore[arg-type]
    assert one is not None
    assert two is not None
    assert (two.low.hz, two.high.hz) == pytest.approx((one.low.hz, one.high.hz), rel=1e-9)


@given(st.integers(-48, 48))
def test_shift_in_frequency_shifts_the_limit(steps: int) -> None:
    """A curve moved along lg f by some grid steps has its limits moved as far."""
    one = usable_range(GRID[60:-60], level_of_corners(SKIRTS, GRID[60:-60]), "effective", BAND)
    shifted = level_of_corners(
        [
            (f * 2 ** (steps / 48), db)
            for f, db in [(90.0, 80.0), (150.0, 90.0), (3000.0, 90.0), (5000.0, 80.0)]
        ]
    )
    two = usable_range(GRID, shifted, "effective", BAND)
    assert one is not None
    assert two is not None
    assert two.low.hz == pytest.approx(90.0 * 2 ** (steps / 48), rel=2e-3)
    assert two.high.hz == pytest.approx(5000.0 * 2 ** (steps / 48), rel=2e-3)
