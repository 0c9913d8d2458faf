"""Analysis of linear systems whose response SciPy knows (scipy.signal.freqz), and identities that must hold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.analysis.delay import group_delay_s
from halfroll.measure.recording import Recording, Role
from tests.measure.bench import CONDITIONS, SWEEP, noise, passed, take, true_response

OPEN = AnalysisSettings(gate="none")
PA_PER_V = 2.0 / 10.0


@pytest.mark.parametrize(("duration_s", "bass_db"), [(3.0, 0.12), (6.0, 0.08)])
def test_complex_response_of_a_linear_system(duration_s, bass_db):
    """Against scipy.signal.freqz: within 0.02 dB and 0.3 degrees from 45 Hz to 16 kHz, a little more at the very start."""
    sweep = replace(SWEEP, duration_s=duration_s)
    found = analyse(take(sweep=sweep), sweep, CONDITIONS, OPEN)
    ratio = (found.pressure_pa / found.voltage_v) / PA_PER_V / true_response(found.frequency_hz)
    inside = (found.frequency_hz > 45) & (found.frequency_hz < 16_000)
    assert np.max(np.abs(db(ratio[inside]))) < 0.02
    assert np.max(np.abs(np.rad2deg(np.angle(ratio[inside])))) < 0.3
    bass = found.frequency_hz < 45
    assert bass.any()
    assert np.max(np.abs(db(ratio[bass]))) < bass_db


def test_linear_system_has_no_distortion_above_the_floor():
    """A linear system with 24-bit noise: every harmonic stays below 0.02 % of the fundamental in the pass band."""
    mic = passed(SWEEP.samples())
    found = analyse(take(mic=mic + noise(1e-7, len(mic))), SWEEP, CONDITIONS, OPEN)
    band = (found.frequency_hz > 100) & (found.frequency_hz < 2000)
    ratio = np.abs(found.harmonics_pa[:, band]) / np.abs(found.pressure_full_pa[band])
    assert np.nanmax(ratio) < 2e-4


def test_noise_alone_does_not_pass_for_distortion():
    """With audible noise the harmonics of a linear system exceed 10 times their expected noise power hardly ever."""
    mic = passed(SWEEP.samples())
    exceed = []
    for seed in range(4):
        found = analyse(take(mic=mic + noise(2e-3, len(mic), seed)), SWEEP, CONDITIONS, OPEN)
        band = (found.frequency_hz > 60) & (found.frequency_hz < 2000)
        exceed.append(np.abs(found.harmonics_pa[:, band]) ** 2 / found.noise_pa[1:, band] ** 2)
    power = np.array(exceed)
    assert np.mean(power > 10) < 1e-3
    assert np.mean(power) == pytest.approx(1.0, abs=0.15), "expected noise power is what noise really gives"


def test_harmonics_of_a_known_polynomial():
    """For y = x + a x^2 + b x^3 of a unit sine: H2 = a/2, H3 = b/4, H1 = 1 + 3b/4 (power-series identities)."""
    a, b, level = 0.03, 0.01, SWEEP.level
    x = SWEEP.samples() / level
    found = analyse(take(mic=0.4 * (x + a * x**2 + b * x**3), voltage=level * x), SWEEP, CONDITIONS, OPEN)
    band = (found.frequency_hz > 60) & (found.frequency_hz < 4000)
    h1 = np.abs(found.pressure_full_pa[band])
    assert np.allclose(np.abs(found.harmonics_pa[0, band]) / h1, (a / 2) / (1 + 0.75 * b), rtol=0.01)
    assert np.allclose(np.abs(found.harmonics_pa[1, band]) / h1, (b / 4) / (1 + 0.75 * b), rtol=0.02)
    # sin^3 = (3 sin - sin 3phi)/4: the third harmonic stands in opposite phase; sin^2 = (1 - cos 2phi)/2.
    assert np.allclose(np.abs(np.angle(found.harmonics_pa[1, band])), np.pi, atol=0.05)
    assert np.allclose(np.angle(found.harmonics_pa[0, band]), -np.pi / 2, atol=0.05)


def test_group_delay_is_the_travel_time_in_the_middle_of_the_band():
    """48 samples are 1 ms; the filter adds its own delay, known from the slope of freqz."""
    found = analyse(take(), SWEEP, CONDITIONS, OPEN)
    f = found.frequency_hz
    expected = -np.gradient(np.unwrap(np.angle(true_response(f))), 2 * np.pi * f)
    band = (f > 100) & (f < 8000)
    assert np.max(np.abs(group_delay_s(found)[band] - expected[band])) < 2e-5


def test_impulse_response_is_the_filters():
    """The impulse response per volt equals SciPy's lfilter of an impulse, in the band of the sweep."""
    found = analyse(take(), SWEEP, CONDITIONS, OPEN)
    unit = np.zeros(len(found.impulse.values))
    unit[0] = 1.0
    expected = PA_PER_V * passed(unit)
    arrival = round(-found.impulse.start_s * found.impulse.rate_hz)
    shift = int(np.argmax(np.abs(expected))) - arrival
    seen = found.impulse.values[max(-shift, 0) : max(-shift, 0) + 400]
    wanted = expected[max(shift, 0) : max(shift, 0) + 400]
    assert np.corrcoef(seen, wanted)[0, 1] > 0.99


