"""The assembly guide: steps from the design, cautions where they belong, numbers by hand, guide.toml, and the paper read back."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from halfroll.builds.guide.cautions import CAUTIONS
from halfroll.builds.guide.guide import as_dict, guide_of
from halfroll.builds.guide.types import Guide
from halfroll.core.errors import InputError
from halfroll.publish.guide import guide_pdf
from halfroll.publish.guide_drawings import step_picture
from halfroll.publish.theme import theme
from halfroll.workshop import Workshop
from halfroll.workshop.prediction import EXAMPLE as PARAMETERS
from tests.workshop.knot import knot_shop
from tests.workshop.predictions import MODEL, design, stand_in

STEPS = [
    "parts",
    "magnets",
    "gap",
    "former",
    "coil",
    "cone",
    "surround",
    "spider",
    "dry-fit",
    "mount",
    "leads",
    "cap",
    "run-in",
    "acceptance",
]

HURTS = {
    "parts": {"magnets-pinch", "magnets-implants", "magnets-children", "alcohol", "hot-plastic"}, "magnets": {"magnets-pinch", "magnets-implants", "magnets-children", "glue"}, "coil": {"enamel", "glue"},
    "cone": {"glue"}, "leads": {"solder", "enamel", "cell"}, "run-in": {"hearing", "mains"}, "acceptance": {"hearing", "mains"},
}  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Workshop:
    """A version with everything designed; its prediction is a stand-in."""
    made = knot_shop(tmp_path / "shop", "", rated_power_w=10.0)
    design(made, "knot/v1")
    stand_in(monkeypatch)
    return made


@pytest.fixture
def guide(shop: Workshop) -> Guide:
    """Its guide."""
    return guide_of(shop, "knot/v1")


def test_steps_follow_the_design_and_cautions_stand_where_it_hurts(guide: Guide) -> None:
    """All steps in order, each with the hazards of its own."""
    assert [step.key for step in guide.steps] == STEPS
    by_key = {step.key: step for step in guide.steps}
    for key, hurts in HURTS.items():
        assert hurts <= {one.key for one in by_key[key].cautions}, key
    assert by_key["parts"].parts[0] == "back plate"


def test_a_hazard_is_told_in_full_once(guide: Guide) -> None:
    """In full where it comes first; later in one line of its own that is shorter and still says what to do."""
    told: dict[str, list[str]] = {}
    for step in guide.steps:
        for one in step.cautions:
            told.setdefault(one.key, []).append(one.text)
    assert len(told["glue"]) > 3
    for key, (first, *later) in told.items():
        assert first == CAUTIONS[key].text
        assert all(len(one) < 110 and one != first for one in later), key


def test_what_can_still_be_undone_is_checked_before_the_glue(guide: Guide) -> None:
    """Resistance before the coil goes to the cone, the dry fit before the frame, the gap before the cap; every check says what is good."""
    order = {step.key: n for n, step in enumerate(guide.steps)}
    first = {check.key: order[step.key] for step, check in reversed(guide.checks)}
    assert first["re_ohm"] == order["coil"] < order["cone"]
    assert first["rub"] == order["dry-fit"] < order["mount"]
    assert {"re_ohm", "fs_hz", "polarity", "rub", "leak", "rest_height_mm"} <= {
        check.key for step, check in guide.checks if step.key == "acceptance"
    }
    assert all(check.good and check.how and check.if_not for _, check in guide.checks)


def test_numbers_are_those_of_the_parts(guide: Guide) -> None:
    """Gap by the parts' diameters, turns by the record, the cell's push by Ohm and Hooke, half the travel by the closed form at that frequency."""
    by_key = {
        step.key: " ".join([*step.text, *(check.how for check in step.checks)]).replace("\u202f", " ")
        for step in guide.steps
    }
    assert (
        "The gap between pole and top plate is 1.55 mm wide" in by_key["gap"]
    )  # bore 28.9, pole 25.8 mm, by the demonstration's parts
    assert "between the pole and the former: a wall of 1 line, 0.42 mm" in by_key["dry-fit"]
    assert "Wind 100 turns" in by_key["coil"]
    assert "(50, 50 from inside)" in by_key["coil"]
    moved_mm = 1e3 * MODEL.Bl[0] * 1.5 / (MODEL.Re + 4.7) / MODEL.K[0]
    said = re.search(r"The cone moves some ([\d.]+)", by_key["leads"])
    assert said is not None
    assert float(said[1]) == pytest.approx(moved_mm, abs=0.05)
    tone = re.search(r"a tone of (\d+) Hz, up to ([\d.]+)", by_key["run-in"])
    assert tone is not None
    s = 2j * 3.141592653589793 * float(tone[1])
    current = 1.0 / (
        MODEL.Re + s * MODEL.Le[0] + MODEL.Bl[0] ** 2 * s / (MODEL.Mms * s**2 + MODEL.Rms * s + MODEL.K[0])
    )
    peak_m = (
        2.0**0.5
        * abs(MODEL.Bl[0] * current / (MODEL.Mms * s**2 + MODEL.Rms * s + MODEL.K[0]))
        * float(tone[2])
    )
    assert peak_m == pytest.approx(0.5 * 4e-3, rel=0.05)


def test_written_steps_are_put_in(shop: Workshop) -> None:
    """A step rewritten, two added, one left out; its cautions and checks stay."""
    path = shop.version("knot/v1").path.with_name("guide.toml")
    path.write_text(
        'format = 1\nnote = "For the bird hides."\n'
        '[[steps]]\nstep = "coil"\ntitle = "Winding by hand"\ntext = ["Wind slowly."]\ncautions = ["Tape your fingers."]\n'
        '[[steps]]\nafter = "cap"\ntitle = "Grille"\ntext = ["Clip the grille on."]\ntools = ["none"]\n'
        '[[steps]]\nafter = "grille"\ntitle = "Seal"\ntext = ["Grease the rim."]\n'
        '[[steps]]\nstep = "former"\nleave_out = "comes wound"\n'
    )
    guide = guide_of(shop, "knot/v1")
    keys = [step.key for step in guide.steps]
    coil = next(step for step in guide.steps if step.key == "coil")
    assert "former" not in keys
    assert keys[keys.index("cap") + 1 : keys.index("cap") + 3] == ["grille", "seal"]
    assert (coil.title, coil.text, coil.by_hand) == ("Winding by hand", ("Wind slowly.",), True)
    assert {"enamel", "own"} <= {one.key for one in coil.cautions}
    assert [check.key for check in coil.checks] == ["re_ohm"]
    assert guide.note == "For the bird hides."


@pytest.mark.parametrize(("text", "line", "word"), [
    ('format = 1\n[[steps]]\nafter = "coi"\ntitle = "A"\ntext = ["b"]\n', 3, "coi"),
    ('format = 1\n[[steps]]\ntitle = "A"\n', None, "must say either"),
    ('format = 1\n[[steps]]\nafter = "coil"\ntitle = "A"\n', None, "title and a text"),
    ('format = 1\n[[steps]]\nafter = "coil"\ntitel = "A"\n', 4, "titel"),
])  # fmt: skip
def test_a_slip_in_the_written_steps_is_said(shop: Workshop, text: str, line: int | None, word: str) -> None:
    """With the file, the line where one can be named, and what was found."""
    path = shop.version("knot/v1").path.with_name("guide.toml")
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        guide_of(shop, "knot/v1")
    assert caught.value.place.file == str(path)
    assert line is None or caught.value.place.line == line
    assert word in str(caught.value)


def test_a_version_without_design_has_the_last_steps_and_says_so(tmp_path: Path) -> None:
    """Only leads, run-in and acceptance, with bands of what was entered."""
    guide = guide_of(knot_shop(tmp_path / "shop", PARAMETERS), "knot/v1")
    assert [step.key for step in guide.steps] == ["parts", "leads", "run-in", "acceptance"]
    assert "guide-not-designed" in {one.code for one in guide.verdicts}
    assert guide.steps[-1].checks[0].band is not None


def test_plain_values_go_through_json(guide: Guide) -> None:
    """The object of the command line holds what the guide holds."""
    told = json.loads(json.dumps(as_dict(guide)))
    assert told["steps"][4]["checks"][0]["low"] == guide.bands["re_ohm"].low
    assert told["bands"]["fs_hz"]["unit"] == "Hz"


def test_a_drawing_brings_out_what_comes_here(guide: Guide) -> None:
    """The coil in full, six parts of the motor pale, no cone yet, and that in words."""
    coil = next(step for step in guide.steps if step.key == "coil")
    picture = step_picture(guide, coil, theme=theme("print"), width_px=200.0)
    assert picture is not None
    assert '<g class="coil">' in picture.svg
    assert len(re.findall(r'<g opacity="[\d.]+" class="body"', picture.svg)) == 6
    assert 'data-part="cone"' not in picture.svg
    assert picture.svg.count("<g") == picture.svg.count("</g>")
    assert (
        picture.alt
        == "Half-section: coil put in place; already there: back plate, copper cap, magnet, pole, second magnet and top plate."
    )
    assert step_picture(guide, guide.steps[0], theme=None, width_px=200.0) is None


def inside(resources: Any) -> Iterator[Any]:
    """Every drawing on a page, and those in it."""
    for one in resources.get_object().get("/XObject", {}).values():
        found = one.get_object()
        yield found
        if "/Resources" in found:
            yield from inside(found["/Resources"])


def test_the_paper_reads_back(guide: Guide) -> None:
    """Text, embedded fonts, drawings as vectors and no raster, by pypdf; the same bytes each time."""
    made = guide_pdf(guide, date="2026-07-01")
    assert made == guide_pdf(guide, date="2026-07-01")
    reader = PdfReader(io.BytesIO(made))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for number, step in enumerate(guide.steps, 1):
        assert f"{number}. {step.title}" in text
    assert "Keep magnets 0.3 m or more away from pacemakers" in text
    assert guide.steps[4].checks[0].good.replace("\u202f", " ").split()[0] in text
    assert "2026-07-01" in text
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]  # type: ignore[index]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile2", "/FontFile3"} & set(inner)
    assert not any(list(page.images) for page in reader.pages)
    drawn = [one for page in reader.pages for one in inside(page["/Resources"])]
    assert all(one["/Subtype"] == "/Form" for one in drawn)
    strokes = sum(len(re.findall(rb"[\d.] [lc]\s", one.get_data())) for one in drawn)
    pictures = [step for step in guide.steps if step_picture(guide, step, theme=None, width_px=200.0)]
    assert len(pictures) == 8
    assert strokes > 20 * len(pictures)
    assert reader.metadata is not None
    assert reader.metadata.title == "Knot v1: assembly guide"
