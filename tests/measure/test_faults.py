"""Faulty recordings: each fault is recognised and said, and sound recordings are left alone."""

from dataclasses import replace

import numpy as np
import pytest
import soxr

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.core.verdicts import Severity
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from tests.measure.bench import CONDITIONS, SWEEP, noise, passed, take

OPEN = AnalysisSettings(gate="none")


def codes(recording, sweep=SWEEP, conditions=CONDITIONS):
    """Verdict codes of an analysis with their severity."""
    return {v.code: v.severity for v in analyse(recording, sweep, conditions, OPEN).verdicts}


def refusal(recording, sweep=SWEEP, conditions=CONDITIONS):
    """The message of an analysis that must refuse."""
    with pytest.raises(InputError) as caught:
        analyse(recording, sweep, conditions, OPEN)
    return str(caught.value)


def test_a_sound_recording_is_not_blamed():
    """The faultless bench raises nothing."""
    mic = passed(SWEEP.samples())
    assert codes(take(mic=mic + noise(1e-5, len(mic)))) == {}


def test_clipping_at_full_scale():
    """A microphone driven over full scale."""
    mic = np.clip(3.0 * passed(SWEEP.samples()), -1.0, 1.0)
    assert codes(take(mic=mic))["clipped"] is Severity.BAD


def test_clipping_before_the_converter():
    """Flat tops below full scale."""
    mic = np.clip(passed(SWEEP.samples()), -0.3, 0.3)
    assert codes(take(mic=mic))["flat-topped"] is Severity.BAD


def test_a_gap_of_silence():
    """128 samples of nothing in the microphone channel."""
    mic = passed(SWEEP.samples())
    mic[70_000:70_128] = 0.0
    assert codes(take(mic=mic))["dropout"] is Severity.BAD


def test_a_click():
    """One sample out of place in the bass part."""
    mic = passed(SWEEP.samples()) + noise(1e-5, SWEEP.length)
    mic[60_000] += 0.05
    assert codes(take(mic=mic))["click"] is Severity.CAUTION


@pytest.mark.parametrize("lost", [64, 512])
def test_lost_samples(lost):
    """A buffer that went missing in all channels shifts what follows."""
    whole = take()
    at = 90_000
    kept = np.concatenate([whole.samples[:, :at], whole.samples[:, at + lost :], np.zeros((2, lost))], axis=1)
    found = analyse(replace(whole, samples=kept), SWEEP, CONDITIONS, OPEN)
    said = next(v for v in found.verdicts if v.code == "samples-lost")
    assert said.severity is Severity.BAD
    assert said.data["samples"] == pytest.approx(lost, abs=3, rel=0.12)
    assert "lost" in said.text


@pytest.mark.parametrize("lost", [48, 1024])
def test_lost_samples_in_the_bass(lost):
    """Lost where the delay says little yet: the cut stands in all channels at the same sample, which no sound does."""
    whole = take()
    at = round(0.2 * whole.samples.shape[1])
    kept = np.concatenate([whole.samples[:, :at], whole.samples[:, at + lost :], np.zeros((2, lost))], axis=1)
    found = analyse(replace(whole, samples=kept), SWEEP, CONDITIONS, OPEN)
    assert not found.usable
    said = [v for v in found.verdicts if v.code == "samples-lost"]
    assert any(v.data.get("at_s", 0.0) == pytest.approx(at / SWEEP.rate_hz, abs=2e-3) for v in said)


def test_clock_drift_is_corrected_and_said():
    """A recorder 100 ppm fast: said within 2 ppm, and the response still agrees with the undisturbed one."""
    whole = take()
    stretched = soxr.resample(whole.samples.T, 1.0, 1.0001, quality="VHQ").T
    found = analyse(replace(whole, samples=np.ascontiguousarray(stretched)), SWEEP, CONDITIONS, OPEN)
    said = next(v for v in found.verdicts if v.code == "clock-drift")
    assert said.data["drift_ppm"] == pytest.approx(100, abs=2)
    reference = analyse(whole, SWEEP, CONDITIONS, OPEN)
    middle = (found.frequency_hz > 40) & (found.frequency_hz < 12_000)
    expected = np.interp(found.frequency_hz[middle], reference.frequency_hz, reference.level_pa())
    assert np.max(np.abs(20 * np.log10(found.level_pa()[middle] / expected))) < 0.05


