"""Wrong input by command line: a clear message, exit code 2, no traceback, nothing lost."""

import json

import numpy as np
import pytest
import soundfile

from halfroll.cli.main import run
from halfroll.motor.field.cutting import not_solved
from tests.cli.conftest import ROLES, take_id, write_take


def files_of(folder):
    """Every file below a folder with its content, derived results left out."""
    return {
        path.relative_to(folder): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    }


def import_into(workshop, *sources, roles=ROLES):
    """The words of an import into the first unit."""
    return ["--workshop", workshop, "import", *sources, "--unit", "dunlin/v1/01", "--rig", "bench", "--roles", roles,
            "--distance", "1", "--space", "half-space"]  # fmt: skip


def text_as_wav(path):
    """A table with the wrong ending."""
    path.write_text("frequency,level\n100,80\n")


def empty(path):
    """No bytes at all."""
    path.write_bytes(b"")


def with_nan(path):
    """One sample that is no number."""
    samples = np.zeros((48_000, 2))
    samples[100] = np.nan
    soundfile.write(path, samples, 48_000, subtype="FLOAT")


def three_hertz(path):
    """A sample rate no converter has."""
    soundfile.write(path, np.full((48_000, 2), 0.1), 3)


def three_channels(path):
    """One channel more than roles."""
    soundfile.write(path, np.full((48_000, 3), 0.1), 48_000)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (text_as_wav, ["bad.wav"]),
        (empty, ["bad.wav", "empty"]),
        (with_nan, ["bad.wav", "number"]),
        (three_hertz, ["bad.wav", "3 Hz"]),
        (three_channels, ["bad.wav", "3 channels"]),
    ],
)
def test_files_that_are_no_recordings(workshop, tmp_path, say, make, words):
    """Text renamed, empty, not-a-number samples, 3 Hz, wrong channel count."""
    bad = tmp_path / "bad.wav"
    make(bad)
    before = files_of(workshop)
    code, _, err = say(*import_into(workshop, bad))
    assert code == 2
    for word in words:
        assert word in err
    assert "Traceback" not in err
    assert files_of(workshop) == before


def test_a_missing_file(workshop, tmp_path, say):
    """The file is named."""
    code, _, err = say(*import_into(workshop, tmp_path / "nowhere.wav"))
    assert code == 2
    assert "nowhere.wav" in err


def test_a_typo_in_a_key(workshop, say):
    """File, line, key, and the key that was meant."""
    path = workshop / "drivers/dunlin/v1/version.toml"
    text = path.read_text().replace("rated_impedance_ohm", "rated_impedence_ohm")
    path.write_text(text)
    code, _, err = say("--workshop", workshop, "figures", "dunlin/v1")
    assert code == 2
    line = next(i for i, row in enumerate(text.splitlines(), 1) if "impedence" in row)
    assert f"version.toml:{line}" in err
    assert "rated_impedence_ohm" in err
    assert "rated_impedance_ohm" in err
    assert path.read_text() == text


def test_a_missing_recording(workshop, ask):
    """A take whose audio is gone is left out and said; the others still count."""
    lost = take_id(workshop, "v1-01-a")
    next((workshop / "drivers/dunlin/v1/units/01").rglob("*v1-01-a.wav")).unlink()
    version = ask("--workshop", workshop, "figures", "dunlin/v1")["versions"][0]
    assert lost not in version["takes_used"]
    assert any(left["take"] == lost for left in version["takes_left_out"])
    assert version["figures"]["sensitivity_db"]["value"] is not None


