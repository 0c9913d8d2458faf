"""Delay of a loop, against SciPy's correlation, delays known exactly, and a real pair of files."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import correlate, correlation_lags

from halfroll.core.errors import InputError
from halfroll.measure.rig.latency import Latency, loop_latency, over_repeats
from halfroll.measure.sweep import Sweep

PAIR = Path(__file__).parents[1] / "references" / "sweep_loop"
PLAYED = Sweep(duration_s=1.5).samples()


def delayed(samples, by, extra=4000):
    """A band-limited delay of any size, by the shift theorem."""
    n = 2 ** int(np.ceil(np.log2(samples.size + extra)))
    turn = np.exp(-2j * np.pi * np.arange(n // 2 + 1) / n * by)
    return np.fft.irfft(np.fft.rfft(samples, n) * turn, n)[: samples.size + extra]


@pytest.mark.parametrize("by", [0.0, 17.0, 512.25, 2010.5, 3999.0])
def test_a_known_delay_to_a_thousandth_of_a_sample(by):
    """The delay was put in by the shift theorem, with noise 60 dB below; the whole part is also SciPy's."""
    heard = 0.3 * delayed(PLAYED, by, 5000)
    heard += 2e-4 * np.random.default_rng(3).standard_normal(heard.size)
    found = loop_latency(PLAYED, heard)
    assert found.samples == pytest.approx(by, abs=2e-3)
    both = correlate(heard, PLAYED)
    whole = correlation_lags(heard.size, PLAYED.size)[int(np.argmax(both))]
    assert abs(found.samples - whole) <= 0.51
    assert found.likeness > 0.9


def test_the_real_pair_against_scipy():
    """The source is silent on the delay: SciPy's correlation of the differentiated files and ours agree within a sample and a
    half; both lie at 2010.
    """
    played, rate = soundfile.read(PAIR / "closed_loop_stimulus.wav")
    heard, other = soundfile.read(PAIR / "closed_loop.wav")
    assert rate == other == 44_100
    found = loop_latency(played, heard)
    both = correlate(np.diff(heard), np.diff(played))
    lag = correlation_lags(heard.size - 1, played.size - 1)[int(np.argmax(both))]
    assert found.samples == pytest.approx(lag, abs=1.5)
    assert not found.inverted


def test_coupling_capacitors_do_not_draw_it_aside():
    """A first-order high-pass at 20 Hz in the loop (usual input coupling) moves the delay by less than a hundredth of a sample."""
    from scipy.signal import butter, lfilter

    b, a = butter(1, 20.0, "highpass", fs=48_000)
    found = loop_latency(PLAYED, lfilter(b, a, delayed(PLAYED, 300.0)))
    assert found.samples == pytest.approx(300.0, abs=0.01)


def test_repeats_and_their_uncertainty():
    """Mean and standard deviation over repeats; what jumps from run to run is said, and so is a turned polarity."""
    steady = over_repeats([Latency(samples=s, likeness=1.0) for s in (100.0, 100.02, 99.98)])
    assert (steady.samples, steady.u_samples) == (pytest.approx(100.0), pytest.approx(0.02))
    assert steady.verdicts == ()
    loose = over_repeats([Latency(samples=100.0, likeness=1.0), Latency(samples=612.0, likeness=1.0)])
    assert [v.code for v in loose.verdicts] == ["latency-varies"]
    turned = over_repeats([loop_latency(PLAYED, -delayed(PLAYED, 50.0))])
    assert [v.code for v in turned.verdicts] == ["loop-inverted"]
    assert turned.samples == pytest.approx(50.0, abs=1e-3)


def test_what_is_no_loop():
    """Silence, and a recording of something else, are refused."""
    with pytest.raises(InputError, match="silent"):
        loop_latency(PLAYED, np.zeros(60_000))
    with pytest.raises(InputError, match="does not hold what was played"):
        loop_latency(PLAYED, np.random.default_rng(1).standard_normal(90_000))
    with pytest.raises(InputError, match="one loop"):
        over_repeats([])
