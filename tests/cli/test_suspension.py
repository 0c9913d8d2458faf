"""A suspension from the command line: its answer, its object key by key, drawings and models, and what is refused."""

from __future__ import annotations

import xml.etree.ElementTree as ET
import zipfile

import pytest

from halfroll.workshop.motor_design import EXAMPLE as MOTOR
from halfroll.workshop.suspension_example import EXAMPLE
from tests.cli.test_windings import described_all

QUICK = EXAMPLE[: EXAMPLE.index("[spider]")] + EXAMPLE[EXAMPLE.index("[cone]") :]
"""The example without its spider: one part to bend instead of two."""

CURVED = {"curve", "strain", "hoop_strain", "stress_mpa"}


@pytest.fixture
def record(workshop):
    """The record of the small workshop's version, with the example motor and moving parts."""
    path = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    path.write_text(path.read_text() + "\n" + MOTOR + "\n" + QUICK)
    return path


def test_the_object_is_the_one_described(workshop, record, ask) -> None:
    """Key by key; the parts' stiffness is that of the whole, and the resonance that of both numbers."""
    found = ask("--workshop", workshop, "suspension", "dunlin/v1", "--curve", "--break-up")
    assert found.keys() == described_all("halfroll suspension")
    whole, (surround,) = found["suspension"], found["parts"]
    assert whole.keys() == described_all("suspension together")
    assert surround.keys() == described_all("suspension part")
    assert found["mass"].keys() == described_all("moving mass")
    assert found["break_up"].keys() == described_all("break-up")
    rest = whole["kms_at_rest_n_per_m"]
    assert rest["unit"] == "N/m"
    assert surround["kms_at_rest_n_per_m"]["value"] == pytest.approx(rest["value"])
    expected = (rest["value"] / (1e-3 * found["mass"]["mms_g"]["value"])) ** 0.5 / 6.283185307
    assert whole["resonance_hz"]["value"] == pytest.approx(expected)
    middle = whole["curve"]["x_mm"].index(0.0)
    assert whole["curve"]["kms_n_per_m"][middle] == rest["value"]
    assert found["distortion"] is None
    plain = ask("--workshop", workshop, "suspension", "dunlin/v1", "--part", "surround")
    assert surround.keys() - plain["parts"][0].keys() == CURVED
    assert plain["suspension"].keys() == whole.keys() - {"curve"}


def test_distortion_follows_the_design(workshop, record, ask, say) -> None:
    """Constants from motor, coil and moving parts; the motor's share beside the suspension's; words for people."""
    words = (
        "--workshop",
        workshop,
        "suspension",
        "dunlin/v1",
        "--distortion",
        "--volts",
        "1",
        "--volts",
        "2",
    )
    found = ask(*words)["distortion"]
    assert found.keys() == described_all("distortion of the bass")
    assert found["origins"]["Bl"] == "the motor's design"
    one, two = found["suspension_alone"]
    assert (one["drive_v"], two["drive_v"]) == (1.0, 2.0)
    assert two["thd_percent"][0] > one["thd_percent"][0] > 0.0
    assert len(found["motor_alone"]) == len(found["both"]) == 2
    code, out, err = say(*words)
    assert code == 0, err
    text = out.replace("\u202f", " ")
    for said in (
        "Most distortion of the suspension alone at 2 V",
        "Frequency at 1 V",
        "THD of the motor",
        "Re from the coil's design",
    ):
        assert said in text


def test_words_drawings_and_models(workshop, record, say, tmp_path) -> None:
    """The answer stands first, every table follows, the drawing is SVG and the models a 3MF archive."""
    drawing, models = tmp_path / "roll.svg", tmp_path / "roll.3mf"
    code, out, err = say(
        "--workshop",
        workshop,
        "suspension",
        "dunlin/v1",
        "--tables",
        "--curve",
        "--svg",
        drawing,
        "--3mf",
        models,
    )
    assert code == 0, err
    text = out.replace("\u202f", " ")
    assert text.splitlines()[1].startswith("Resonance")
    for words in ("Kms = F/x", "winding", "Modulus in the print", "TPU 85A", "Slope dF/dx"):
        assert words in text
    assert ET.parse(drawing).getroot().tag.endswith("svg")
    assert "3D/3dmodel.model" in zipfile.ZipFile(models).namelist()


def test_files_are_those_of_the_other_commands(workshop, record, say, tmp_path) -> None:
    """The models are, byte by byte, those of `halfroll models`, the jig among them; break-up gives pictures of its own."""
    (tmp_path / "a").mkdir()
    ours, theirs, picture = tmp_path / "ours.3mf", tmp_path / "theirs.3mf", tmp_path / "a" / "p.svg"
    words = ("--workshop", workshop, "suspension", "dunlin/v1", "--break-up", "--3mf", ours, "--svg", picture)
    code, _, err = say(*words)
    assert code == 0, err
    assert say("--workshop", workshop, "models", "dunlin/v1", "--3mf", theirs)[0] == 0
    assert ours.read_bytes() == theirs.read_bytes()
    assert b"jig" in zipfile.ZipFile(ours).read("3D/3dmodel.model").lower()
    written = sorted(path.name for path in picture.parent.iterdir())
    assert {"p-surround.svg", "p-far-field.svg"} < set(written)
    assert any(name.endswith("-hz.svg") for name in written)
    for path in picture.parent.iterdir():
        assert ET.parse(path).getroot().tag.endswith("svg")
        assert path.name in err


