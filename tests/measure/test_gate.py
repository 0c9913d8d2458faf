"""Gates and what they leave unknown."""

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.measure.analysis.gate import Reflection, choose_gate, find_reflection
from halfroll.measure.analysis.response import Gate

RATE = 48_000


def pulse_with_echo(delay_s, gain):
    """A band-limited pulse at sample 500 and its echo."""
    n = 6000
    f = np.fft.rfftfreq(n, 1 / RATE)
    spectrum = np.exp(-((f / 14_000) ** 8)) * (1 + gain * np.exp(-2j * np.pi * f * delay_s))
    return np.roll(np.fft.irfft(spectrum, n), 500)


def test_floor_reflection_geometry():
    """Driver and microphone 1.2 m high, 1 m apart: 1.600 m longer, 4.665 ms at 343 m/s, limit 214.4 Hz.

    Image source; in the bass a hard floor then gives at most 1/2.6 of the direct pressure.
    """
    delay = 1.6 / 343.0
    assert delay == pytest.approx(4.665e-3, abs=1e-6)
    assert choose_gate(delay, None).valid_from_hz == pytest.approx(214.4, abs=0.05)
    found = Gate(reflection_s=delay, reflection_db=-18.0)
    assert found.bass_gain(1.0) == pytest.approx(1 / 2.6, rel=1e-3)
    strong = Gate(reflection_s=delay, reflection_db=-3.0)
    assert strong.bass_gain(1.0) == pytest.approx(10 ** (-3 / 20))


@pytest.mark.parametrize(("delay_s", "level_db"), [(1.5e-3, -6.0), (3.2e-3, -12.0), (9e-3, -18.0)])
def test_reflections_are_found(delay_s, level_db):
    """Delay within a sample or two, level within 0.5 dB."""
    found = find_reflection(pulse_with_echo(delay_s, 10 ** (level_db / 20)), 500, RATE, 20_000)
    assert found is not None
    assert found.delay_s == pytest.approx(delay_s, abs=4e-5)
    assert found.level_db == pytest.approx(level_db, abs=0.5)


@pytest.mark.parametrize("level_db", [-200.0, -26.0])
def test_weak_or_no_reflections_are_not_invented(level_db):
    """Below -20 dB nothing is said."""
    assert find_reflection(pulse_with_echo(4e-3, 10 ** (level_db / 20)), 500, RATE, 20_000) is None


def test_settings():
    """Auto ends just before the reflection, none keeps all, a length is kept."""
    reflection = Reflection(delay_s=3e-3, level_db=-10.0)
    assert choose_gate("auto", reflection).length_s == pytest.approx(2.9e-3)
    assert choose_gate("auto", None).length_s is None
    assert choose_gate("none", reflection).valid_from_hz == 0.0
    assert choose_gate(5e-3, None).valid_from_hz == pytest.approx(200.0)
    with pytest.raises(InputError):
        choose_gate("sometimes", None)