def test_sample_rate_mismatch():
    """Recorded at 44.1 kHz but labelled 48 kHz."""
    whole = take()
    slow = soxr.resample(whole.samples.T, 48_000, 44_100).T
    text = refusal(replace(whole, samples=np.ascontiguousarray(slow)))
    assert "sample rate" in text
    assert "44100" in text


def test_wrong_sweep_parameters():
    """Another duration than the record says: both lengths are named."""
    text = refusal(take(), sweep=replace(SWEEP, duration_s=5.0))
    assert "another sweep" in text
    assert "3.0" in text
    assert "5.00 s" in text


def test_no_sweep_at_all():
    """Noise is not a sweep."""
    assert "no exponential sweep" in refusal(
        take(mic=noise(0.1, SWEEP.length), voltage=noise(0.1, SWEEP.length, 2))
    )


def test_a_sweep_cut_off():
    """Recording started too late."""
    whole = take()
    text = refusal(replace(whole, samples=whole.samples[:, 60_000:]))
    assert "beginning of the sweep" in text
    assert "end of the sweep" in refusal(replace(whole, samples=whole.samples[:, :130_000]))


def test_swapped_microphone_and_voltage():
    """The flat channel is the voltage."""
    signal = SWEEP.samples()
    assert codes(take(mic=signal, voltage=passed(signal)))["swapped-channels"] is Severity.BAD


def test_swapped_voltage_and_current():
    """A current that does not vary and a voltage that does."""
    signal = SWEEP.samples()
    found = codes(take(mic=passed(signal), voltage=0.2 * passed(signal), current=signal))
    assert found["swapped-channels"] is Severity.BAD


def test_too_little_signal():
    """The sweep drowns in noise."""
    mic = 0.001 * passed(SWEEP.samples()) + noise(3e-3, SWEEP.length)
    found = codes(take(mic=mic))
    assert found["too-little-signal"] is Severity.BAD


def test_voltage_differs_from_what_is_stated():
    """Twice the stated voltage is 6 dB and is said."""
    stated = replace(CONDITIONS, drive_v=SWEEP.level * 10 / np.sqrt(2) / 2)
    assert codes(take(), conditions=stated)["drive-mismatch"] is Severity.CAUTION


def test_impedance_of_a_wrong_shunt():
    """A shunt ten times off gives an impedance no loudspeaker has."""
    signal = SWEEP.samples()
    assert codes(take(current=signal * 100.0))["impedance-scale"] is Severity.CAUTION


def test_no_silence_to_read_noise_from():
    """Without silence the noise is unknown, not zero."""
    sweep = replace(SWEEP, silence_before_s=0.02, silence_after_s=0.1)
    found = analyse(take(sweep=sweep), sweep, CONDITIONS, OPEN)
    assert np.isnan(found.noise_pa).all()
    assert any(v.code == "no-silence" for v in found.verdicts)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda r: replace(r, rate_hz=3), "sample rate"),
        (
            lambda r: replace(r, samples=np.where(np.arange(r.samples.shape[1]) == 99, np.nan, r.samples)),
            "number",
        ),
        (lambda r: replace(r, samples=r.samples[:, :1000]), "shorter than the sweep"),
        (lambda r: replace(r, samples=0 * r.samples), "silent"),
    ],
)
def test_what_cannot_be_analysed(change, words):
    """Wrong rate, NaN, far too short, silent: a sentence each."""
    assert words in refusal(change(take()))


def test_no_voltage_known():
    """Neither recorded nor stated."""
    assert "drive_v" in refusal(take(voltage=False))


def test_impossible_gate():
    """A gate shorter than half a millisecond."""
    with pytest.raises(InputError, match="gate"):
        analyse(take(), SWEEP, CONDITIONS, AnalysisSettings(gate=1e-5))


def test_analysis_can_be_cancelled():
    """A cancelled token stops the work at its next step."""
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        analyse(take(), SWEEP, CONDITIONS, OPEN, progress=token.wrap(silent))
