"""The figure of a series of tones: a value between drives, a bound beyond them, a reason where there is none."""

import math

import numpy as np
import pytest

from halfroll.core.conditions import Conditions, Space
from halfroll.figures.tones import KEY, tones_readings
from halfroll.figures.types import FigureSettings
from halfroll.measure.stepped.level_series import LevelSeries

CONDITIONS = Conditions(drive_v=None, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=8.0)
VOLTS = np.array([1.0, 2.0, 4.0, 8.0])


def series(at_one_volt, spl=80.0, low_hz=40.0, high_hz=160.0):
    """THD that goes with the square of the voltage, alike at every frequency, and a level that follows the voltage."""
    frequency = np.geomspace(low_hz, high_hz, 7)
    shape = (VOLTS.size, frequency.size)
    thd = np.broadcast_to(at_one_volt * VOLTS[:, None] ** 2, shape)
    level = np.broadcast_to(spl + 20 * np.log10(VOLTS[:, None]), shape)
    return LevelSeries(
        frequency_hz=frequency, level_v=VOLTS, thd=thd, thd_u=np.zeros(shape), is_bound=np.zeros(shape, dtype=bool), spl_db=level,
        spl_u_db=np.zeros(shape), reference="total", conditions=CONDITIONS, source="tones",
    )  # fmt: skip


def test_value_of_a_square_law():
    """1 % at 1 V reaches 10 % at sqrt(10) V, which is 10 dB louder than at 1 V."""
    reading = tones_readings(series(0.01), FigureSettings())[KEY]
    assert reading.value == pytest.approx(90.0)
    assert reading.bound is None
    # the weakest reflection that would be found, -20 dB: 10 lg(1.1/0.9)/sqrt(3)
    assert reading.u == pytest.approx(10 * math.log10(1.1 / 0.9) / math.sqrt(3))


@pytest.mark.parametrize(
    ("at_one_volt", "bound", "value"), [(1e-4, "lower", 80 + 20 * math.log10(8)), (0.2, "upper", 80.0)]
)
def test_bounds(at_one_volt, bound, value):
    """Never reached: at least the loudest that was played; passed at once: at most the quietest."""
    reading = tones_readings(series(at_one_volt), FigureSettings())[KEY]
    assert (reading.bound, reading.value) == (bound, pytest.approx(value))
    assert "limit was" in reading.cautions[-1]


def test_reasons():
    """A band that was not played, and a microphone without calibration, give a reason and no number."""
    treble = tones_readings(series(0.01, low_hz=500.0, high_hz=2000.0), FigureSettings())[KEY]
    assert (treble.value, "Too little of the band" in treble.missing) == (None, True)
    silent = tones_readings(series(0.01, spl=np.nan), FigureSettings())[KEY]
    assert (silent.value, "pascals" in silent.missing) == (None, True)
