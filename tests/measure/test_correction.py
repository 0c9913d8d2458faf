"""A microphone's correction curve, against a signal that really went through a microphone made by SciPy (freqz)."""

import numpy as np
import pytest
from scipy.signal import freqz, iirpeak, lfilter

from halfroll.core.errors import InputError
from halfroll.core.levels import db
from halfroll.core.verdicts import Severity
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.recording import Recording
from halfroll.measure.rig.correction import Correction, range_verdict
from tests.measure.bench import CONDITIONS, SWEEP, noise, passed, take

OPEN = AnalysisSettings(gate="none")
_B, _A = iirpeak(7000.0, 0.8, fs=48_000)
MICROPHONE = (_A + 0.8 * _B, _A)
"""Flat with a broad rise of 5.1 dB at 7 kHz: 1 + 0.8 times a resonance."""


def curve(low=20.0, high=20_000.0, points=400, **more):
    """What that microphone reads too high, and its phase, by scipy.signal.freqz."""
    f = np.geomspace(low, high, points)
    _, h = freqz(*MICROPHONE, worN=f, fs=48_000)
    return Correction(frequency_hz=f, level_db=db(h), phase_deg=np.degrees(np.unwrap(np.angle(h))), **more)


def heard(correction=None, microphone=True):
    """A driver with second and third harmonics, through the microphone or not."""
    x = SWEEP.samples()
    sound = passed(x + 0.05 * x**2 + 0.05 * x**3) + noise(1e-5, x.size)
    made = take(mic=lfilter(*MICROPHONE, sound) if microphone else sound)
    return analyse(Recording(samples=made.samples, rate_hz=made.rate_hz, roles=made.roles, scales=made.scales,
                             correction=correction), SWEEP, CONDITIONS, OPEN)  # fmt: skip


def test_fundamental_and_harmonics_are_corrected_at_their_own_frequency():
    """Through the microphone and corrected, the take says what it says without microphone: fundamental within 0.02 dB and
    0.2 degrees, second harmonic (which is heard at twice the frequency) within 0.05 dB.
    """
    plain, raw, mended = heard(microphone=False), heard(), heard(curve())
    f = plain.frequency_hz
    band = (f > 60) & (f < 9000)
    off = db(mended.pressure_pa / plain.pressure_pa)[band]
    assert np.max(np.abs(off)) < 0.02
    assert np.max(np.abs(np.angle(mended.pressure_pa / plain.pressure_pa, deg=True)[band])) < 0.2
    assert np.max(np.abs(db(raw.pressure_pa / plain.pressure_pa)[band])) > 4.5
    second = (f > 200) & (f < 4500)
    ratio = db(mended.harmonics_pa[0, second] / plain.harmonics_pa[0, second])
    assert np.max(np.abs(ratio)) < 0.05
    at_3500 = int(np.argmin(np.abs(f - 3500)))
    assert db(raw.harmonics_pa[0, at_3500] / mended.harmonics_pa[0, at_3500]) == pytest.approx(
        20 * np.log10(1.8), abs=0.05
    )
    noise_ratio = db(raw.noise_pa[1, at_3500] / mended.noise_pa[1, at_3500])
    assert noise_ratio == pytest.approx(20 * np.log10(1.8), abs=0.3)


def test_outside_its_range_nothing_is_corrected_and_it_is_said():
    """A curve from 1 kHz upwards leaves the level below as it was recorded, and says so."""
    raw, mended = heard(), heard(curve(low=1000.0))
    below = raw.frequency_hz < 990
    assert np.array_equal(mended.pressure_pa[below], raw.pressure_pa[below])
    assert mended.corrected_hz == (pytest.approx(1000.0), pytest.approx(20_000.0))
    said = next(v for v in mended.verdicts if v.code == "correction-range")
    assert said.severity is Severity.CAUTION
    assert "below 1" in said.text
    assert "nothing was corrected" in said.text
    assert "correction-range" not in {v.code for v in heard(curve()).verdicts}
    none = range_verdict(curve(low=30_000.0, high=40_000.0), (20.0, 20_000.0))
    assert none is not None
    assert "nothing of this take lies there" in none.text


def test_sign_and_interpolation_by_hand():
    """What reads 6.0206 dB too high is halved; between 100 and 1000 Hz the middle of the logarithmic axis has the mean."""
    two = Correction(
        frequency_hz=np.array([100.0, 1000.0]),
        level_db=np.array([0.0, 6.0206]),
        phase_deg=np.array([0.0, 90.0]),
    )
    assert two.factor(np.array([1000.0]))[0] == pytest.approx(-0.5j, abs=1e-6)
    assert two.level_at(np.array([316.2278]))[0] == pytest.approx(3.0103)
    assert two.factor(np.array([99.0, 1001.0])) == pytest.approx(np.ones(2))
    at_cal = two.relative_to(1000.0)
    assert at_cal.level_db == pytest.approx([-6.0206, 0.0])
    assert two.relative_to(50.0) is two


def test_its_uncertainty_joins_that_of_the_scale():
    """0.3 dB of the scale and 0.4 dB of the curve are 0.5 dB."""
    assert heard(curve(u_db=0.4)).microphone_u_db == pytest.approx(0.5)


@pytest.mark.parametrize(("f", "level", "words"), [
    ([100, 50], [0, 0], "ascending"), ([0, 50], [0, 0], "above 0 Hz"), ([100], [0], "two points"),
    ([100, 200], [94, 95], "deviations of a microphone"), ([100, 200], [np.nan, 0], "number"),
])  # fmt: skip
def test_what_is_no_curve(f, level, words):
    """Frequencies out of order, levels instead of deviations, a single point."""
    with pytest.raises(InputError, match=words):
        Correction(frequency_hz=np.array(f, float), level_db=np.array(level, float))
