"""Microphone sensitivity from a recorded calibrator, against IEC 60942 arithmetic and SciPy's own fit of a sine."""

import numpy as np
import pytest
from scipy.optimize import curve_fit

from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.core.verdicts import Severity
from halfroll.measure.rig.calibrator import Calibrator, microphone_sensitivity
from halfroll.measure.rig.tone import find_tone
from halfroll.measure.sweep import Sweep

RATE = 48_000


def tone(peak=0.1, hertz=1000.0, seconds=6.0, *, noise=1e-4, offset=0.0, lead_s=0.0, seed=1, harmonic=0.0):
    """A calibrator as a microphone records it: silence, then a tone with noise, hum-free, with an offset."""
    rng = np.random.default_rng(seed)
    t = np.arange(round(seconds * RATE)) / RATE
    wave = np.sin(2 * np.pi * hertz * t + 0.4) + harmonic * np.sin(4 * np.pi * hertz * t)
    signal = np.concatenate([np.zeros(round(lead_s * RATE)), peak * wave])
    return signal + offset + noise * rng.standard_normal(signal.size)


@pytest.mark.parametrize(("level", "pascals"), [(94.0, 1.002374), (114.0, 10.02374)])
def test_levels_are_those_of_the_standard(level, pascals):
    """94 dB re 20 µPa are 1.002374 Pa and 114 dB 10.02374 Pa (ISO 1683; principal levels of IEC 60942): a tone of r.m.s. 0.1
    re full scale then stands for ten times that.
    """
    found = microphone_sensitivity(
        tone(peak=0.1 * np.sqrt(2), noise=0.0), RATE, Calibrator(level_db=level, grade="1")
    )
    assert found.pa_per_full_scale == pytest.approx(10 * pascals, rel=2e-6)


@pytest.mark.parametrize("hertz", [249.3, 1000.0, 1003.7])
@pytest.mark.parametrize("offset", [0.0, 0.05])
def test_frequency_and_level_against_scipy(hertz, offset):
    """Frequency and amplitude agree with SciPy's non-linear least squares of a sine with offset, noise 40 dB below."""
    signal = tone(0.2, hertz, 3.0, noise=2e-3, offset=offset)
    found = find_tone(signal, RATE)
    piece = signal[round(found.start_s * RATE) :][: round(found.duration_s * RATE)]
    time = np.arange(piece.size) / RATE
    sine = lambda t, a, f, phase, constant: a * np.sin(2 * np.pi * f * t + phase) + constant  # noqa: E731
    start = (0.19, hertz, 0.4 + 2 * np.pi * hertz * found.start_s, 0.0)
    (peak, frequency, _, constant), _ = curve_fit(sine, time, piece, p0=start)
    assert found.frequency_hz == pytest.approx(frequency, abs=2e-4)
    assert found.peak == pytest.approx(abs(peak), rel=3e-5)
    assert found.offset == pytest.approx(constant, abs=2e-6)
    assert found.residual == pytest.approx(2e-3 / (0.2 / np.sqrt(2)), rel=0.02)


def test_silence_and_handling_before_the_tone_are_left_out():
    """Two seconds of silence and a thump before the tone change nothing."""
    signal = tone(lead_s=2.0)
    signal[RATE : RATE + 4800] += 0.3 * np.hanning(4800)
    found = find_tone(signal, RATE)
    assert found.start_s >= 2.0
    assert found.peak == pytest.approx(0.1, rel=1e-4)
    assert found.duration_s == pytest.approx(6.0, abs=0.25)


def test_the_uncertainty_is_the_calibrators_own_error():
    """200 calibrators whose levels scatter as their certificate says: 92 to 98 % of the results lie within 1.96 u, and the
    r.m.s. error is u within 12 % (JCGM 100:2008, 4.3; the seat's rectangular part is drawn too).
    """
    rng = np.random.default_rng(8)
    u_db, hits, errors = 0.08, 0, []
    for run in range(200):
        off_db = u_db * rng.standard_normal() + rng.uniform(-0.1, 0.1)
        signal = tone(0.1 * 10 ** (off_db / 20), seconds=1.6, noise=1e-3, seed=run)
        found = microphone_sensitivity(signal, RATE, Calibrator(certificate_u_db=u_db))
        errors.append(float(db(found.pa_per_full_scale / (1.0023745 * np.sqrt(2) / 0.1))))
        hits += abs(errors[-1]) <= 1.96 * found.u_db
    assert 184 <= hits <= 196
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(found.u_db, rel=0.12)


