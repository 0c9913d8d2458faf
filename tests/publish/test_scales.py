"""Axes: ISO 266 marks, IEC 60263 proportions, round numbers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.publish.scales import (
    LEVEL_RATIOS_DB,
    LOG_RATIOS,
    Axis,
    frequency_axis,
    frequency_range,
    level_axis,
    level_height,
    linear_axis,
    log_axis,
    log_height,
    round_step,
    strip_axis,
    third_octave_marks,
)

AUDIBLE = (20.0, 20_000.0)


def test_frequency_marks_are_those_of_iso_266() -> None:
    """Octave marks through 1 kHz; third-octave marks between 100 Hz and 1 kHz as printed in ISO 266 (from memory)."""
    axis = frequency_axis(*AUDIBLE, width_px=700.0)
    assert axis.marks == (31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16_000.0)
    thirds = (100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0)
    assert third_octave_marks(100.0, 1000.0) == thirds


def test_narrow_charts_leave_marks_out_but_keep_1_khz() -> None:
    """Every second octave, 1 kHz among them."""
    assert frequency_axis(*AUDIBLE, width_px=250.0).marks == (63.0, 250.0, 1000.0, 4000.0, 16_000.0)


@pytest.mark.parametrize(
    ("ratio", "span_db", "width_to_height"),
    [(25.0, 50.0, 3 / 2), (50.0, 50.0, 3 / 1), (10.0, 30.0, 1.0), (20.0, 40.0, 3 / 2)],
)
def test_level_charts_have_iec_60263_proportions(
    ratio: float, span_db: float, width_to_height: float
) -> None:
    """IEC 60263:2020 cl. 4.1. 20 Hz to 20 kHz is three decades; at 25 dB per decade 50 dB are two decades tall."""
    assert 600.0 / level_height(600.0, AUDIBLE, span_db, ratio) == pytest.approx(width_to_height, rel=1e-12)


@given(
    st.sampled_from(LEVEL_RATIOS_DB), st.floats(10, 500), st.floats(2, 100), st.floats(100, 2000), st.floats(5, 200)
)  # fmt: skip
def test_one_decade_is_as_long_as_the_ratio_says(
    ratio: float, low_hz: float, times: float, width_px: float, span_db: float
) -> None:
    """For any range and size: pixels per decade equal pixels per decibel times the ratio."""
    height = level_height(width_px, (low_hz, low_hz * times), span_db, ratio)
    assert width_px / math.log10(times) == pytest.approx(height / span_db * ratio, rel=1e-9)


@pytest.mark.parametrize("ratio", LOG_RATIOS)
def test_log_charts_agree_with_the_decibel_ratios(ratio: float) -> None:
    """IEC 60263:2020 cl. 4.2: 0.5, 1, 1.25, 2.5 decades per decade are exactly 10, 20, 25, 50 dB per decade."""
    assert log_height(600.0, AUDIBLE, 2.0, ratio) == pytest.approx(
        level_height(600.0, AUDIBLE, 40.0, 20.0 * ratio)
    )


def test_other_proportions_are_refused_with_the_choices() -> None:
    """30 dB per decade is not in the standard."""
    with pytest.raises(InputError, match="10, 20, 25, 50"):
        level_height(600.0, AUDIBLE, 50.0, 30.0)
    with pytest.raises(InputError, match=r"0\.5, 1, 1\.25, 2\.5"):
        log_height(600.0, AUDIBLE, 2.0, 3.0)


@given(st.floats(10.0, 9000.0), st.floats(1.01, 100.0))
def test_frequency_range_holds_what_it_is_given(low_hz: float, times: float) -> None:
    """Ends are preferred frequencies that enclose the curve, within 20 kHz."""
    high_hz = min(low_hz * times, 20_000.0)
    low, high = frequency_range(low_hz, high_hz)
    assert low <= low_hz * 1.001
    assert high >= high_hz * 0.999
    assert {low, high} <= set(third_octave_marks(10.0, 20_000.0))


@given(st.lists(st.floats(-40, 130), min_size=1, max_size=30))
def test_level_axis_shows_the_highest_level(levels: list[float]) -> None:
    """The top lies above the highest level by less than 6 dB; no more than 50 dB are shown; marks are tens."""
    axis = level_axis(np.array(levels), title="")
    assert 0.0 < axis.high - max(levels) <= 6.0 + 1e-9
    assert 30.0 <= axis.high - axis.low <= 50.0
    assert all(mark % 10.0 == 0.0 and axis.low <= mark <= axis.high for mark in axis.marks)


def test_log_axis_has_marks_at_1_2_5() -> None:
    """0.13 to 8.6 is drawn from 0.1 to 10."""
    axis = log_axis(np.array([0.13, np.nan, 8.6]), title="", limits=(0.01, 100.0))
    assert axis.marks == (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)


@pytest.mark.parametrize("values", [[], [np.nan], [0.0], [-1.0, 0.0], [1e-9], [1e9]])
def test_log_axis_never_breaks(values: list[float]) -> None:
    """Nothing, zero and the absurd still give an axis."""
    axis = log_axis(np.array(values), title="", limits=(0.01, 100.0))
    assert 0.0 < axis.low < axis.high


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3))
def test_linear_axis_encloses_with_round_marks(low: float, span: float) -> None:
    """Both ends are marks, and the values lie between them."""
    axis = linear_axis(low, low + span, title="")
    assert axis.low <= low + 1e-6 * span
    assert axis.high >= low + span - 1e-6 * span
    assert 2 <= len(axis.marks) <= 8


@pytest.mark.parametrize(
    ("rough", "step"), [(0.9, 1.0), (1.0, 1.0), (1.1, 2.0), (3.0, 5.0), (7.0, 10.0), (0.03, 0.05)]
)
def test_steps_are_1_2_5(rough: float, step: float) -> None:
    """The next of the series."""
    assert round_step(rough) == pytest.approx(step)


@given(st.booleans(), st.floats(0.1, 1e4), st.floats(1.01, 1e3), st.floats(0, 1))
def test_axis_value_inverts_fraction(log: bool, low: float, times: float, part: float) -> None:
    """Going to a place and back is the identity."""
    axis = Axis(low=low, high=low * times, marks=(), title="", log=log)
    assert float(axis.fraction(axis.value(part))) == pytest.approx(part, abs=1e-6)


@pytest.mark.parametrize("unit", ["dB", "Hz", "%", "ohm"])
@given(st.lists(st.floats(0.5, 20_000.0), min_size=1, max_size=8))
def test_strip_scale_holds_every_value_with_air(unit: str, values: list[float]) -> None:
    """No point lies on the edge, and the scale can be read."""
    axis = strip_axis(values, unit, width_px=300.0)
    assert axis.low < min(values)
    assert axis.high > max(values)
    assert len(axis.marks) >= 2


def test_strip_of_limits_is_marked_with_preferred_frequencies() -> None:
    """A lower limit between 45 and 100 Hz: third-octave marks of ISO 266."""
    assert strip_axis([45.0, 98.0], "Hz", width_px=400.0).marks == (50.0, 63.0, 80.0, 100.0)
