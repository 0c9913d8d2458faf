"""Calibrating a rig by command line: what is kept, what is said, what is refused."""

import numpy as np
import pytest
import soundfile

from tests.measure.test_calibrator import RATE, tone


@pytest.fixture
def bench(workshop, say):
    """A workshop with a fresh rig; runs ``halfroll rig``."""
    assert say("--workshop", workshop, "add", "rig", "spare")[0] == 0

    def command(*words):
        return say("--workshop", workshop, "rig", *words)

    return command


@pytest.fixture
def tones(tmp_path):
    """A calibrator's recording and a 100 Hz tone."""
    soundfile.write(tmp_path / "cal.wav", tone(0.1), RATE, subtype="PCM_24")
    soundfile.write(tmp_path / "loud.wav", tone(0.99), RATE, subtype="PCM_24")
    soundfile.write(tmp_path / "tone.wav", tone(0.2, 100.0), RATE, subtype="PCM_24")
    return tmp_path


def test_microphone_with_its_budget(workshop, bench, tones, ask):
    """94 dB at a peak of 0.1: 14.18 Pa at full scale; the budget's shares and the file are told."""
    found = ask(
        "--workshop",
        workshop,
        "rig",
        "microphone",
        "spare",
        tones / "cal.wav",
        "--class",
        "1",
        "--date",
        "2026-01-10",
    )
    assert found["values"]["pa_per_full_scale"] == pytest.approx(14.176, abs=0.01)
    assert found["values"]["date"] == "2026-01-10"
    assert found["budget"][0]["u_db"] == pytest.approx(0.4 / np.sqrt(3))
    assert found["kept"]
    shown = ask("--workshop", workshop, "rig", "show", "spare")
    assert shown["now"][0]["table"] == "microphone"
    assert shown["now"][0]["value"].startswith("14.18")
    code, out, _ = bench("list")
    assert code == 0
    assert "spare: microphone" in out


def test_words_for_a_person(bench, tones):
    """Budget, limits, and where it was kept."""
    code, out, err = bench("microphone", "spare", tones / "cal.wav")
    assert code == 0
    assert "Uncertainty budget" in out
    assert "rectangular" in out
    assert "Kept in" in err
    assert "Nothing was kept" in bench("microphone", "spare", tones / "cal.wav", "--dry-run")[2]


def test_the_other_level_is_refused(workshop, bench, tones):
    """Recorded 20 dB louder, stated as the same: exit code 2, the record as it was; with the right level it is taken."""
    assert bench("microphone", "spare", tones / "cal.wav")[0] == 0
    before = (workshop / "rigs" / "spare.toml").read_bytes()
    code, _, err = bench("microphone", "spare", tones / "loud.wav")
    assert code == 2
    assert "other level" in err
    assert (workshop / "rigs" / "spare.toml").read_bytes() == before
    assert bench("microphone", "spare", tones / "loud.wav", "--level", "114")[0] == 0
    assert "earlier: microphone" in bench("show", "spare")[1]
    code, _, err = bench("microphone", "spare", tones / "cal.wav", "--level", "104")
    assert code == 2
    assert "94 or 114 dB" in err


def test_voltage_output_current_latency_and_curve(bench, tones):
    """Each by its own command; the amplifier's caution stands before the voltage."""
    meter = ("--reading", "2.83", "--hertz", "100")
    code, out, err = bench("voltage", "spare", tones / "tone.wav", *meter)
    assert code == 0
    assert "bridged" in err
    assert "v_per_full_scale: 20.01" in out
    assert "v_per_full_scale: 8.00" in bench("output", "spare", "--level", "0.5", *meter)[1]
    assert "resistance_ohm: 0.1" in bench("current", "spare", "--shunt", "0.1", "--input-volts", "1")[1]
    assert "samples: 0" in bench("latency", "spare", tones / "tone.wav", "--played", tones / "tone.wav")[1]
    (tones / "mic.csv").write_text("1000,0\n5000,1\n20000,2\n")
    assert bench("microphone", "spare", "--pa", "6.3", "--u", "0.3")[0] == 0
    code, out, _ = bench("correction", "spare", tones / "mic.csv")
    assert code == 0
    assert "covers 1000 to 2e+04 Hz only" in out or "only" in out


@pytest.mark.parametrize(("words", "said"), [
    (("microphone", "spare"), "recording of a calibrator or --pa"),
    (("microphone", "nobody", "--pa", "1"), "There is no rig nobody"),
    (("microphone", "spare", "missing.wav"), "missing"),
    (("current", "spare"), "--shunt or --series"),
    (("current", "spare", "--shunt", "0.1"), "no voltage scale yet"),
    (("output", "spare", "--level", "-6", "--hertz", "100", "--reading", "2.83"), "peak re full scale"),
    (("output", "spare", "--level", "0.5", "--hertz", "100", "--reading", "2.83V"), "as the meter shows it"),
])  # fmt: skip
def test_what_is_wrong_is_said(bench, words, said):
    """Exit code 2 and a sentence."""
    code, _, err = bench(*words)
    assert code == 2
    assert said in err
