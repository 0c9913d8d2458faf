"""Models from the command line and in the workshop's folder."""

from __future__ import annotations

import io

import pypdf
import pytest
import trimesh

from halfroll.core.errors import InputError
from halfroll.suspension.models import PARTS
from halfroll.workshop import Workshop
from halfroll.workshop.models import printing_of, save_models, version_models
from halfroll.workshop.motor_design import EXAMPLE as MOTOR
from tests.cli.test_windings import described_all

MOVING = """
[surround]
family = "half-roll"
inner_mm = 66
outer_mm = 84
thickness_mm = 0.84
lip_inner_mm = 4
lip_outer_mm = 5
material = "tpu-95a"

[cone]
shape = "straight"
inner_mm = 26
outer_mm = 66
depth_mm = 20
thickness_mm = 0.84
material = "pla"
"""


@pytest.fixture
def record(workshop):
    """The record of a version, with motor, coil, surround and cone."""
    path = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    path.write_text(path.read_text() + "\n" + MOTOR + MOVING)
    return path


@pytest.fixture
def models(record, workshop, say, ask):
    """Runs ``halfroll models dunlin/v1``."""

    def command(*words, json=False):
        return (ask if json else say)("--workshop", workshop, "models", "dunlin/v1", *words)

    return command


def test_the_object_is_the_one_described(models) -> None:
    """Key by key; what is listed is what there is, jig and all."""
    found = models(json=True)
    assert found.keys() == described_all("halfroll models")
    assert found["bed_mm"] == pytest.approx([220.0, 220.0, 250.0])
    names = [model["part"] for model in found["models"]]
    assert names[:2] == ["surround", "cone"]
    assert set(names) <= set(PARTS)
    for model in found["models"]:
        assert model.keys() == described_all("model to print")
        assert model["verdicts"][0]["code"] == "mesh-closed"
    assert "print-with-care" in [verdict["code"] for verdict in found["verdicts"]]


def test_words_for_people(models) -> None:
    """A row for each part, the sum, and what is to be done, gravest first."""
    code, out, _ = models("--part", "surround", "--part", "cone", "--filament", "2.85", "--bed", "80x80x80")
    assert code == 0
    text = " ".join(out.replace("\u202f", " ").split())
    assert "Surround, half roll up; TPU 95A 94.0 × 94.0 × 5.8" in text
    assert "Together" in text
    assert text.index("bad: The surround measures") < text.index("caution:") < text.index("note:")
    assert out.count("nozzle and plate burn") == 1


def test_files_are_written_and_read_back(models, tmp_path) -> None:
    """3MF with every part, STL and STEP by part; folders are made."""
    plate, stl, step = tmp_path / "all.3mf", tmp_path / "a" / "stl", tmp_path / "a" / "step"
    code, _, err = models(
        "--3mf", plate, "--stl", stl, "--step", step, "--part", "surround", "--part", "cone"
    )
    assert code == 0
    assert err.count("Wrote") == 5
    scene = trimesh.load(io.BytesIO(plate.read_bytes()), file_type="3mf")
    assert set(scene.geometry) == {"Surround, half roll up", "Cone, straight"}
    assert {path.name for path in stl.iterdir()} == {"surround.stl", "cone.stl"}
    assert trimesh.load(stl / "cone.stl").is_watertight
    assert (step / "surround.step").read_bytes().startswith(b"ISO-10303-21;")


def test_drawings_are_written(models, tmp_path) -> None:
    """A page of A4 for each part in one PDF, or an SVG for each; another kind of file is refused."""
    pdf, svg = tmp_path / "parts.pdf", tmp_path / "part.svg"
    parts = ("--part", "surround", "--part", "cone")
    assert models("--drawing", pdf, *parts)[0] == 0
    pages = pypdf.PdfReader(pdf).pages
    assert [
        ("Surround of dunlin/v1" in p.extract_text(), "Cone of dunlin/v1" in p.extract_text()) for p in pages
    ] == [(True, False), (False, True)]
    assert models("--drawing", svg, *parts)[0] == 0
    assert "Ø66" in (tmp_path / "part-cone.svg").read_text()
    code, _, err = models("--drawing", tmp_path / "part.dwg", *parts)
    assert code == 2
    assert "found .dwg. Allowed: .pdf, .svg" in err


def test_saving_keeps_all_files_or_none(models, record, workshop) -> None:
    """They lie in the version's folder; equal designs give equal files; where one cannot be written nothing is changed."""
    found = models("--save", json=True)
    folder = record.parent / "models"
    assert sorted(str(path) for path in folder.iterdir()) == sorted(found["files"])
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert models("--save")[0] == 0
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    (folder / "blocked.stl").mkdir()
    shop = Workshop.open(workshop)
    with pytest.raises(InputError, match="folder"):
        save_models(shop, "dunlin/v1", {"cone.stl": b"new", "blocked.stl": b"new"})
    assert (folder / "cone.stl").read_bytes() == before["cone.stl"]
    assert not list(folder.glob(".*"))
    with pytest.raises(InputError, match="must be plain"):
        save_models(shop, "dunlin/v1", {"../cone.stl": b"new"})


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--bed", "220"), "--bed: A build volume must be three lengths; found 220"),
        (("--bed", "220x0x100"), "three possible sides"),
        (("--filament", "17.5"), "diameter of a filament"),
        (("--within", "3"), "--within: The distance of facets"),
        (("--part", "spider"), "no spider to print"),
        (("--part", "arm"), "--part"),
    ],
)
def test_wrong_input_is_said(models, words, said) -> None:
    """What is wrong, found and allowed; exit code 2; no traceback."""
    code, _, err = models(*words)
    assert code == 2
    assert said in err
    assert "Traceback" not in err


def test_former_of_film_is_not_printed_and_says_so(models) -> None:
    """The example's former is bent from film: it is left out of the list, and refused by name with its key."""
    code, _, err = models("--part", "former")
    assert code == 2
    assert "bent from sheet" in err
    assert "version.toml" in err


def test_version_without_anything_to_print(workshop, say) -> None:
    """It is said how to begin, with an example to copy."""
    code, _, err = say("--workshop", workshop, "models", "dunlin/v2")
    assert code == 2
    assert "[surround]" in err


def test_version_with_a_coil_alone_gives_its_jig(workshop) -> None:
    """No moving parts are needed for a jig; it is printed of the usual filament where the former is of film."""
    path = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    path.write_text(path.read_text() + "\n" + MOTOR)
    shop = Workshop.open(workshop)
    what = printing_of(shop, "dunlin/v1")
    assert what.jig is not None
    assert what.jig.material.key == "pla"
    assert [model.name for model in version_models(shop, "dunlin/v1")] == ["jig-inner", "jig-outer"]
