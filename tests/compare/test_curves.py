"""Mean curves with bands: the mean of units, Student's t, the range all takes share, and bounds."""

import math

import numpy as np
import pytest

from halfroll.compare.curves import curves, impedance_of_runs
from halfroll.core.conditions import Space
from halfroll.measure.analysis.response import Gate
from halfroll.measure.impedances.impedance import ImpedanceCurve
from tests.figures.make import GRID, make_response


def test_mean_and_band_of_level() -> None:
    """Three units at 85, 86 and 87 dB (the second from two takes): 86 dB ± 4.30/√3."""
    found = curves(
        {
            "a": [make_response(85.0)],
            "b": [make_response(85.5), make_response(86.5)],
            "c": [make_response(87.0)],
        }
    )["level"]
    assert found.value == pytest.approx(86.0)
    assert found.high is not None
    assert found.high - found.value == pytest.approx(4.3027 / math.sqrt(3), rel=1e-4)


def test_impedance_of_runs() -> None:
    """A resistor of 5 and one of 7 ohm, measured at other frequencies: 6 ± t(1)/√2·√2 over what both cover; a slope stays a slope."""
    one, other = np.geomspace(20.0, 8000.0, 60), np.geomspace(31.0, 20_000.0, 41)
    flat = [
        ImpedanceCurve(frequency_hz=f, impedance_ohm=np.full(len(f), z + 0j))
        for f, z in ((one, 5.0), (other, 7.0))
    ]
    found = impedance_of_runs(flat)
    assert found is not None
    assert found.value == pytest.approx(6.0)
    assert found.high is not None
    assert found.high - found.value == pytest.approx(12.706, rel=1e-4)
    assert found.frequency_hz[0] == pytest.approx(31.0, rel=0.02)
    assert found.frequency_hz[-1] == pytest.approx(8000.0, rel=0.02)
    coil = impedance_of_runs([ImpedanceCurve(frequency_hz=one, impedance_ohm=1j * one * 1e-3)])
    assert coil is not None
    assert coil.value == pytest.approx(coil.frequency_hz * 1e-3, rel=1e-9)
    assert coil.low is None
    assert impedance_of_runs([]) is None


def test_level_is_at_one_watt_and_one_metre() -> None:
    """90 dB at 4 V (4 W into 4 ohm) and 2 m is 90 dB at 1 W and 1 m."""
    found = curves({"a": [make_response(90.0, drive_v=4.0, distance_m=2.0)]})["level"]
    assert found.value == pytest.approx(90.0)
    assert found.low is None


def test_range_all_takes_share() -> None:
    """A curve is drawn where every take is valid; below the longest gate's limit the room is in it."""
    found = curves(
        {
            "a": [
                make_response(90.0, valid_hz=(30.0, 10000.0), gate=Gate(length_s=0.004, valid_from_hz=250.0))
            ],
            "b": [make_response(90.0, valid_hz=(50.0, 20000.0))],
        }
    )["level"]
    assert found.frequency_hz[0] == pytest.approx(50.0, rel=0.015)
    assert found.frequency_hz[-1] == pytest.approx(10000.0, rel=0.015)
    assert found.valid_from_hz == 250.0


def test_responses_on_unlike_stretches_of_the_grid() -> None:
    """Points are matched by frequency, not by index."""
    slope = 10 * np.log2(GRID / 1000.0)
    one, two = make_response(slope), make_response(slope[30:-20], frequency_hz=GRID[30:-20])
    found = curves({"a": [one], "b": [two]})["level"]
    assert found.value == pytest.approx(10 * np.log2(found.frequency_hz / 1000.0), abs=1e-9)


def test_distortion_in_percent_with_bounds() -> None:
    """Where any take is only a bound the mean is one, without a band."""
    share = np.where(GRID < 100.0, 0.03, 1e-5)
    p1 = 20e-6 * 10 ** (90 / 20)
    noisy = make_response(90.0, harmonics={2: share}, noise_pa=1e-3 * p1)
    clean = make_response(90.0, harmonics={2: share})
    found = curves({"a": [clean], "b": [noisy]}, "fundamental")["thd"]
    assert found.bound is not None
    assert found.high is not None
    low = found.frequency_hz < 99.0
    assert found.value[low] == pytest.approx(3.0, rel=1e-2)
    assert not found.bound[low].any()
    assert found.bound[found.frequency_hz > 101.0].all()
    assert np.isnan(found.high[found.bound]).all()


def test_orders() -> None:
    """The orders each as a curve."""
    found = curves({"a": [make_response(90.0, harmonics={2: 0.03, 3: 0.01})]}, "fundamental")
    assert found["h2"].value == pytest.approx(3.0)
    assert found["h3"].value == pytest.approx(1.0)


def test_impedance_where_it_was_recorded() -> None:
    """Modulus, from the takes that have a current channel."""
    with_current = make_response(90.0, impedance_ohm=np.full(len(GRID), 3.0 + 4.0j))
    assert curves({"a": [with_current, make_response(90.0)]})["impedance"].value == pytest.approx(5.0)
    assert "impedance" not in curves({"a": [make_response(90.0)]})


@pytest.mark.parametrize(
    "more",
    [
        {"calibrated": False},
        {"rated_impedance_ohm": None},
        {"space": Space.NEAR, "distance_m": 0.003, "radius_m": None},
    ],
)
def test_no_level_without_what_it_needs(more: dict) -> None:
    """Calibration, rated impedance, and a way to 1 m; distortion is there all the same."""
    found = curves({"a": [make_response(90.0, harmonics={2: 0.03}, **more)]})
    assert "level" not in found
    assert "thd" in found


def test_nothing() -> None:
    """No responses, no curves."""
    assert curves({}) == {}