def test_budget_of_a_class_1_calibrator():
    """The largest share is the class's limit over the square root of three; shares add by squares."""
    found = microphone_sensitivity(tone(), RATE, Calibrator(grade="1"))
    own = found.contributions[0]
    assert own.u_db == pytest.approx(0.40 / np.sqrt(3))
    assert found.u_db == pytest.approx(np.sqrt(sum(c.u_db**2 for c in found.contributions)))
    assert found.u_db < 1.05 * np.hypot(own.u_db, 0.1 / np.sqrt(3))


def test_pistonphone_goes_with_air_pressure():
    """At 90 kPa a pistonphone gives 20 lg(90/101.325) = -1.029 dB (common practice); a 1 kHz calibrator keeps its level."""
    piston = Calibrator(level_db=114.0, pressure_kpa=90.0)
    low = microphone_sensitivity(tone(hertz=250.0), RATE, piston)
    assert low.level_db == pytest.approx(114.0 - 1.0294, abs=1e-3)
    assert microphone_sensitivity(tone(), RATE, piston).level_db == 114.0
    unstated = microphone_sensitivity(tone(hertz=250.0), RATE, Calibrator(level_db=114.0))
    assert any("air pressure" in c.name for c in unstated.contributions)


def _sweep():
    return Sweep(duration_s=4.0).samples()


def _clipped():
    return np.clip(tone(peak=1.5), -1.0, 1.0)


def _wavering():
    signal = tone(seconds=6.0)
    return signal * (1 + 0.6 * np.sin(2 * np.pi * 0.7 * np.arange(signal.size) / RATE))


@pytest.mark.parametrize(("signal", "words"), [
    (np.zeros(RATE * 3), "silent"),
    (1e-6 * np.random.default_rng(1).standard_normal(RATE * 3), "silent"),
    (0.1 * np.random.default_rng(1).standard_normal(RATE * 3), "steady tone|no tone"),
    (_sweep(), "sweep|frequency changes"),
    (tone(hertz=440.0), "frequency of the calibrator; found 440"),
    (_clipped(), "clipped"),
    (_wavering(), "not steady"),
    (tone(seconds=0.5), "too short"),
], ids=["zeros", "hiss", "noise", "sweep", "440 Hz", "clipped", "wavering", "short"])  # fmt: skip
def test_what_is_no_calibrator_is_refused(signal, words):
    """Each with a sentence that says what was found."""
    with pytest.raises(InputError, match=words):
        microphone_sensitivity(signal, RATE, Calibrator())


@pytest.mark.parametrize("level", [104.0, 90.0, 1.0])
def test_a_level_no_calibrator_has_is_refused(level):
    """104 dB is neither of the principal levels."""
    with pytest.raises(InputError, match="94 or 114 dB"):
        Calibrator(level_db=level)


def test_the_other_level_is_told_by_the_calibration_before():
    """Recorded at 114 dB, stated as 94: 20 dB off the earlier calibration, which must not be taken."""
    before = microphone_sensitivity(tone(0.01), RATE, Calibrator(level_db=94.0)).pa_per_full_scale
    wrong = microphone_sensitivity(tone(0.1), RATE, Calibrator(level_db=94.0), previous_pa=before)
    assert [(v.code, v.severity) for v in wrong.verdicts] == [("calibrator-other-level", Severity.BAD)]
    assert wrong.verdicts[0].data["step_db"] == pytest.approx(-20.0, abs=0.02)
    right = microphone_sensitivity(tone(0.1), RATE, Calibrator(level_db=114.0), previous_pa=before)
    assert right.verdicts == ()
    assert right.pa_per_full_scale == pytest.approx(before, rel=2e-3)


def test_doubts_are_said():
    """A distorted tone, a short one, one that drifts, a gain that moved, and a full scale no microphone has."""
    codes = lambda *a, **k: {v.code for v in microphone_sensitivity(*a, **k).verdicts}  # noqa: E731
    assert "calibrator-impure" in codes(tone(harmonic=0.06), RATE, Calibrator())
    assert "calibrator-short" in codes(tone(seconds=3.0), RATE, Calibrator())
    drifting = tone() * np.linspace(1.0, 0.95, tone().size)
    assert "calibrator-unsteady" in codes(drifting, RATE, Calibrator())
    assert "calibrator-frequency" in codes(tone(hertz=1015.0), RATE, Calibrator())
    usual = microphone_sensitivity(tone(), RATE, Calibrator()).pa_per_full_scale
    assert "calibration-moved" in codes(tone(), RATE, Calibrator(), previous_pa=1.5 * usual)
    assert "calibration-unlikely" in codes(tone(1e-4, noise=1e-7), RATE, Calibrator(level_db=114.0))
    assert codes(tone(), RATE, Calibrator(grade="1")) == set()
