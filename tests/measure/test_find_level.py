"""Finding the playback level for a terminal voltage.

The outside reference is a circuit whose gain has a closed form: an amplifier with an internal resistance and a driver
across it form a voltage divider. The driver has round values (Re, Mms, Bl, Cms as a textbook exercise would give them) and its
impedance is written out here, Z = Re + Bl^2 / (Rms + j(w Mms - 1/(w Cms))).
"""

import math
from collections.abc import Callable

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError, RefusedError
from halfroll.core.progress import CancelToken, silent
from halfroll.measure.level.burst import burst, read_burst
from halfroll.measure.level.find_level import find_level
from halfroll.measure.level.ramp import RampSettings
from halfroll.measure.recording import Scale

RATE = 48_000
FULL_SCALE_V = 20.0
GAIN_V = 34.0
SOURCE_OHM = 0.8
VOLTAGE = (1, Scale(per_full_scale=FULL_SCALE_V, u_db=0.05))


def impedance(frequency_hz: np.ndarray) -> np.ndarray:
    """Impedance of a driver with Re 6 ohm, Bl 6 N/A, Mms 12 g, Cms 0.9 mm/N, Rms 1 kg/s."""
    w = 2 * np.pi * np.maximum(frequency_hz, 1e-3)
    return 6.0 + 36.0 / (1.0 + 1j * (w * 12e-3 - 1 / (w * 0.9e-3)))


def divider(frequency_hz: float) -> float:
    """Terminal voltage of one full scale at a frequency, V instantaneous."""
    z = impedance(np.array([frequency_hz]))[0]
    return float(abs(GAIN_V * z / (z + SOURCE_OHM)))


class Amplifier:
    """Plays through the circuit: microphone on channel 1, terminal voltage on channel 2; later than the signal."""

    rate_hz = RATE
    channels = 2

    def __init__(
        self, terminals: Callable[[np.ndarray], np.ndarray] | None = None, noise: float = 1e-6
    ) -> None:
        self.terminals = terminals or self.through_the_divider
        self.noise = noise
        self.loudest = 0.0
        self.played = 0
        self.random = np.random.default_rng(4)

    def through_the_divider(self, signal: np.ndarray) -> np.ndarray:
        z = impedance(np.fft.rfftfreq(len(signal), 1 / RATE))
        return np.fft.irfft(np.fft.rfft(signal) * GAIN_V * z / (z + SOURCE_OHM), len(signal))

    def play(self, signal, progress=silent):
        progress(0.5, "playing")
        self.played += 1
        volts = self.terminals(signal)
        self.loudest = max(self.loudest, float(np.abs(volts).max()) / math.sqrt(2))
        late = np.concatenate([np.zeros(1234), volts])[: len(signal)]
        inputs = np.stack([0.02 * late / GAIN_V, late / FULL_SCALE_V])
        return np.clip(inputs + self.noise * self.random.standard_normal(inputs.shape), -1, 1)


@pytest.mark.parametrize("target_v", [0.1, 2.0, 2.83])
@pytest.mark.parametrize("frequency_hz", [63.0, 315.0, 1000.0])
def test_level_is_that_of_the_divider(target_v, frequency_hz):
    """The level found is target * sqrt 2 / |G Z/(Z+Rs)| within the tolerance, and the voltage is read within 0.1 %."""
    amplifier = Amplifier()
    found = find_level(
        amplifier, target_v, limit_v=4.0, voltage=VOLTAGE, settings=RampSettings(frequency_hz=frequency_hz)
    )
    exact = target_v * math.sqrt(2) / divider(frequency_hz)
    assert abs(20 * math.log10(found.level / exact)) < 0.05
    assert found.voltage_v == pytest.approx(found.level * divider(frequency_hz) / math.sqrt(2), rel=1e-3)
    assert found.measured
    assert found.u_db == pytest.approx(0.05, abs=0.005)


def test_level_comes_from_below_and_never_passes_the_limit():
    """Every burst is louder than the one before by 8 dB at most, and none passes the limit set."""
    amplifier = Amplifier()
    found = find_level(amplifier, 4.0, limit_v=4.0, voltage=VOLTAGE)
    levels = [step.level for step in found.steps]
    rises = 20 * np.log10(np.divide(levels[1:], levels[:-1]))
    assert levels[0] == pytest.approx(1e-3)
    assert (rises > 0).all()
    assert (rises <= 8.0 + 1e-9).all()
    # a burst's peak may stand above a settled tone's by what the fade leaves of the transient
    assert amplifier.loudest <= 4.0 * 1.01


def test_level_without_voltage_channel_is_that_of_the_output():
    """Without a voltage channel the output's scale is believed: L = U sqrt 2 / scale, approached in steps all the same."""
    amplifier = Amplifier()
    found = find_level(amplifier, 2.83, output=Scale(per_full_scale=30.0, u_db=0.2))
    assert found.level == pytest.approx(2.83 * math.sqrt(2) / 30.0)
    assert not found.measured
    assert found.u_db == 0.2
    assert len(found.steps) >= 3


def test_burst_amplitude_is_read_whatever_the_delay():
    """A burst 0 to 0.35 s late is read within 0.1 % in noise 40 dB below it, and its noise is told."""
    random = np.random.default_rng(1)
    signal = burst(315.0, RATE, 0.25)
    for late in (0, 777, round(0.35 * RATE)):
        recorded = np.concatenate([np.zeros(late), signal])[: len(signal)]
        amplitude, noise = read_burst(recorded + 0.0025 * random.standard_normal(len(signal)), 315.0, RATE)
        assert amplitude == pytest.approx(0.25, rel=1e-3)
        assert 0 < noise < 1e-3


