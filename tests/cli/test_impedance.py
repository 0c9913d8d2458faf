"""Impedance and parameters from the command line."""

import json

import numpy as np
import pytest

from tests.docs.test_machine_interface import described
from tests.workshop.test_impedance_runs import table


@pytest.fixture
def measured(workshop, tmp_path, ask):
    """The small workshop, its unit dunlin/v1/01 with an effective area and two tables; runs commands in it."""
    record = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    record.write_text(record.read_text() + "effective_area_cm2 = 125.0\n")

    def command(*words):
        return ask("--workshop", workshop, *words)

    command(
        "impedance", "dunlin/v1/01", table(tmp_path / "alone.csv"), "--mounting", "baffle", "--name", "alone"
    )
    command("impedance", "dunlin/v1/01", table(tmp_path / "putty.csv", 0.005, 2), "--mounting", "baffle",
            "--added-mass", "5", "--name", "putty", "--note", "on the dust cap")  # fmt: skip
    return command


def test_import_says_what_was_found(workshop, tmp_path, say, ask):
    """Points, range and verdicts on one line each; as JSON with units in the keys."""
    found = ask("--workshop", workshop, "impedance", "dunlin/v1/02", table(tmp_path / "a.csv"))
    assert found.keys() == described("halfroll impedance")
    assert found["run"] == "dunlin/v1/02/impedance/2026-04-01-alone"
    assert found["points"] == 240
    assert found["band_hz"] == pytest.approx([10.0, 20000.0])
    assert found["phase_known"] is True
    assert found["impedance_min_ohm"] == pytest.approx(6.08, rel=0.03)
    code, _, err = say(
        "--workshop", workshop, "impedance", "dunlin/v1/02", table(tmp_path / "b.csv"), "--volume", "12"
    )
    assert code == 0
    assert "impedance/2026-04-01-box-12-l: 240 points from 10 to 20000 Hz" in err


def test_parameters_and_their_agreement(measured, workshop, say):
    """Values with uncertainty by name, in SI, with the covariance behind ellipses; in words for people."""
    found = measured("parameters", "dunlin/v1/01")
    assert found.keys() == described("halfroll parameters")
    assert found["free"] == "dunlin/v1/01/impedance/alone"
    assert [run["run"].rpartition("/")[2] for run in found["runs"]] == ["alone", "putty"]
    values = found["parameters"]["values"]
    assert values["fs_hz"]["value"] == pytest.approx(56.27, rel=1e-3)
    assert values["mms_kg"]["value"] == pytest.approx(0.010, rel=0.02)
    assert 0 < values["mms_kg"]["u"] < 0.001
    assert np.shape(found["parameters"]["covariance"]["matrix"]) == (len(values),) * 2
    assert [m["method"] for m in found["methods"]] == ["added mass"]
    code, out, _ = say("--workshop", workshop, "parameters", "dunlin/v1/01")
    assert code == 0
    for words in ("with 5 g", "Mms", "by added mass", "N/A"):
        assert words in out.replace("\u202f", " ")
    code, out, _ = say("--workshop", workshop, "parameters", "dunlin/v1/02")
    assert code == 0
    assert "No impedance was measured yet" in out


def test_models_and_range_can_be_chosen(measured):
    """An ideal inductance without creep from 20 to 500 Hz is what was asked for."""
    found = measured("parameters", "dunlin/v1/01", "--coil", "ideal", "--creep", "no", "--band", "20", "500")
    run = found["runs"][0]
    assert (run["coil"], run["creep"]) == ("ideal", False)
    assert [c["coil"] for c in run["candidates"]] == ["ideal"]
    assert run["fit"]["values"]["re_ohm"]["value"] == pytest.approx(6.0, rel=0.01)


def test_pictures(measured, workshop, tmp_path, say):
    """Modulus, phase, residual and pairs can be drawn; a wrong name is answered with the right ones."""
    for chart in ("modulus", "residual", "fs_hz:qts"):
        code, _, err = say(
            "--workshop",
            workshop,
            "parameters",
            "dunlin/v1/01",
            "--chart",
            chart,
            "--svg",
            tmp_path / "a.svg",
        )
        assert code == 0, err
        assert (tmp_path / "a.svg").read_text(encoding="utf-8").startswith("<svg")
    code, _, err = say(
        "--workshop",
        workshop,
        "parameters",
        "dunlin/v1/01",
        "--chart",
        "nyquist",
        "--svg",
        tmp_path / "b.svg",
    )
    assert code == 2
    assert "modulus, phase, residual" in err
    assert not (tmp_path / "b.svg").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--added-mass", "0.012"], "if 0.012 is in kilograms, write 12"),
        (["--added-mass", "3", "--volume", "12"], "one thing at a time"),
        (["--mounting", "closed-box"], "must be given for a closed box"),
        (["--take", "x"], "takes no file"),
    ],
)  # fmt: skip
def test_refusals(workshop, tmp_path, say, words, said):
    """Exit code 2, a sentence, an error object, and nothing in the workshop."""
    file = table(tmp_path / "a.csv")
    code, out, err = say("--workshop", workshop, "impedance", "dunlin/v1/01", file, *words, "--json")
    assert code == 2
    assert said in err
    assert json.loads(out)["error"]["message"]
    assert not (workshop / "drivers/dunlin/v1/units/01/impedance").exists()


def test_wrong_options_of_parameters(measured, workshop, say):
    """A descending range, a resistance of nothing, a run that is not there."""
    for words, said in ((["--band", "500", "20"], "ascending"), (["--re", "-1"], "above 0 ohm"),
                        (["--run", "nothing", "--svg", "x.svg"], "no fit to draw")):  # fmt: skip
        code, _, err = say("--workshop", workshop, "parameters", "dunlin/v1/01", *words)
        assert code == 2
        assert said in err


def test_parameters_stand_among_the_figures(measured, workshop, say):
    """Figures and comparison carry them; versions without runs show no empty rows."""
    found = measured("figures", "dunlin/v1")
    figure = found["versions"][0]["figures"]["mms_g"]
    assert figure["value"] == pytest.approx(10.0, rel=0.02)
    assert figure["from"] == ["dunlin/v1/01/impedance/alone"]
    code, out, _ = say("--workshop", workshop, "figures", "dunlin/v1", "dunlin/v2")
    assert code == 0
    one, _, other = out.partition("Dunlin v2")
    assert "Moving mass Mms" in one
    assert "Moving mass Mms" not in other
    code, out, _ = say("--workshop", workshop, "compare", "dunlin/v1", "dunlin/v2")
    assert code == 0
    assert "Lumped parameters" in out
