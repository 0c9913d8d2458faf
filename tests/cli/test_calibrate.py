"""The command that calibrates a printing material."""

from __future__ import annotations

import pytest

from halfroll.workshop import Workshop

STRIP = ("--length", 60, "--width", 12, "--thickness", 1.2, "--lines", "crossed")
READ = ("--load", 2, "--sinks", 8.9, "--load", 4, "--sinks", 17.1, "--load", 6, "--sinks", 24.2)


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """An empty workshop one stands in."""
    Workshop.init(tmp_path / "shop", "Test")
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


def test_a_dry_run_saves_nothing_and_a_run_does(shop, say, ask):
    """Words for a person, an object for a program, the same numbers."""
    said = ask("calibrate", "strip", "tpu-95a", *STRIP, *READ, "--dry-run")
    assert (said["saved"], said["result"]["lines"]) == (False, "crossed")
    assert said["low_mpa"] < said["filament"]["modulus_mpa"] < said["high_mpa"]
    assert not (shop / "materials").exists()
    code, out, err = say("calibrate", "strip", "tpu-95a", *STRIP, *READ)
    assert code == 0
    assert "Its uncertainty comes from: thickness" in out
    assert "Saved with its readings in materials/tpu-95a.toml" in err
    shown = ask("calibrate", "show", "tpu-95a")
    assert shown["filament"]["modulus_mpa"] == pytest.approx(said["filament"]["modulus_mpa"])
    assert shown["calibrations"][0]["readings"]["loads_g"] == [2.0, 4.0, 6.0]
    assert "bent strip" in say("calibrate", "show", "tpu-95a")[1]
    listed = ask("catalogue", "filaments", "tpu-95a")
    assert listed["calibrated"] == "strip"


def test_readings_from_a_table(shop, ask, say):
    """Columns by name; a wrong column is told with the line of the head."""
    (shop / "read.csv").write_text("load_g,sinks_mm\n2,8.9\n4,17.1\n6,24.2\n")
    assert (
        len(
            ask("calibrate", "strip", "asa", *STRIP, "--table", "read.csv", "--dry-run")["result"][
                "readings_mpa"
            ]
        )
        == 3
    )
    (shop / "read.csv").write_text("mass,sinks_mm\n2,8.9\n4,17.1\n6,24.2\n")
    code, _, err = say("calibrate", "strip", "asa", *STRIP, "--table", "read.csv")
    assert code == 2
    assert "read.csv:1" in err
    assert "load_g" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("strip", "tpu-95a", *STRIP, "--load", 2, "--sinks", 80), "sinks farther than the strip is long"),
        (("strip", "tpu-95a", *STRIP, "--load", 2, "--sinks", -1), "the way the weight pulls"),
        (("strip", "tpu-95a", *STRIP, "--load", 2), "as many deflections as weights"),
        (("strip", "nosuch", *STRIP, *READ), "There is no filament of that key"),
        (("strip", "n42", *STRIP, *READ), "There is no filament of that key"),
        (("resonance", "tpu-95a", "--resonance", 50), "--mass: Without a unit the numbers must be given"),
        (("creep", "tpu-95a", "--time", 1, "--sinks", 3), "three readings"),
        (("leave-out", "tpu-95a", 1), "no calibrations yet"),
        (("strip", "tpu-95a", *STRIP, *READ, "--date", "yesterday"), "must be a date"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_saved(shop, say, arguments, words):
    """Exit code 2, a sentence, no file."""
    code, _, err = say("calibrate", *arguments)
    assert code == 2
    assert words in err
    assert not (shop / "materials").exists()


def test_resonance_ring_curve_and_creep(shop, ask, say):
    """Each by numbers alone, without a design."""
    found = ask(
        "calibrate",
        "resonance",
        "tpu-95a",
        "--resonance",
        48.42931,
        "--mass",
        12,
        "--predicted",
        1,
        "--reference",
        100,
        "--dry-run",
    )
    assert found["result"]["modulus_mpa"] == pytest.approx(111.11, rel=1e-4)
    found = ask(
        "calibrate",
        "ring",
        "pla",
        "--length",
        60,
        "--width",
        10,
        "--thickness",
        1,
        "--frequency",
        75.39,
        "--dry-run",
    )
    assert found["result"]["modulus_mpa"] == pytest.approx(3500, rel=1e-3)
    (shop / "measured.csv").write_text("x_mm,k_n_mm\n-2,1.2\n0,1.0\n2,1.2\n")
    (shop / "predicted.csv").write_text("x_mm,k_n_mm\n-3,1.8\n-2,1.2\n0,1.0\n2,1.2\n3,1.8\n")
    found = ask(
        "calibrate",
        "curve",
        "tpu-95a",
        "measured.csv",
        "--predicted",
        "predicted.csv",
        "--reference",
        90,
        "--dry-run",
    )
    assert found["result"]["modulus_mpa"] == pytest.approx(90, rel=1e-6)
    code, _, err = say("calibrate", "curve", "tpu-95a", "measured.csv")
    assert code == 2
    assert "A prediction must be named" in err
    times = [
        part
        for t, w in ((1, 10), (10, 10.5), (100, 11), (1000, 11.5))
        for part in ("--time", t, "--sinks", w)
    ]
    assert ask("calibrate", "creep", "tpu-95a", *times)["result"]["creep_per_decade"] == pytest.approx(0.05)


def test_one_is_left_out_and_counts_again(shop, ask):
    """By its number."""
    ask("calibrate", "strip", "tpu-95a", *STRIP, *READ)
    assert ask("calibrate", "leave-out", "tpu-95a", 1)["filament"]["modulus_mpa"] == pytest.approx(123.0)
    assert ask("calibrate", "leave-out", "tpu-95a", 1, "--undo")["filament"]["modulus_mpa"] < 110.0