def test_a_folder_that_cannot_be_written(tmp_path, say):
    """A place where nothing can be made: the kernel's own read-only tree."""
    code, _, err = say("init", "/proc/halfroll-here")
    assert code == 2
    assert "/proc/halfroll-here" in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    "words",
    [
        ["compare", "dunlin/v9"],
        ["compare", "godwit"],
        ["analyse", "dunlin/v1/01/none"],
        ["compare", "dunlin", "--base", "dunlin/v9"],
        ["compare", "dunlin", "--level", "-1"],
        ["compare", "dunlin", "--band", "2000", "200"],
        ["compare", "dunlin", "--chart", "spinner", "--svg", "x.svg"],
        [
            "import",
            "x.wav",
            "--unit",
            "dunlin/v1/01",
            "--rig",
            "bench",
            "--distance",
            "-1",
            "--space",
            "half-space",
        ],
        [
            "import",
            "x.wav",
            "--unit",
            "dunlin/v1/01",
            "--rig",
            "bench",
            "--distance",
            "1",
            "--space",
            "half-space",
            "--roles",
            "mic",
        ],
        ["add", "version", "dunlin/v7", "--impedance", "0"],
        ["sweep", "x.wav", "--start", "0"],
        ["sweep", "x.wav", "--duration", "long"],
        ["unknown-command"],
    ],
)
def test_wrong_words(small_workshop, tmp_path, monkeypatch, say, words):
    """Names that do not exist and values out of range: one sentence, exit code 2."""
    monkeypatch.chdir(tmp_path)
    code, _, err = say("--workshop", small_workshop, *words)
    assert code == 2, err
    assert err.strip()
    assert "Traceback" not in err
    assert not list(tmp_path.glob("x.*"))


def test_errors_are_json_for_machines(small_workshop, say):
    """With --json the error stands on stdout as an object as well."""
    code, out, _ = say("--workshop", small_workshop, "compare", "godwit", "--json")
    assert code == 2
    assert json.loads(out)["error"]["message"]


@pytest.mark.parametrize(("words", "key"), [
    (["motor", "dunlin/v1", "--coil-offset", "0,3"], "--coil-offset"),
    (["windings", "dunlin/v1", "--most", "0"], "--most"),
    (["motor"], "DRIVER/VERSION"),
    (["motor", "dunlin/v1", "--coil-ofset", "1"], "--coil-ofset"),
    (["parts", "add", "ring", "--shape", "ring"], "--type"),
])  # fmt: skip
def test_a_wrong_option_is_named_for_machines(small_workshop, say, words, key):
    """An option that is wrong, unknown or missing has its own key."""
    code, out, _ = say("--workshop", small_workshop, *words, "--json")
    assert (code, json.loads(out)["error"]["key"]) == (2, key)


def test_a_fault_of_ours_is_one_sentence(monkeypatch, tmp_path, capsys):
    """Whatever breaks inside: a sentence, exit code 1, the trace in a file."""
    monkeypatch.setattr("halfroll.measure.sweep.Sweep.samples", lambda self: 1 / 0)
    assert run(["sweep", str(tmp_path / "s.wav")]) == 1
    err = capsys.readouterr().err
    assert "fault in halfroll" in err
    assert "Traceback" not in err
    assert not (tmp_path / "s.wav").exists()


def test_a_field_not_found_is_a_fault_of_ours(monkeypatch, capsys):
    """What was asked is right and cannot be done: exit code 1, and what helps meanwhile."""

    def give_up(self: object) -> None:
        raise not_solved("The field of the motor was not found")

    monkeypatch.setattr("halfroll.measure.sweep.Sweep.samples", give_up)
    assert run(["sweep", "s.wav"]) == 1
    assert "not of your motor" in capsys.readouterr().err


def test_not_a_workshop(tmp_path, say):
    """An ordinary folder is no workshop, and how to make one is said."""
    code, _, err = say("--workshop", tmp_path, "compare")
    assert code == 2
    assert "halfroll init" in err


def test_every_spoiled_file_is_named(workshop, tmp_path, say):
    """Two bad files and no good one: both are named, nothing is imported."""
    bad = tmp_path / "bad.wav"
    text_as_wav(bad)
    before = files_of(workshop)
    code, _, err = say(*import_into(workshop, bad, tmp_path / "gone.wav"))
    assert code == 2
    assert "bad.wav" in err
    assert "gone.wav" in err
    assert files_of(workshop) == before


def test_a_spoiled_import_does_not_hold_up_the_others(workshop, tmp_path, say):
    """One bad file among good ones: the good ones are imported, the bad one is named, exit code 2."""
    bad = tmp_path / "bad.wav"
    text_as_wav(bad)
    good = write_take(tmp_path / "good.wav", seed=99)
    code, _, err = say(*import_into(workshop, bad, good))
    assert code == 2
    assert "bad.wav" in err
    assert f"Imported {take_id(workshop, 'good')}" in err
