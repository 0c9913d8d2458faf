"""The main job by command line: from recordings to a comparison, its sheet and its JSON."""

import json
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import soundfile

from halfroll.cli.common import in_lines
from halfroll.measure.sweep import Sweep
from tests.cli.conftest import ROLES, take_id, write_take


def test_sweep_writes_what_it_says(tmp_path, ask):
    """The file holds the sweep of its parameters; a parameter file stands beside it."""
    said = ask("sweep", tmp_path / "s.wav", "--duration", "2", "--level", "0.25")
    samples, rate = soundfile.read(tmp_path / "s.wav")
    expected = Sweep(duration_s=2.0, level=0.25).samples()
    assert rate == 48_000
    assert np.allclose(samples, expected, atol=2**-22)
    assert said["harmonic_2_lead_s"] == pytest.approx(2.0 / np.log(1000) * np.log(2))
    assert (tmp_path / "s.toml").exists()


def test_sweep_warns_the_ears(tmp_path, say):
    """The caution stands on stderr, where the hand is about to play it."""
    _, _, err = say("sweep", tmp_path / "s.wav")
    assert "protect your ears" in err


def test_compare_finds_the_three_decibels(small_workshop, ask):
    """Version 2 was made 3 dB louder, units scatter by 0.1 dB: found, and said to be better."""
    found = ask("--workshop", small_workshop, "compare", "dunlin")
    louder = next(
        d for d in found["differences"] if d["figure"] == "sensitivity_db" and d["version"] == "dunlin/v2"
    )
    assert louder["value"] == pytest.approx(3.0, abs=0.25)
    assert louder["outcome"] == "better"
    same = next(
        d for d in found["differences"] if d["figure"] == "lower_limit_hz" and d["version"] == "dunlin/v2"
    )
    assert same["value"] == pytest.approx(0.0, abs=0.01)
    assert found["changes"]["dunlin/v2"][0]["what"] == "stronger magnet"
    assert any("2.83" in text or "4 ohm" in text or "4\u202fΩ" in text for text in str(found).split('"')), (
        "4 ohm caution"
    )


def test_figures_carry_uncertainty_and_origin(small_workshop, ask):
    """Every figure says value, u, unit, conditions and the takes it came from."""
    versions = ask("--workshop", small_workshop, "figures", "dunlin/v1")["versions"]
    figure = versions[0]["figures"]["sensitivity_db"]
    assert {"value", "u", "unit", "conditions", "from"} <= set(figure)
    assert figure["unit"] == "dB"
    assert len(figure["from"]) == 4
    assert figure["u"] >= np.hypot(0.3, 0.1) * 0.99, "never below the calibration's uncertainty"


def test_analyse_speaks_and_writes_curves(small_workshop, tmp_path, say, ask):
    """Verdicts in words; the curve's level agrees with the figure."""
    take = take_id(small_workshop, "v1-01-a")
    code, out, _ = say(
        "--workshop",
        small_workshop,
        "analyse",
        take,
        "--csv",
        tmp_path / "c.csv",
        "--svg",
        tmp_path / "c.svg",
    )
    assert code == 0
    assert "Sensitivity" in out
    table = np.genfromtxt(tmp_path / "c.csv", delimiter=",", names=True)
    assert {"frequency_hz", "spl_db", "harmonic_2_pa", "noise_1_pa"} <= set(table.dtype.names)
    assert ET.fromstring((tmp_path / "c.svg").read_text()).tag.endswith("svg")
    assert ask("--workshop", small_workshop, "analyse", take)["usable"] is True


def test_sheet_and_charts_are_written(small_workshop, tmp_path, say):
    """PDF sheet, SVG and PNG charts."""
    code, _, err = say("--workshop", small_workshop, "compare", "dunlin", "--pdf", tmp_path / "sheet.pdf")
    assert code == 0, err
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    for chart in ("level", "thd"):
        code, _, err = say("--workshop", small_workshop, "compare", "--chart", chart, "--svg", tmp_path / f"{chart}.svg",
                           "--png", tmp_path / f"{chart}.png")  # fmt: skip
        assert code == 0, err
        assert (tmp_path / f"{chart}.png").read_bytes().startswith(b"\x89PNG")
        ET.fromstring((tmp_path / f"{chart}.svg").read_text())