@pytest.mark.parametrize(("option", "name"), [("--svg", "roll.pdf"), ("--3mf", "roll.stl")])
def test_a_file_is_what_its_name_says(workshop, record, say, tmp_path, option, name) -> None:
    """Nothing is computed or written under the name of another kind of file."""
    code, _, err = say("--workshop", workshop, "suspension", "dunlin/v1", option, tmp_path / name)
    assert code == 2
    assert f"{option}: The file's name must end with" in err
    assert not list(tmp_path.glob("roll*"))


def test_a_part_is_told_with_its_own_share_and_cautions(workshop, record, say) -> None:
    """Beside a spider the surround's share of the stiffness is not all of it, and what is said of the spider stays away."""
    spider = EXAMPLE[EXAMPLE.index("[spider]") : EXAMPLE.index("[cone]")]
    record.write_text(record.read_text() + "\n" + spider)
    code, out, err = say("--workshop", workshop, "suspension", "dunlin/v1", "--part", "surround")
    assert code == 0, err
    share = next(line for line in out.splitlines() if line.startswith("Share of the stiffness"))
    assert 0 < int(share.replace("\u202f", " ").split()[-2]) < 100
    assert "Spider:" not in out


def test_a_design_is_taken_over_and_compared(workshop, record, ask) -> None:
    """--with-design copies tables and profile; --against names the one thing that differs."""
    record.write_text(
        record.read_text().replace(
            'family = "half-roll"\ninner_mm = 68\nouter_mm = 84', 'family = "free"\npoints = "roll.csv"'
        )
    )
    record.with_name("roll.csv").write_text("r_mm,z_mm\n34,0\n36,2.6\n38,3.4\n40,2.6\n42,0\n")
    ask("--workshop", workshop, "add", "version", "dunlin/v3", "--parent", "v1", "--with-design")
    copied = workshop / "drivers" / "dunlin" / "v3" / "version.toml"
    assert copied.with_name("roll.csv").read_bytes() == record.with_name("roll.csv").read_bytes()
    copied.write_text(copied.read_text().replace("thickness_mm = 0.42", "thickness_mm = 0.5"))
    found = ask("--workshop", workshop, "suspension", "dunlin/v3", "--against", "dunlin/v1")
    assert [(one["what"], one["before"], one["after"]) for one in found["changes"]] == [
        ("surround thickness", "0.42 mm", "0.5 mm")
    ]


LOOP = "[[34, 0], [40, 4], [37, 4], [37, 0], [42, 1]]"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('family = "half-roll"\ninner_mm = 68\nouter_mm = 84', f'family = "free"\npoints_mm = {LOOP}', "cross"),
        ("thickness_mm = 0.42", "thickness_mm = 9", "surround"),
        ("travel_mm = 4", "travel_mm = 40", "travel"),
        ('material = "tpu-85a"', 'material = "soft"', "modulus_mpa"),
        ('material = "tpu-85a"', 'material = "liquid"', "poisson"),
        ('family = "half-roll"\ninner_mm = 68\nouter_mm = 84', 'family = "free"\npoints = "open.dxf"', "open.dxf"),
        ("outer_mm = 84", "outer_mm = 60", "surround"),
        ("thickness_mm = 0.42", "thickness_mm = 0", "surround.thickness_mm"),
    ],
)  # fmt: skip
def test_bad_designs_are_refused_in_words(workshop, record, say, old: str, new: str, words: str) -> None:
    """A profile that crosses itself, a wall thicker than its roll, travel past the geometry, no modulus, Poisson 0.5, a drawing
    whose path has a gap: exit code 2, the place, and no traceback.
    """
    materials = workshop / "materials"
    materials.mkdir(exist_ok=True)
    (materials / "soft.toml").write_text('format = 1\n[filament]\nlike = "tpu-85a"\nmodulus_mpa = 0\n')
    (materials / "liquid.toml").write_text('format = 1\n[filament]\nlike = "tpu-85a"\npoisson = 0.5\n')
    lines = "".join(
        f"0\nLINE\n8\n0\n10\n{a}\n20\n{b}\n11\n{c}\n21\n{d}\n"
        for a, b, c, d in ((34, 0, 37, 3), (39, 3, 42, 0))
    )
    record.with_name("open.dxf").write_text(f"0\nSECTION\n2\nENTITIES\n{lines}0\nENDSEC\n0\nEOF\n")
    text = record.read_text()
    assert old in text
    record.write_text(text.replace(old, new, 1))
    code, out, err = say("--workshop", workshop, "suspension", "dunlin/v1")
    assert code == 2, out
    assert words in err
    assert "Traceback" not in err
    assert ".toml" in err or ".dxf" in err


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (["dunlin/v9"], "dunlin/v9"),
        (["dunlin/v1", "--part", "spider"], "must have a spider"),
        (["dunlin/v1", "--part", "cone"], "--part"),
        (["dunlin/v1", "--distortion", "--volts", "0"], "--volts"),
        (["dunlin/v1", "--distortion", "--volts", "2,83"], "--volts"),
        ([], "DRIVER/VERSION"),
    ],
)
def test_what_cannot_be_asked_is_refused(workshop, record, say, asked: list[str], words: str) -> None:
    """Before anything slow begins."""
    code, _, err = say("--workshop", workshop, "suspension", *asked)
    assert code == 2
    assert words in err


def test_without_moving_parts_it_is_said_what_to_write(workshop, say) -> None:
    """The example stands in the error."""
    code, _, err = say("--workshop", workshop, "suspension", "dunlin/v1")
    assert code == 2
    assert "[surround]" in err
