"""Impedance from voltage and current without a microphone: against SciPy's filters and a stored solver's truth."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import bilinear, freqz, lfilter

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.impedances.impedance_checks import checked
from halfroll.measure.impedances.impedance_sweep import impedance_of_recording, impedance_of_response
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep
from tests.measure.bench import noise
from tests.measure.conftest import described_sweep, load_recording, load_response, load_truth

SWEEP = Sweep(start_hz=10.0, duration_s=4.0, silence_before_s=0.4, silence_after_s=0.8)
RE, RES, QMS, FS, LE = 6.0, 25.0, 4.0, 55.0, 0.5e-3
V_SCALE, I_SCALE = 2.0, 0.5


def admittance() -> tuple[FloatArray, FloatArray]:
    """Digital filter (b, a) of 1/(Re + sLe + Res s(ws/Qms)/(s² + s ws/Qms + ws²)), bilinear at the sweep's rate."""
    ws = 2 * np.pi * FS
    resonance = np.array([1.0, ws / QMS, ws**2])
    denominator = np.polyadd(np.polymul([LE, RE], resonance), [RES * ws / QMS, 0.0])
    b, a = bilinear(resonance, denominator, SWEEP.rate_hz)
    return np.asarray(b), np.asarray(a)


def truth(frequency_hz: FloatArray) -> FloatArray:
    """Impedance the filter has, as SciPy says (scipy.signal.freqz)."""
    _, h = freqz(*admittance(), worN=2 * np.pi * frequency_hz / SWEEP.rate_hz)
    return np.asarray(1.0 / h)


def electrical(hiss: float = 0.0, *, current_gain: float = 1.0, seed: int = 1) -> Recording:
    """Voltage and current of the filter, with white noise of an r.m.s. level re full scale in both channels."""
    volts = SWEEP.samples()
    amps = lfilter(*admittance(), volts * V_SCALE) / I_SCALE * current_gain
    n = len(volts)
    samples = np.stack([volts + noise(hiss, n, seed), amps + noise(hiss, n, seed + 1)])
    return Recording(
        samples=samples,
        rate_hz=SWEEP.rate_hz,
        roles=(Role.VOLTAGE, Role.CURRENT),
        scales={
            Role.VOLTAGE: Scale(per_full_scale=V_SCALE, u_db=0.03),
            Role.CURRENT: Scale(per_full_scale=I_SCALE, u_db=0.04),
        },
    )


def test_a_linear_impedance_is_recovered() -> None:
    """Against scipy.signal.freqz: within 0.1 % from an octave over the start of the sweep on, within 0.5 % below; the stated
    uncertainty covers both. Scales' uncertainty adds up as 5/100 dB.
    """
    found = impedance_of_recording(electrical(1e-7), SWEEP)
    error = np.abs(found.impedance_ohm / truth(found.frequency_hz) - 1.0)
    assert error[found.frequency_hz >= 2.0 * SWEEP.start_hz].max() < 1e-3
    assert error.max() < 5e-3
    assert found.u_ohm is not None
    assert np.sqrt(np.mean((error / (found.u_ohm / found.modulus_ohm)) ** 2)) < 1.0
    assert found.frequency_hz[0] < 12.5
    assert found.scale_u == pytest.approx(0.05 * np.log(10) / 20)
    assert found.verdicts == ()


def test_the_noise_is_as_large_as_stated() -> None:
    """With audible hiss, errors of the modulus over their stated uncertainty have unit variance (10 draws of noise)."""
    ratios = []
    for seed in range(0, 20, 2):
        found = impedance_of_recording(electrical(1e-3, seed=seed), SWEEP)
        assert found.u_ohm is not None
        ratios.append((found.modulus_ohm - np.abs(truth(found.frequency_hz))) / found.u_ohm)
    assert np.sqrt(np.mean(np.square(ratios))) == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(("case", "name", "worst"), [("main", "main_clean.flac", 0.004)])
def test_impedance_at_one_watt_of_a_nonlinear_driver(case: str, name: str, worst: float) -> None:
    """Modulus of voltage over current at the fundamental against harmonic balance (tests/references/nonlinear_driver,
    checked there against ngspice and SciPy), 30 Hz to 5 kHz: within 0.4 %. Each tone of the truth has settled, the sweep runs
    through, so the two differ a little where the stiffness bends.
    """
    found = impedance_of_recording(load_recording(name), described_sweep())
    rows = load_truth()["cases"][case]["with_shunt"]
    at = np.array([row["f_Hz"] for row in rows])
    z1 = np.array([row["Z1_ohm_abs"] for row in rows])
    ours = np.exp(np.interp(np.log(at), np.log(found.frequency_hz), np.log(found.modulus_ohm)))
    assert np.max(np.abs(ours / z1 - 1.0)) < worst


