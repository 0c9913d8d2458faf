"""Tones, levels and power on the command line."""

import json

import pytest

from tests.tones_shop import UNIT, shop, volts_at, with_series


@pytest.fixture
def lawn(tmp_path):
    """A workshop with one series of tones."""
    return with_series(tmp_path / "shop").folder


def test_levels_as_json(lawn, ask):
    """One object: where it comes from, curves with uncertainty, the highest level; keys carry units."""
    found = ask("--workshop", lawn, "levels", UNIT, "--limit", 5, "--bass", 50, 100, "--thd", "fundamental")
    series = found["series"]["lawn"]
    assert series["from"] == [f"{UNIT}/tones/lawn"]
    band = series["curves"][0]
    assert band["band_hz"] == [50.0, 100.0]
    assert band["highest"][0]["level_v"] == pytest.approx(volts_at(0.05), rel=6e-3)
    assert band["highest"][0]["level_w"] == pytest.approx(volts_at(0.05) ** 2 / 8, rel=1.2e-2)
    assert "two levels" in found["missing"]["sweeps"]


def test_levels_in_words_and_picture(lawn, say, tmp_path):
    """A line for each tone and limit, and a chart."""
    picture = tmp_path / "levels.svg"
    code, out, _ = say("--workshop", lawn, "levels", UNIT, "--bass", 50, 100, "--svg", picture)
    assert code == 0
    assert "mean 50 to 100 Hz" in out
    assert "at least" in out
    assert picture.read_text().startswith("<svg")


def test_tones_shown_again(lawn, ask, tmp_path):
    """Every tone with THD, harmonics and certainty, from the stored recording; a table on request."""
    csv = tmp_path / "tones.csv"
    found = ask("--workshop", lawn, "tones", "show", f"{UNIT}/tones/lawn", "--csv", csv)
    assert len(found["tones"]) == 17
    tone = found["tones"][0]
    assert {
        "frequency_hz",
        "level_v",
        "voltage_v",
        "spl_db",
        "thd_percent",
        "thd_u_percent",
        "settled",
    } <= tone.keys()
    head = csv.read_text().split("\n")[0]
    assert head.startswith("frequency_hz,level_v,voltage_v,order_1_pa")


def test_power_step_by_step(tmp_path, say, ask):
    """Steps are added and judged; a failed one shows in the exit of the log, not of the command."""
    folder = shop(tmp_path / "shop").folder
    code, out, err = say(
        "--workshop", folder, "power", "add", UNIT, "--watts", 2, "--hours", 8, "--filament-bears", 60
    )
    assert (code, "2.00" in out) == (0, True)
    assert "Step 1" in err
    found = ask("--workshop", folder, "power", "add", UNIT, "--volts", 6, "--hours", 1, "--re-before", 6, "--re-warm", 7.5, "--temperature", 20)  # fmt: skip
    step = found["steps"][1]
    assert step["coil_temperature_c"] == pytest.approx(20 + 0.25 / 0.00393, abs=0.01)
    assert [v["code"] for v in step["verdicts"]] == ["coil-too-hot"]
    assert found["borne_v"] == pytest.approx(4.0)
    assert ask("--workshop", folder, "power", "show", UNIT) == found


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["levels", "plover/v1/09"], "There is no unit"),
        (["levels", UNIT], "Nothing of plover/v1/01"),
        (["levels", UNIT, "--limit", "0"], "above 0 and below 300 %"),
        (["levels", UNIT, "--source", "sweeps"], "gives no distortion against level"),
        (["levels", UNIT, "--bass", "100", "50"], "ascending"),
        (["tones", "show", f"{UNIT}/tones/none"], "There is no run"),
        (["tones", "measure", UNIT, "--rig", "bench", "--to", "50", "--distance", "1", "--space", "half-space", "--yes"], "above"),
        (["tones", "measure", UNIT, "--rig", "bench", "--to", "2", "--distance", "1", "--space", "half-space"], "--yes"),
        (["power", "add", UNIT, "--hours", "1"], "Either volts or watts"),
        (["power", "add", UNIT, "--hours", "1", "--volts", "2", "--watts", "2"], "Either volts or watts"),
        (["power", "add", UNIT, "--hours", "-1", "--volts", "2"], "hours"),
        (["power", "add", UNIT, "--hours", "1", "--volts", "2", "--re-before", "6", "--re-warm", "60"], "one coil"),
        (["power", "show", UNIT], "no log"),
    ],
)  # fmt: skip
def test_refusals(tmp_path, say, words, said):
    """Each wrong line gives exit code 2, a sentence, the same as JSON, and leaves no trace in the workshop."""
    folder = shop(tmp_path / "shop").folder
    before = sorted(p for p in folder.rglob("*.toml"))
    code, out, err = say("--workshop", folder, *words, "--json")
    assert code == 2
    assert said in err
    assert said in json.loads(out)["error"]["message"] or said in out
    assert sorted(p for p in folder.rglob("*.toml")) == before
