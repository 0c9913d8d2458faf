"""Cabinets from the command line: listed, shown with a driver, suggested, made, and what is refused."""

import json
import xml.etree.ElementTree as ET

import pytest

from halfroll.cli.main import run
from tests.cli.test_windings import described_all

ENTERED = """
[parameters]
re_ohm = 6.0
bl_n_per_a = 6.0
mms_g = 12.0
fs_hz = 48.0
qms = 3.65
le_mh = 0.05
travel_mm = 4
"""
"""About the worked driver of the definitions: Qts 0.52."""

BOX = (
    "--type",
    "vented",
    "--inside",
    200,
    300,
    150,
    "--wall",
    6,
    "--material",
    "petg",
    "--port-diameter",
    45,
    "--tuning",
    50,
    "--ql",
    7,
)


@pytest.fixture
def shop(tmp_path):
    """A workshop with one driver known by its data sheet."""
    folder = tmp_path / "shop"
    assert run(["init", str(folder), "--name", "Saltmarsh Workshop"]) == 0
    version = folder / "drivers" / "knot" / "v1"
    version.mkdir(parents=True)
    (version.parent / "driver.toml").write_text('format = 1\ntitle = "Knot"\n')
    (version / "version.toml").write_text("format = 1\neffective_area_cm2 = 133\n" + ENTERED)
    return folder


def test_made_listed_and_shown(shop, say, ask):
    """The way of a cabinet; the objects are those described."""
    code, _, err = say("--workshop", shop, "cabinet", "list")
    assert code == 0
    assert "No cabinets yet" in err
    code, _, err = say("--workshop", shop, "cabinet", "new", "reed-box", *BOX, "--driver", "knot/v1")
    assert code == 0, err
    listed = ask("--workshop", shop, "cabinet", "list")
    assert listed.keys() == described_all("halfroll cabinet list")
    assert listed["cabinets"][0].keys() == {"id", "title", "driver"} | described_all("cabinet")
    assert listed["cabinets"][0]["tuning_hz"] == pytest.approx(50.0, rel=1e-5)
    shown = ask("--workshop", shop, "cabinet", "show", "reed-box", "--curves", "--volts", 4)
    assert shown.keys() == described_all("halfroll cabinet show")
    assert shown["drive"]["volts"] == 4
    assert 40 < shown["figures"]["f3_hz"]["value"] < 80
    assert len(shown["curves"]["level_db"]) == len(shown["curves"]["frequency_hz"])
    code, out, _ = say("--workshop", shop, "cabinet", "show", "reed-box", "--source", "entered")
    assert code == 0
    assert "Air in the port at" in out


def test_without_a_driver(shop, say, ask):
    """The cabinet alone: its volume and tuning, and what is said of its walls."""
    assert say("--workshop", shop, "cabinet", "new", "reed-box", *BOX)[0] == 0
    shown = ask("--workshop", shop, "cabinet", "show", "reed-box")
    assert shown.keys() == described_all("halfroll cabinet show") - {"figures", "drive", "curves"}
    assert "walls-resonate" in {one["code"] for one in shown["verdicts"]}


def test_pictures(shop, say, tmp_path):
    """Drawing and chart as SVG; a chart that is none names those there are."""
    assert say("--workshop", shop, "cabinet", "new", "hide-box", "--type", "closed", "--volume", 5)[0] == 0
    for name, more in (("drawing", ()), ("level", ("--chart", "level", "--driver", "knot/v1"))):
        path = tmp_path / f"{name}.svg"
        assert say("--workshop", shop, "cabinet", "show", "hide-box", "--svg", path, *more)[0] == 0
        assert ET.parse(path).getroot().tag.endswith("svg")
    code, _, err = say(
        "--workshop",
        shop,
        "cabinet",
        "show",
        "hide-box",
        "--svg",
        tmp_path / "x.svg",
        "--chart",
        "port",
        "--driver",
        "knot/v1",
    )
    assert code == 2
    assert "level, travel, delay, impedance" in err


def test_suggested(shop, say, ask):
    """Suggestions keep the volume; one is made into a cabinet that does what was suggested."""
    found = ask("--workshop", shop, "cabinet", "suggest", "knot/v1", "--most", 20)
    assert found.keys() == described_all("halfroll cabinet suggest")
    best = found["suggestions"][0]
    assert all(one["gross_l"] <= 20.001 for one in found["suggestions"])
    code, _, err = say(
        "--workshop", shop, "cabinet", "suggest", "knot/v1", "--most", 20, "--save", "shelf-box"
    )
    assert code == 0, err
    shown = ask("--workshop", shop, "cabinet", "show", "shelf-box")
    assert shown["figures"]["f3_hz"]["value"] == pytest.approx(best["f3_hz"], rel=0.02)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("show", "nope"), "There is no such cabinet; found 'nope'"),
        (("new", "x", "--type", "vented", "--volume", 3), "port of the cabinet must be stated as a table: a vented cabinet has one"),
        (("new", "x", "--type", "closed", "--volume", -2), "volume_l of the cabinet must be at least 0.01; found -2"),
        (("new", "x", "--type", "vented", "--inside", 100, 100, 100, "--port-diameter", 20, "--port-length", 180), "180 mm in 100 mm"),
        (("new", "x", "--type", "closed", "--volume", 3, "--material", "petg"), "The walls need a thickness"),
        (("suggest", "knot/v1", "--most", 0), "The most a cabinet may hold"),
        (("suggest", "knot/v9", "--most", 2), "knot/v9"),
        (("new", "X Y", "--type", "closed", "--volume", 3), "The name of a cabinet must be plain"),
    ],
)  # fmt: skip
def test_refused(shop, say, words, said):
    """Exit code 2 and a sentence; nothing is written."""
    code, out, err = say("--workshop", shop, "cabinet", *words)
    assert code == 2
    assert said in err
    assert not out
    assert not list((shop / "enclosures").glob("*.toml")) if (shop / "enclosures").exists() else True


def test_broken_ones_are_listed(shop, say, ask):
    """A record with a fault does not hide the others."""
    assert say("--workshop", shop, "cabinet", "new", "hide-box", "--type", "closed", "--volume", 5)[0] == 0
    (shop / "enclosures" / "bad.toml").write_text('format = 1\ntype = "closed"\nvolume_l = "five"\n')
    listed = ask("--workshop", shop, "cabinet", "list")
    assert [one["id"] for one in listed["cabinets"]] == ["hide-box"]
    assert listed["faults"][0]["line"] == 3
    assert json.dumps(listed)