def test_a_take_gives_the_same_as_its_voltage_and_current() -> None:
    """With a microphone beside them or without, voltage over current is the same number."""
    alone = impedance_of_recording(load_recording("main_clean.flac"), described_sweep())
    taken = impedance_of_response(load_response("main_clean.flac"), scale_u=0.01)
    np.testing.assert_allclose(taken.impedance_ohm, alone.impedance_ohm, rtol=1e-9)


def codes(curve: ImpedanceCurve) -> dict[str, Severity]:
    """What was said, and how gravely."""
    return {v.code: v.severity for v in curve.verdicts}


def test_what_is_wrong_with_a_recording() -> None:
    """Swapped channels, a reversed current, a shunt ten times off, clipping, noise: each has its word."""
    good = electrical(1e-6)
    swapped = replace(good, roles=(Role.CURRENT, Role.VOLTAGE))
    assert codes(impedance_of_recording(swapped, SWEEP))["swapped-channels"] is Severity.BAD
    turned = checked(impedance_of_recording(electrical(1e-6, current_gain=-1.0), SWEEP))
    assert codes(turned) == {"current-reversed": Severity.CAUTION}
    np.testing.assert_allclose(turned.impedance_ohm, truth(turned.frequency_hz), rtol=5e-3)
    for gain, words in ((10.0, "ten times too small"), (0.1, "ten times too large")):
        off = checked(impedance_of_recording(electrical(1e-7, current_gain=gain), SWEEP), re_ohm=6.0)
        assert codes(off)["impedance-unexpected"] is Severity.BAD
        assert words in next(v.remedy for v in off.verdicts if v.code == "impedance-unexpected")
    clipped = replace(good, samples=np.clip(3.0 * good.samples, -1.0, 1.0))
    assert codes(impedance_of_recording(clipped, SWEEP))["clipped"] is Severity.BAD
    noisy = codes(checked(impedance_of_recording(electrical(0.1), SWEEP)))
    assert noisy["impedance-under-noise"] is Severity.BAD
    short = replace(SWEEP, silence_before_s=0.0, silence_after_s=0.0)
    bare = Recording(samples=electrical().samples[:, SWEEP.start_sample : SWEEP.start_sample + SWEEP.sweep_length],
                     rate_hz=SWEEP.rate_hz, roles=good.roles, scales=good.scales)  # fmt: skip
    found = impedance_of_recording(bare, short)
    assert "no-silence" in codes(found)
    assert found.u_ohm is None


def test_nothing_is_said_of_a_good_curve() -> None:
    """A rated impedance of 8 ohm fits a driver of 6 ohm; a phase as measured is left alone."""
    curve = checked(impedance_of_recording(electrical(1e-6), SWEEP), rated_ohm=8.0)
    assert codes(curve) == {}


def test_a_phase_of_the_wrong_sign_is_turned() -> None:
    """Current over voltage has the phase with the other sign; a loudspeaker cannot, so it is turned and said."""
    curve = impedance_of_recording(electrical(1e-6), SWEEP)
    wrong = checked(replace(curve, impedance_ohm=np.conj(curve.impedance_ohm)))
    assert codes(wrong) == {"phase-reversed": Severity.CAUTION}
    np.testing.assert_allclose(wrong.impedance_ohm, curve.impedance_ohm)


def test_what_cannot_be_an_impedance_is_refused() -> None:
    """No current, no scale, silence, too short, not a number: an `InputError` each."""
    good = electrical()
    wrong = {
        "needs a voltage and a current channel": replace(good, roles=(Role.VOLTAGE, Role.MICROPHONE)),
        "needs the scales": replace(good, scales={}),
        "silent": replace(good, samples=good.samples * np.array([[1.0], [0.0]])),
        "shorter": replace(good, samples=good.samples[:, :20_000]),
        "must be a number": replace(good, samples=np.where(np.arange(good.samples.shape[1]) == 9, np.nan, good.samples)),
    }  # fmt: skip
    for words, recording in wrong.items():
        with pytest.raises(InputError, match=words):
            impedance_of_recording(recording, SWEEP)
    for ohm in (0.0, 1e-7, 1e10):
        curve = impedance_of_recording(good, SWEEP)
        with pytest.raises(
            InputError, match=r"one that can be measured; found .* at 1000 Hz.* 1e-06 to 1e\+09 ohm"
        ):
            replace(
                curve,
                impedance_ohm=np.where(np.isclose(curve.frequency_hz, 1000.0), ohm, curve.impedance_ohm),
            )
    with pytest.raises(InputError, match="recording is empty"):
        replace(good, samples=good.samples[:, :0])
    with pytest.raises(InputError, match="no impedance"):
        impedance_of_response(replace(load_response("main_clean.flac"), impedance_ohm=None), scale_u=0.0)