def test_a_claim_is_borne_or_refused(small_workshop, tmp_path, say, monkeypatch):
    """What the figures bear ends with 0, what they do not with 2 and the reason; JSON is printed either way."""
    monkeypatch.chdir(small_workshop)
    code, out, _ = say("claim", "--of", "dunlin/v2", "It is more than 1.5 dB more sensitive than v1.")
    assert (code, out.split(":")[0]) == (0, "borne out")
    false = ("claim", "--of", "dunlin/v2", "It is more than 4 dB more sensitive than v1.")
    code, out, _ = say(*false, "--json")
    assert code == 2
    assert json.loads(out)["sentences"][0]["outcome"] == "not borne"
    code, _, err = say(*false)
    assert code == 2
    assert "do not bear" in err
    notes = tmp_path / "notes.txt"
    notes.write_text("Printed in grey.\n")
    assert "No sentence" in say("claim", "--file", notes)[1]
    assert say("claim")[0] == 2
    notes.write_bytes(b"\xff\xfe deeper")
    assert "UTF-8" in say("claim", "--file", notes)[2]


def test_the_workshop_is_found_from_inside(small_workshop, monkeypatch, ask):
    """Without --workshop the folder around the current one counts."""
    monkeypatch.chdir(small_workshop / "drivers" / "dunlin")
    assert len(ask("figures")["versions"]) == 2


def test_the_same_recording_twice_is_refused(small_workshop, tmp_path, say):
    """A recording that is in the workshop already is named and not copied again."""
    source = next((small_workshop / "drivers").rglob("*v1-01-a.wav"))
    words = [
        "import",
        source,
        "--unit",
        "dunlin/v2/01",
        "--rig",
        "bench",
        "--roles",
        ROLES,
        "--distance",
        "1",
    ]
    code, _, err = say("--workshop", small_workshop, *words, "--space", "half-space")
    assert code == 2
    assert "already" in err
    assert take_id(small_workshop, "v1-01-a") in err


def test_a_clipped_take_does_not_count(workshop, tmp_path, say, ask):
    """It is imported, blamed, and left out of the figures."""
    assert say("--workshop", workshop, "add", "version", "dunlin/v3", "--impedance", "4")[0] == 0
    assert say("--workshop", workshop, "add", "unit", "dunlin/v3/01")[0] == 0
    clipped = write_take(tmp_path / "loud.wav", spoil=lambda x: np.clip(4 * x, -1, 1 - 2**-23))
    good = write_take(tmp_path / "fine.wav", gain=0.4, seed=77)
    words = [
        "--unit",
        "dunlin/v3/01",
        "--rig",
        "bench",
        "--roles",
        ROLES,
        "--distance",
        "0.343",
        "--space",
        "half-space",
    ]
    say("sweep", tmp_path / "sweep.wav", "--duration", "3", "--before", "0.4", "--after", "0.6")
    assert say("--workshop", workshop, "import", clipped, good, *words, "--gate", "none")[0] == 0
    version = ask("--workshop", workshop, "figures", "dunlin/v3")["versions"][0]
    assert version["takes_used"] == [take_id(workshop, "fine")]
    assert "clipped" in version["takes_left_out"][0]["why"]
    assert version["figures"]["sensitivity_db"]["spread"] == "one take"
    code, out, _ = say("--workshop", workshop, "analyse", take_id(workshop, "loud"))
    assert code == 0
    assert out.startswith("bad: The microphone channel is clipped")


def test_a_terminal_breaks_between_words(monkeypatch) -> None:
    """At 80 columns a long sentence is broken where a word ends and goes on indented; a program gets it whole."""
    text = "caution: " + "the former softens before the wire does, " * 6 + "so take card."
    assert in_lines(text) == text
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    lines = in_lines(text).split("\n")
    assert max(map(len, lines)) <= 80
    assert all(line.startswith("  ") for line in lines[1:])
    assert " ".join(map(str.strip, lines)) == text
