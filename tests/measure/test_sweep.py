"""The sweep against its published definition."""

import numpy as np
import pytest
from scipy.signal import hilbert

from halfroll.core.errors import InputError
from halfroll.measure.analysis.deconvolve import inverse_filter
from halfroll.measure.sweep import Sweep


@pytest.mark.parametrize(("order", "lead_s"), [(2, 0.501717), (3, 0.795202), (4, 1.003433), (5, 1.164950)])
def test_harmonics_lead_by_L_ln_n(order, lead_s):
    """20 Hz to 20 kHz in 5 s: Farina 2000 (AES preprint 5093) and Novak et al. 2015, numbers from the formula."""
    assert Sweep(duration_s=5.0).harmonic_lead_s(order) == pytest.approx(lead_s, abs=1e-6)


def test_rate_constant():
    """L = T/ln(f2/f1) = 0.7238241 s for 5 s from 20 Hz to 20 kHz (Novak et al. 2015)."""
    assert Sweep(duration_s=5.0).rate_constant_s == pytest.approx(0.7238241, abs=1e-7)


def test_instantaneous_frequency_is_exponential():
    """f(t) = f1 exp(t/L), read from the analytic signal by SciPy."""
    sweep = Sweep(duration_s=3.0, start_hz=50, stop_hz=5000)
    phase = np.unwrap(np.angle(hilbert(sweep.tone())))
    t = np.arange(len(phase)) / sweep.rate_hz
    frequency = np.gradient(phase, t) / (2 * np.pi)
    middle = (t > 0.6) & (t < 2.4)
    expected = 50 * np.exp(t[middle] / sweep.rate_constant_s)
    assert np.max(np.abs(frequency[middle] / expected - 1)) < 0.01


def test_synchronisation():
    """A shift by L ln n multiplies the phase by n: x(t + L ln 2) = 2 sin cos of x(t) (Novak et al. 2015)."""
    sweep = Sweep(start_hz=20, stop_hz=2000, duration_s=5.0, fade_in_s=0, fade_out_s=0)
    rate, t = sweep.rate_constant_s, np.linspace(0, 3, 1000)
    phase = 2 * np.pi * sweep.start_hz * rate * np.exp(t / rate)
    later = 2 * np.pi * sweep.start_hz * rate * np.exp((t + sweep.harmonic_lead_s(2)) / rate)
    assert np.allclose(np.sin(later), 2 * np.sin(phase) * np.cos(phase), atol=1e-9)


def test_analytic_inverse_is_the_inverse():
    """Sweep spectrum times analytic inverse is one within 1 % at 100 Hz, 0.1 % at 1 and 10 kHz.

    Published simulation of the formula (no fade, 5 s, 48 kHz): 1.0075, 1.0005, 0.9994; phase within 0.4 degrees.
    """
    sweep = Sweep(duration_s=5.0, fade_in_s=0, fade_out_s=0)
    n = 1 << 19
    spectrum = np.fft.rfft(sweep.tone(), n) / sweep.rate_hz
    f = np.fft.rfftfreq(n, 1 / sweep.rate_hz)
    product = spectrum[1:] * inverse_filter(sweep, f[1:])
    for frequency, expected, width in ((100, 1.0075, 2e-3), (1000, 1.0005, 5e-4), (10_000, 0.9994, 5e-4)):
        value = product[np.argmin(np.abs(f[1:] - frequency))]
        assert abs(value) == pytest.approx(expected, abs=width)
        assert abs(np.rad2deg(np.angle(value))) < 0.5


def test_signal_has_silences_fades_and_level():
    """What is played starts and ends in silence and never exceeds its level."""
    sweep = Sweep(duration_s=1.0, level=0.25, silence_before_s=0.3, silence_after_s=0.2)
    samples = sweep.samples()
    assert len(samples) == sweep.length == round(1.5 * 48_000)
    assert not samples[: sweep.start_sample].any()
    assert not samples[-round(0.2 * 48_000) :].any()
    assert 0.249 < np.abs(samples).max() <= 0.25
    assert abs(samples[sweep.start_sample]) < 1e-12


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("start_hz", 0),
        ("stop_hz", 30_000),
        ("duration_s", 0.01),
        ("level", 1.5),
        ("rate_hz", 3),
        ("fade_in_s", -1),
    ],
)
def test_impossible_sweeps_are_refused(field, value):
    """The message names the field, the value and what is allowed."""
    with pytest.raises(InputError) as caught:
        Sweep(**{field: value})
    assert caught.value.place.key is not None
    assert caught.value.found is not None
    assert caught.value.allowed
