"""Voltage scales from one reading of a meter: arithmetic of a sine, and coverage of the meter's stated accuracy."""

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.measure.rig.meter import MeterReading, input_scale, output_scale, resolution_of
from tests.measure.test_calibrator import RATE, tone


def reading(volts=2.83, hertz=100.0, percent=1.0, digits=3.0, resolution=0.01):
    """A usual hand-held meter: 1 % and 3 digits."""
    return MeterReading(
        volts=volts, frequency_hz=hertz, percent=percent, digits=digits, resolution_v=resolution
    )


def test_output_by_hand():
    """2.83 V r.m.s. at a digital peak of 0.5: full scale is 2.83 * sqrt(2) / 0.5 = 8.004 V."""
    found = output_scale(reading(), 0.5)
    assert found.v_per_full_scale == pytest.approx(8.0044, abs=1e-4)
    limits = 20 * np.log10(1 + (0.01 * 2.83 + 3 * 0.01) / 2.83)
    assert found.u_db == pytest.approx(limits / np.sqrt(3), rel=0.02)


def test_input_by_hand():
    """The same tone recorded at a peak of 0.2: full scale is 2.83 * sqrt(2) / 0.2 = 20.011 V."""
    found = input_scale(tone(0.2, 100.0), RATE, reading())
    assert found.v_per_full_scale == pytest.approx(20.0111, rel=2e-5)


def test_coverage_of_percent_and_digits():
    """Meters that err anywhere inside "1 % and 3 digits", both limits alike large and drawn apart from each other: 95 %
    intervals hold 92 to 98 % (JCGM 100:2008, G.2: two rectangular parts are near the normal distribution).
    """
    rng = np.random.default_rng(5)
    true, hits = 2.83, 0
    for _ in range(1000):
        shown = true * (1 + rng.uniform(-0.01, 0.01)) + 3 * rng.uniform(-0.01, 0.01)
        percent = MeterReading(volts=shown, frequency_hz=100, percent=1.0, digits=0.5, resolution_v=1e-9)
        digits = MeterReading(volts=shown, frequency_hz=100, percent=0.0, digits=3.0, resolution_v=0.01)
        u = np.hypot(output_scale(percent, 0.5).u_db, output_scale(digits, 0.5).u_db)
        hits += abs(db(shown / true)) <= 1.96 * u
    assert 920 <= hits <= 980


def test_the_stated_limits_hold_every_meter_inside_its_accuracy():
    """Percent and digits of one manual may err together, so they are added before they are made a standard uncertainty."""
    worst = 2.83 * 1.01 + 0.03
    assert abs(db(worst / 2.83)) <= np.sqrt(3) * output_scale(reading(worst), 0.5).u_db * 1.03


@pytest.mark.parametrize(("text", "worth"), [("2.83", 0.01), ("2,830", 0.001), ("12", 1.0), (" 0.5 ", 0.1)])
def test_a_digit_is_worth_what_was_typed(text, worth):
    """The number of decimals of the display tells its last place."""
    assert resolution_of(text) == pytest.approx(worth)


@pytest.mark.parametrize("text", ["2.83 V", "", "1e3", "nan"])
def test_a_reading_that_is_none(text):
    """A unit behind the number, nothing, or powers of ten are refused."""
    with pytest.raises(InputError, match="as the meter shows it"):
        resolution_of(text)


def test_where_a_meter_is_not_right():
    """Plain multimeters are right near mains frequency to about 1 kHz (common practice): at 5 kHz that is said, and so is a
    reading of few digits.
    """
    assert [v.code for v in output_scale(reading(hertz=5000.0), 0.5).verdicts] == ["meter-frequency"]
    assert [v.code for v in output_scale(reading(volts=0.12), 0.5).verdicts] == ["meter-rough"]


def test_bad_input():
    """Another tone, a clipped one, a level above full scale, a voltage of zero; a gain that moved is told."""
    with pytest.raises(InputError, match="does not have the frequency stated"):
        input_scale(tone(0.2, 1000.0), RATE, reading())
    with pytest.raises(InputError, match="clipped"):
        input_scale(np.clip(tone(1.4, 100.0), -1, 1), RATE, reading())
    with pytest.raises(InputError, match="peak re full scale"):
        output_scale(reading(), -6.0)
    with pytest.raises(InputError, match="above 0"):
        reading(volts=0.0)
    moved = input_scale(tone(0.2, 100.0), RATE, reading(), previous_v=40.0)
    assert [v.code for v in moved.verdicts] == ["calibration-moved"]
