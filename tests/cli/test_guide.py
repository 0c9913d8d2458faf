"""``guide``, ``unit`` and ``predict --unit``: what is printed, the objects, the files, and what is refused."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from halfroll.cli.main import run
from halfroll.workshop import Workshop
from halfroll.workshop.prediction import EXAMPLE
from halfroll.workshop.records import UnitRecord
from tests.cli.test_windings import described_all
from tests.workshop.knot import knot_shop

UNIT = "knot/v1/01"


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A version whose parameters are entered, with one unit."""
    made = knot_shop(tmp_path / "shop", EXAMPLE)
    made.create_unit("knot/v1", "01", UnitRecord(re_ohm=6.1, re_u_ohm=0.001))
    return made


@pytest.fixture
def say(shop: Workshop, capsys: pytest.CaptureFixture[str]):
    """Runs one command in the workshop: exit code, stdout, stderr."""

    def command(*words: object) -> tuple[int, str, str]:
        code = run(["--workshop", str(shop.folder), *(str(word) for word in words)])
        out = capsys.readouterr()
        return code, out.out, out.err

    return command


def test_the_guide_in_words_as_an_object_and_on_paper(say, tmp_path: Path) -> None:
    """Text, JSON, bands alone, PDF with its date."""
    code, out, _ = say("guide", "knot/v1")
    assert code == 0
    assert "[ ] Polarity: the cone moves out." in out
    assert "caution: Tones and sweeps" in out
    told = json.loads(say("guide", "knot/v1", "--json")[1])
    assert told.keys() == described_all("halfroll guide")
    assert [step["key"] for step in told["steps"]] == ["parts", "leads", "run-in", "acceptance"]
    assert told["bands"]["re_ohm"]["low"] < 6.1 < told["bands"]["re_ohm"]["high"]
    code, out, _ = say("guide", "knot/v1", "--bands")
    assert "DC resistance Re" in out
    assert "entered parameters and 1 unit" in out
    code, _, err = say("guide", "knot/v1", "--pdf", tmp_path / "guide.pdf", "--date", "2026-07-01")
    assert code == 0
    assert "Wrote" in err
    assert "2026-07-01" in PdfReader(tmp_path / "guide.pdf").pages[0].extract_text()


def test_what_was_built_is_noted_and_moves_the_driver(say, shop: Workshop) -> None:
    """Notes add to the record; the driver as built follows the meter; what is not used is said."""
    assert say("unit", "note", UNIT, "--weighed", "cone=3,1", "--scale-u", 0.01, "--mass", 5.9, "--mass-u", 0.05, "--glued", "cone to former=epoxy",
               "--deviation", "cap", "0.6 mm", "0.8 mm", "it tore")[0] == 0  # fmt: skip
    record = shop.unit(UNIT).record
    assert record.weighed is not None
    assert (record.weighed.cone_g, record.weighed.u_g, record.re_ohm) == (3.1, 0.01, 6.1)
    assert (record.glued[0].seam, record.deviations[0].why) == ("cone to former", "it tore")
    told = json.loads(say("unit", "as-built", UNIT, "--json")[1])
    assert told.keys() == described_all("halfroll unit as-built")
    assert told["values"]["re_ohm"]["as_built"]["value"] == pytest.approx(6.1, rel=1e-3)
    assert told["values"]["re_ohm"]["predicted"]["value"] == pytest.approx(6.0, rel=1e-6)
    assert {one["key"] for one in told["readings"]} == {"re_ohm", "moving_mass_g"}
    assert told["not_used"] == ["Cone: weighed, but the prediction of the version does not rest on it"]
    code, out, _ = say("unit", "as-built", UNIT)
    assert code == 0
    assert "As built" in out
    found = json.loads(say("predict", "knot/v1", "--unit", "01", "--json")[1])
    assert found["unit"] == "01"
    assert found["figures"] == {}
    assert found["values"]["re_ohm"]["value"] == pytest.approx(6.1, rel=1e-3)


def test_a_unit_is_added_with_its_weights(say, shop: Workshop) -> None:
    """Weights at the first step."""
    assert say("add", "unit", "knot/v1/02", "--weighed", "coil=1.7")[0] == 0
    record = shop.unit("knot/v1/02").record
    assert record.weighed is not None
    assert record.weighed.coil_g == 1.7


def test_a_photograph_comes_and_goes(say, shop: Workshop, tmp_path: Path) -> None:
    """Copied without what the camera added, missing when taken away, out of the record again."""
    exif, file = Image.Exif(), tmp_path / "IMG 1.png"
    exif[0x010F] = "camera"
    Image.new("RGB", (8, 6)).save(file, exif=exif)
    told = json.loads(
        say("unit", "photograph", UNIT, file, "--shows", "The stack.", "--date", "2026-06-01", "--json")[1]
    )
    assert (told["file"], told["taken_out"]) == ("img-1.png", ["Exif"])
    copy = shop.unit(UNIT).path.parent / "photographs" / "img-1.png"
    assert not Image.open(io.BytesIO(copy.read_bytes())).getexif()
    copy.unlink()
    told = json.loads(say("unit", "as-built", UNIT, "--json")[1])
    assert told["photographs"] == [
        {"file": "img-1.png", "shows": "The stack.", "date": "2026-06-01", "state": "missing"}
    ]
    assert "photograph-missing" in {one["code"] for one in told["verdicts"]}
    assert say("unit", "remove-photograph", UNIT, "img-1.png")[0] == 0
    assert shop.unit(UNIT).record.photographs == ()


@pytest.mark.parametrize(("words", "said"), [
    (("unit", "note", UNIT, "--weighed", "kone=3"), "PART=GRAMS"),
    (("unit", "note", UNIT, "--weighed", "cone=-3"), "weighed.cone_g"),
    (("unit", "note", UNIT, "--glued", "epoxy"), "SEAM=GLUE"),
    (("unit", "note", "knot/v1/09", "--re", "6"), "knot/v1/09"),
    (("unit", "photograph", UNIT, "nothing.jpg", "--shows", "x"), "nothing.jpg"),
    (("guide", "knot/v1", "--pdf", "guide.txt"), "--pdf"),
    (("guide", "knot/v9"), "knot/v9"),
    (("predict", "knot/v1", "--unit", "01", "--causes"), "--unit"),
])  # fmt: skip
def test_what_is_wrong_is_said(say, words: tuple[str, ...], said: str) -> None:
    """Exit code 2, nothing on stdout, and the word that matters."""
    code, out, err = say(*words)
    assert code == 2
    assert said in err
    assert out == ""