def test_level_above_the_limit_is_refused_before_a_sound():
    """A wish above the limit plays nothing."""
    amplifier = Amplifier()
    with pytest.raises(RefusedError, match=r"above the limit that was set; found 5\.00.V.*up to 4\.00.V"):
        find_level(amplifier, 5.0, limit_v=4.0, voltage=VOLTAGE)
    assert amplifier.played == 0


def test_level_an_amplifier_cannot_give_is_refused():
    """34 V at full scale are 24 V r.m.s.; 30 V cannot be had, and the message says what can."""
    amplifier = Amplifier()
    with pytest.raises(RefusedError, match=r"cannot reach .* found 2[0-9]\.[0-9].V at 1 of full scale"):
        find_level(amplifier, 30.0, limit_v=40.0, voltage=VOLTAGE)
    assert amplifier.loudest < 5.0


def test_nothing_connected_stops_below_minus_30_db():
    """A voltage channel that shows nothing ends the ramp; the amplifier may be giving anything by then."""
    amplifier = Amplifier()
    levels = []

    def nothing(signal):
        levels.append(np.abs(signal).max())
        return np.zeros_like(signal)

    amplifier.terminals = nothing
    with pytest.raises(InputError, match=r"shows no tone.*Check that the amplifier is on"):
        find_level(amplifier, 2.0, voltage=VOLTAGE)
    assert max(levels) < 10 ** (-30 / 20)


def test_hum_in_place_of_the_voltage_is_no_tone():
    """A mains hum of the same frequency as the tone does not rise with the level, and is not taken for it."""
    amplifier = Amplifier(lambda x: 0.5 * np.sin(2 * np.pi * 315.0 * np.arange(len(x)) / RATE))
    with pytest.raises(InputError, match="shows no tone"):
        find_level(amplifier, 2.0, voltage=VOLTAGE)


def test_a_voltage_that_does_not_follow_is_refused():
    """A limiter before the terminals: 8 dB more give less."""
    amplifier = Amplifier(lambda x: 0.3 * np.tanh(GAIN_V * x / 0.3))
    with pytest.raises(InputError, match=r"does not follow the level; found \+[0-9.]+ dB for \+8\.0 dB more"):
        find_level(amplifier, 2.0, voltage=VOLTAGE)


def test_scales_that_disagree_are_refused_at_the_first_burst():
    """The amplifier was turned up by 10 dB since its output was calibrated."""
    amplifier = Amplifier()
    stale = Scale(per_full_scale=divider(315.0) / 10**0.5)
    with pytest.raises(InputError, match=r"do not agree; found .* \+10\.0 dB.*calibrate the output anew"):
        find_level(amplifier, 2.0, voltage=VOLTAGE, output=stale)
    assert amplifier.played == 1


def test_an_input_that_clips_is_refused():
    """The microphone's gain is too high: no louder than needed to see it."""
    amplifier = Amplifier()
    play = amplifier.play

    def loud(signal, progress=silent):
        recorded = play(signal, progress)
        recorded[0] = np.clip(recorded[0] * 1e4, -1, 1)
        return recorded

    amplifier.play = loud
    with pytest.raises(InputError, match="Input channel 1 clips"):
        find_level(amplifier, 2.0, voltage=VOLTAGE)


def test_without_any_scale_there_is_no_level():
    """Neither channel nor scale: said before a sound is made."""
    amplifier = Amplifier()
    with pytest.raises(InputError, match=r"neither a voltage channel with a scale nor the output scale"):
        find_level(amplifier, 2.0)
    assert amplifier.played == 0


def test_the_stop_key_ends_the_search():
    """Cancelling passes through, and nothing is played after it."""
    amplifier = Amplifier()
    token = CancelToken()

    def stop_at_third(done, what):
        if amplifier.played == 2:
            token.cancel()

    with pytest.raises(CancelledError):
        find_level(amplifier, 2.0, voltage=VOLTAGE, progress=token.wrap(stop_at_third))
    assert amplifier.played == 2


def test_progress_runs_from_0_to_1_without_going_back():
    """What is reported can be drawn as a bar."""
    told = []
    find_level(Amplifier(), 2.0, voltage=VOLTAGE, progress=lambda done, what: told.append(done))
    assert told == sorted(told)
    assert 0 <= told[0] <= told[-1] <= 1


@pytest.mark.parametrize(
    ("key", "value"),
    [("frequency_hz", 5.0), ("start_db", -10.0), ("step_db", 20.0), ("tolerance_db", 0.0), ("blind_db", 0.0)],
)
def test_settings_out_of_range_are_named(key, value):
    """Each key says its range."""
    with pytest.raises(InputError, match=f"{key} of the level search is out of range"):
        RampSettings(**{key: value})


@pytest.mark.parametrize("bad", [1, 3, 4])
@pytest.mark.parametrize("lost", [0.12, 0.5])
def test_a_dropped_block_does_not_raise_the_level(bad, lost):
    """A burst of which a part was lost reads too low. It is played again, and nothing ever exceeds the limit by more than 1 %."""

    class Dropping(Amplifier):
        def play(self, signal, progress=silent):
            recorded = super().play(signal, progress)
            if self.played == bad:
                middle = recorded.shape[1] // 2
                width = round(lost * 0.2 * RATE)
                recorded[:, middle - width : middle] = 0.0
            return recorded

    amplifier = Dropping()
    gain = Scale(per_full_scale=divider(315.0))
    found = find_level(amplifier, 2.0, voltage=VOLTAGE, output=gain)
    assert found.level * divider(315.0) / math.sqrt(2) == pytest.approx(2.0, rel=0.01)
    assert amplifier.loudest <= 2.0 * 1.01