def test_impedance_from_a_resistor():
    """A current of voltage over 6 ohm gives 6 ohm with zero phase; reversed leads are said and turned."""
    signal = SWEEP.samples()
    current = signal * 10.0 / 6.0
    found = analyse(take(current=current), SWEEP, CONDITIONS, OPEN)
    assert found.impedance_ohm == pytest.approx(np.full(len(found.frequency_hz), 6.0), rel=1e-4)
    turned = analyse(take(current=-current), SWEEP, CONDITIONS, OPEN)
    assert any(v.code == "current-reversed" for v in turned.verdicts)
    assert turned.impedance_ohm == pytest.approx(np.full(len(found.frequency_hz), 6.0), rel=1e-4)


def test_without_a_voltage_channel_the_stated_voltage_counts():
    """Microphone alone: the sweep aligns itself, magnitudes agree with the three-channel result."""
    stated = replace(CONDITIONS, drive_v=SWEEP.level * 10.0 / np.sqrt(2))
    alone = analyse(take(voltage=False), SWEEP, stated, OPEN)
    full = analyse(take(), SWEEP, CONDITIONS, OPEN)
    inside = (alone.frequency_hz > 40) & (alone.frequency_hz < 15_000)
    assert np.allclose(db(alone.pressure_pa[inside] / full.pressure_pa[inside]), 0, atol=0.05)
    assert not alone.voltage_recorded


def test_start_of_the_sweep_does_not_matter():
    """The same take shifted by an arbitrary number of samples gives the same response."""
    found = analyse(take(), SWEEP, CONDITIONS, OPEN)
    moved = take()
    moved = replace(moved, samples=np.roll(moved.samples, 7919, axis=1))
    again = analyse(moved, SWEEP, CONDITIONS, OPEN)
    assert np.allclose(found.pressure_pa, again.pressure_pa, rtol=2e-3)


@settings(max_examples=8, deadline=None)
@given(gain_db=st.floats(-30, 5))
def test_scaling_the_microphone_shifts_the_level_and_nothing_else(gain_db):
    """A gain g shifts the level by 20 lg g and leaves every harmonic ratio alone."""
    gain = 10 ** (gain_db / 20)
    x = SWEEP.samples()
    mic = passed(0.3 * x + 0.05 * x**2)
    base = analyse(take(mic=mic), SWEEP, CONDITIONS, OPEN)
    scaled = analyse(take(mic=gain * mic), SWEEP, CONDITIONS, OPEN)
    assert np.allclose(db(scaled.pressure_pa / base.pressure_pa), gain_db, atol=1e-6)
    inside = (base.frequency_hz > 100) & (base.frequency_hz < 3000)
    ratios = [np.abs(r.harmonics_pa[0, inside] / r.pressure_full_pa[inside]) for r in (base, scaled)]
    assert np.allclose(ratios[0], ratios[1], rtol=1e-9)


def test_uncalibrated_recordings_say_so():
    """Without scales the pressures are relative, and the response knows it."""
    stated = replace(CONDITIONS, drive_v=2.0)
    assert not analyse(take(voltage=False, scales=False), SWEEP, stated, OPEN).calibrated


@pytest.mark.parametrize("rate", [44_100, 96_000])
def test_other_sample_rates(rate):
    """A sweep made and recorded at another rate is analysed the same."""
    sweep = replace(SWEEP, rate_hz=rate)
    found = analyse(take(sweep=sweep), sweep, CONDITIONS, OPEN)
    middle = (found.frequency_hz > 300) & (found.frequency_hz < 3000)
    assert np.allclose(np.abs(found.pressure_pa / found.voltage_v)[middle], PA_PER_V, rtol=0.02)


def test_travel_is_seen_in_the_arrival():
    """48 samples at 343 m/s are 0.343 m: the stated distance fits and nothing is said; 2 m would be doubted."""
    assert not any(v.code == "arrival" for v in analyse(take(), SWEEP, CONDITIONS, OPEN).verdicts)
    wrong = replace(CONDITIONS, distance_m=2.0)
    assert any(v.code == "arrival" for v in analyse(take(), SWEEP, wrong, OPEN).verdicts)


def test_a_role_is_given_once():
    """Two microphones in one recording are refused."""
    with pytest.raises(InputError, match="one channel only"):
        Recording(samples=np.zeros((2, 10)), rate_hz=48_000, roles=(Role.MICROPHONE, Role.MICROPHONE))


def test_a_voltage_without_a_scale_takes_the_stated_size():
    """Shape and phase come from the channel, the size from drive_v; the impedance is not made up."""
    stated = replace(CONDITIONS, drive_v=SWEEP.level * 10.0 / np.sqrt(2))
    whole = take(current=SWEEP.samples() * 10.0 / 6.0)
    full = analyse(whole, SWEEP, CONDITIONS, OPEN)
    unscaled = replace(whole, scales={r: s for r, s in whole.scales.items() if r is not Role.VOLTAGE})
    found = analyse(unscaled, SWEEP, stated, OPEN)
    assert np.allclose(db(found.voltage_v / full.voltage_v), 0, atol=0.05)
    assert np.allclose(found.pressure_pa, full.pressure_pa, rtol=1e-9)
    assert not found.voltage_recorded
    assert found.impedance_ohm is None
    assert any(v.code == "impedance-without-scale" for v in found.verdicts)
    with pytest.raises(InputError, match="without a scale"):
        analyse(unscaled, SWEEP, CONDITIONS, OPEN)
