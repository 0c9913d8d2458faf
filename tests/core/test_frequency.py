"""Frequency grids against IEC 61260-1:2014 and ISO 266."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.core.frequency import (
    OCTAVE_NOMINAL_HZ,
    THIRD_OCTAVE_NOMINAL_HZ,
    band_centre,
    band_edges,
    in_band,
    interpolate_log,
    log_grid,
    octave_weights,
    octaves,
)

# IEC 61260-1:2014 cl. 5.4 gives 1000 * 10^(n/10); the standard's table of exact mid-bands, to five figures.
THIRD_OCTAVE_EXACT_HZ = [
    (20, 19.953), (25, 25.119), (31.5, 31.623), (40, 39.811), (50, 50.119), (63, 63.096), (80, 79.433),
    (100, 100.000), (125, 125.893), (160, 158.489), (200, 199.526), (250, 251.189), (315, 316.228), (400, 398.107),
    (500, 501.187), (630, 630.957), (800, 794.328), (1000, 1000.000), (1250, 1258.925), (1600, 1584.893),
    (2000, 1995.262), (2500, 2511.886), (3150, 3162.278), (4000, 3981.072), (5000, 5011.872), (6300, 6309.573),
    (8000, 7943.282), (10000, 10000.000), (12500, 12589.254), (16000, 15848.932), (20000, 19952.623),
]  # fmt: skip


@pytest.mark.parametrize(("nominal", "exact"), THIRD_OCTAVE_EXACT_HZ)
def test_third_octave_mid_bands(nominal: float, exact: float) -> None:
    """Exact third-octave mid-bands of IEC 61260-1:2014, each with the nominal label of ISO 266."""
    index = round(10 * np.log10(nominal / 1000.0))
    assert band_centre(index, 3) == pytest.approx(exact, abs=6e-4)
    assert nominal in THIRD_OCTAVE_NOMINAL_HZ


def test_band_edges_at_one_kilohertz() -> None:
    """Edges of the 1 kHz bands, IEC 61260-1:2014 cl. 5.6."""
    assert band_edges(1000.0, 3) == pytest.approx((891.251, 1122.018), abs=1e-3)
    assert band_edges(1000.0, 1) == pytest.approx((707.946, 1412.538), abs=1e-3)


@pytest.mark.parametrize(("per_octave", "first_above"), [(6, 1059.254), (12, 1029.2005), (24, 1014.495)])
def test_even_fractions_straddle_one_kilohertz(per_octave: int, first_above: float) -> None:
    """With an even number of bands an octave, 1 kHz is an edge and not a mid-band (cl. 5.4)."""
    assert band_centre(0, per_octave) == pytest.approx(first_above, abs=1e-3)
    assert band_edges(band_centre(0, per_octave), per_octave)[0] == pytest.approx(1000.0)


def test_octave_marks_are_the_preferred_ones() -> None:
    """Octave marks of ISO 266."""
    assert OCTAVE_NOMINAL_HZ == (16, 31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000)


def test_octaves_from_136_to_52_hz() -> None:
    """136 Hz to 52 Hz is 1.39 octaves (common practice, no source)."""
    assert octaves(136.0, 52.0) == pytest.approx(1.39, abs=0.005)


@given(st.floats(10.0, 1000.0), st.floats(1001.0, 20000.0))
def test_grids_share_their_points(low: float, high: float) -> None:
    """Any two grids are cut from the same ladder: 1 kHz times whole steps of 1/48 octave."""
    grid = log_grid(low, high)
    steps = 48.0 * np.log2(grid / 1000.0)
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-9)
    assert grid[0] >= low * (1 - 1e-9)
    assert grid[-1] <= high * (1 + 1e-9)
    assert grid[0] < low * 2 ** (1 / 48) * (1 + 1e-9)


@pytest.mark.parametrize("band", [(0.0, 100.0), (-1.0, 5.0), (200.0, 100.0)])
def test_a_range_that_is_none_is_refused(band: tuple[float, float]) -> None:
    """A range must be positive and ascending."""
    with pytest.raises(InputError, match="positive and ascending"):
        log_grid(*band)


def test_no_band_of_no_octave() -> None:
    """Fractions of an octave start at one."""
    with pytest.raises(InputError, match="1 or more; found 0"):
        band_centre(1, 0)


def test_band_includes_its_edges() -> None:
    """Points on the edge count, rounding notwithstanding."""
    assert in_band(np.array([99.0, 100.0, 150.0, 200.0, 201.0]), (100.0, 200.0)).tolist() == [0, 1, 1, 1, 0]


def test_interpolation_is_straight_over_lg_f() -> None:
    """Half-way in lg f between 100 and 400 Hz is 200 Hz; outside nothing is known."""
    found = interpolate_log(np.array([100.0, 400.0]), np.array([0.0, 10.0]), [50.0, 200.0, 500.0])
    assert found[1] == pytest.approx(5.0)
    assert np.isnan(found[[0, 2]]).all()


@given(st.floats(20.0, 200.0), st.floats(400.0, 20000.0))
def test_weights_of_octaves(low: float, high: float) -> None:
    """Weights sum to 1 and give the mean of lg f over a band exactly: its geometric middle."""
    grid = log_grid(low, high)
    weights = octave_weights(grid, (low, high))
    assert weights.sum() == pytest.approx(1.0)
    assert (weights > 0).all()
    assert weights @ np.log(grid) == pytest.approx(0.5 * np.log(low * high), abs=2e-4)
