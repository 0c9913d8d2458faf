"""``halfroll join``: joining by command line, seen and saved."""

import shutil
import xml.etree.ElementTree as ET

import pytest

from halfroll.workshop import Workshop, joined
from halfroll.workshop.demo_joined import UNIT
from tests.docs.test_machine_interface import described
from tests.workshop.joined_shop import vented_workshop

RECIPE = ("--near", "cone", "--port", "port:12.6", "--far", "far", "--overlap", "300", "900",
          "--baffle", "24", "36", "12", "22")  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Analysed once; copy it, do not write to it."""
    workshop = vented_workshop(tmp_path_factory.mktemp("vented") / "shop")
    joined.joined(workshop, f"{UNIT}/joined/vented")
    return workshop.folder


@pytest.fixture
def shop(made, tmp_path):
    """A copy of it."""
    return shutil.copytree(made, tmp_path / "shop")


def test_preview_saves_nothing(shop, ask, tmp_path):
    """Numbers with units in their keys, a picture, and no run."""
    found = ask("--workshop", shop, "join", UNIT, *RECIPE, "--dry-run", "--svg", tmp_path / "join.svg")
    assert found["run"] is None
    assert found["usable"]
    assert abs(found["join"]["mean_mismatch_db"]) < 0.2
    assert found["join"]["rms_mismatch_db"] < 0.3
    assert found["recipe"]["near"][1] == {"take": "port", "what": "port", "area_cm2": 12.6, "count": 1}
    assert len(found["curves"]["frequency_hz"]) == len(found["curves"]["joined_db_per_v"])
    assert ET.parse(tmp_path / "join.svg").getroot().tag.endswith("svg")
    assert [run.rpartition("/")[2] for run in _runs(shop)] == ["vented"]


def test_saved_and_shown_again(shop, ask, say):
    """The run is named, a second of the name gets a number, and either can be shown by its name."""
    unnamed = ask("--workshop", shop, "join", UNIT, *RECIPE)
    assert unnamed["run"] == f"{UNIT}/joined/near-and-far"
    assert unnamed.keys() == described("halfroll join")
    first = ask("--workshop", shop, "join", UNIT, *RECIPE, "--name", "vented")
    assert first["run"] == f"{UNIT}/joined/vented-2"
    code, out, _ = say("--workshop", shop, "join", UNIT, "--saved", "vented-2")
    assert code == 0
    assert "weighed by radius" in out
    assert "Lower limit" in out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--far", "far", "--overlap", "300", "900"), "--near is missing"),
        (("--near", "cone", "--far", "far"), "--overlap is missing"),
        (
            ("--near", "cone", "--port", "port", "--far", "far", "--overlap", "300", "900"),
            "--port must name a take, an area",
        ),
        (("--near", "cone:big", "--far", "far", "--overlap", "300", "900"), "--near must name a take"),
        (("--near", "cone", "--far", "far", "--overlap", "300", "900"), "no baffle is stated"),
        (("--near", "cone", "--far", "nowhere", "--overlap", "300", "900"), "There is no take nowhere"),
        (("--near", "far", "--far", "cone", "--overlap", "300", "900"), "near-field"),
        ((*RECIPE[:7], "400", "420", *RECIPE[9:]), "third of an octave"),
        ((*RECIPE[:-4], "240", "360", "120", "400"), "must be less than the height, 360 cm"),
        ((*RECIPE[:-2], "2", "22"), "cone must lie within the baffle"),
        (("--saved", "none"), "There is no run"),
    ],
)
def test_refusals(shop, say, arguments, words):
    """What is wrong and what to do, exit code 2, and nothing saved."""
    code, out, err = say("--workshop", shop, "join", UNIT, *arguments)
    assert code == 2
    assert words in err
    assert "Traceback" not in out + err
    assert len(_runs(shop)) == 1


def _runs(shop):
    from halfroll.workshop.runs import run_ids

    return run_ids(Workshop.open(shop), UNIT, "joined")
