"""Charts and pictures of a suspension: limits known by hand, outlines to scale, definitions of strain, no colour needed."""

from __future__ import annotations

import base64
import io
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from halfroll.materials.catalogue import catalogue
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.suspension import elongation, force_chart, stiffness_chart, strain_chart
from halfroll.publish.suspension_figures import answers, largest, suspension_figures
from halfroll.publish.suspension_motion import between, motion_svg, rigid_outlines, stops
from halfroll.publish.suspension_rows import mass_rows, part_rows
from halfroll.publish.suspension_shapes import bent_svg, chosen
from halfroll.publish.suspension_strain import strain_svg
from halfroll.publish.theme import theme
from halfroll.suspension.design import FlexureDesign, MovingDesign
from halfroll.suspension.results import (
    BentShape,
    MovingMass,
    MovingPart,
    StiffnessCurve,
    SuspensionResult,
    TravelRange,
)
from halfroll.suspension.study.curves import asymmetry_of, limit_range
from tests.publish import svg
from tests.publish.language import assert_valid
from tests.publish.suspension_samples import suspension

SVG = "{http://www.w3.org/2000/svg}"
X = np.linspace(-5e-3, 5e-3, 201)


def parabola(rest: float = 2000.0, at_m: float = 6e-3, skew: float = 0.0) -> StiffnessCurve:
    """Kms = K0 (1 + skew x/X + (x/at)²): compliance is 75 % of that at rest where (x/at)² is 1/3 (skew 0)."""
    kms = rest * (1.0 + skew * X / 5e-3 + (X / at_m) ** 2)
    return StiffnessCurve(
        x_m=X, force_n=kms * X, tangent_n_per_m=np.gradient(kms * X, X), kms_n_per_m=kms, u_relative=0.1
    )


def result(curve: StiffnessCurve) -> SuspensionResult:
    """One part whose stiffness is the curve."""
    one = replace(
        suspension().parts[0],
        curve=curve,
        strain=np.abs(X) * 10.0,
        stress_pa=np.abs(X),
        hoop_strain=-np.abs(X),
    )
    return SuspensionResult(
        parts=(one,), curve=curve, asymmetry=asymmetry_of(curve), limit=limit_range(curve)
    )


# Charts.


@pytest.mark.parametrize("look", ["light", "dark", "print"])
def test_hatching_begins_where_compliance_has_fallen_to_three_quarters(look: str) -> None:
    """Of a parabola at x = 6 mm / sqrt 3 = 3.464 mm on both sides (IEC 62458's limit worked out by hand); the words say so."""
    chart = stiffness_chart(result(parabola()), theme=theme(look), width_px=640)
    assert_valid(chart)
    upright = [row["x"] for row in chart["datasets"]["limits"] if row["x"] == row["x2"]]
    assert sorted(upright) == pytest.approx([-6 / math.sqrt(3), 6 / math.sqrt(3)], abs=0.02)
    words = " ".join(svg.words(to_svg(chart)))
    assert "compliance below 75\u202f%" in words
    assert "Kms(0)/0.75" in words
    assert "IEC 62458" in words
    band = [row for row in chart["datasets"]["curves"] if "lo" in row and abs(row["x"]) < 0.03]
    assert band[0]["hi"] - band[0]["y"] == pytest.approx(1.96 * 0.1 * 2.0, rel=1e-3)  # 95 % of 10 % of 2 N/mm


def test_a_limit_on_one_side_is_hatched_on_that_side_alone() -> None:
    """K = K0 (1 + 0.6 x/X + ...): it stiffens outwards and softens inwards."""
    chart = stiffness_chart(result(parabola(at_m=1.0, skew=0.6)), theme=theme(), width_px=640)
    upright = [row["x"] for row in chart["datasets"]["limits"] if row["x"] == row["x2"]]
    assert upright == pytest.approx([5.0 / 0.6 / 3.0], abs=0.03)  # 1 + 0.6 x/5 = 4/3


def test_all_and_parts_are_named_and_the_earlier_state_beside_them() -> None:
    """Together, surround and spider each at its end; before a change "as saved"; a measured value as a cross with its words."""
    found = suspension()
    old = replace(found, curve=replace(found.curve, kms_n_per_m=1.5 * found.curve.kms_n_per_m))
    chart = stiffness_chart(found, theme=theme(), width_px=700, before=old, measured=(4200.0, 200.0))
    assert_valid(chart)
    words = " ".join(svg.words(to_svg(chart)))
    for word in ("together", "surround", "spider", "as saved", "4.2 ± 0.39\u202fN/mm measured"):
        assert word in words
    assert_valid(force_chart(found, theme=theme("dark"), width_px=390, before=old))
    assert "together" in chart_summary(force_chart(found, theme=theme(), width_px=700))


def test_strain_is_drawn_as_elongation_beside_what_the_plastic_bears() -> None:
    """Of a stretch of 1.2 Green-Lagrange's strain is (1.2² - 1)/2 = 0.22, elongation 20 % (definitions); hatched beyond the limit."""
    assert float(elongation(np.array([0.22]))[0]) == pytest.approx(0.2, abs=1e-12)
    chart = strain_chart(
        suspension().parts, theme=theme(), width_px=640, bears={"surround": 0.5, "spider": 0.03}
    )
    assert_valid(chart)
    words = " ".join(svg.words(to_svg(chart)))
    assert "spider stretched too far" in words
    assert "surround stretched too far" not in words
    assert "spider bears" in words
    assert_valid(strain_chart(suspension().parts[:1], theme=theme("print"), width_px=390))


# Pictures.


def _root(text: str) -> ET.Element:
    return ET.fromstring(text)


def _points(d: str) -> np.ndarray:  # type: ignore[type-arg]
    return np.array([[float(x) for x in pair.split()] for pair in d.strip("MZ").split("L")])


def test_bent_shapes_are_to_scale_and_named() -> None:
    """The half roll between 30 and 40 mm: its outline in px over px to the mm is 10 mm wide and 5.4 mm high at rest; each shape's x
    stands at its edge, in order; at rest thick, inwards dashed.
    """
    part = suspension().parts[0]
    root = _root(bent_svg(part, theme=theme(), width_px=600, name="Knot v1"))
    scale = float(root.attrib["data-px-per-mm"])
    shapes = {
        float(one.attrib["data-x"]): one for one in root.iter(f"{SVG}path") if one.attrib["class"] == "bent"
    }
    rest = _points(shapes[0.0].attrib["d"]) / scale
    assert float(np.ptp(rest[:, 0])) == pytest.approx(
        10.8, abs=0.02
    )  # the middle line's 10 mm and half a thickness at each end
    assert float(np.ptp(rest[:, 1])) == pytest.approx(5.4, abs=0.02)
    assert 10 < scale * 10.8 < 600
    moved = _points(shapes[5.0].attrib["d"]) / scale
    assert moved[np.argmin(moved[:, 0]), 1] - rest[np.argmin(rest[:, 0]), 1] == pytest.approx(-5.0, abs=0.9)
    assert "stroke-dasharray" in shapes[-5.0].attrib
    assert "stroke-dasharray" not in shapes[5.0].attrib
    assert float(shapes[0.0].attrib["stroke-width"]) > float(shapes[5.0].attrib["stroke-width"])
    named = [
        (one.text, float(one.attrib["y"])) for one in root.iter(f"{SVG}text") if one.attrib["class"] == "x"
    ]
    assert [text for text, _ in sorted(named, key=lambda one: one[1])] == [
        "+5",
        "+3.33",
        "+1.67",
        "0",
        "−1.67",
        "−3.33",
        "−5",
    ]
    assert root.attrib["aria-label"].startswith("Surround of Knot v1 bent to")


def test_few_of_many_shapes_are_chosen_evenly() -> None:
    """Of 13 every second one, with both ends and rest."""
    part = suspension().parts[0]
    many = [replace(part.shapes[0], x_m=float(x)) for x in np.linspace(-6e-3, 6e-3, 13)]
    assert [round(1e3 * one.x_m) for one in chosen(many)] == [-6, -4, -2, 0, 2, 4, 6]


def _square(strain: list[float]) -> BentShape:
    """A square of 10 mm cut into two triangles, with the strain at its corners."""
    corner = np.array([[30e-3, 0.0], [40e-3, 0.0], [40e-3, 10e-3], [30e-3, 10e-3]])
    return BentShape(x_m=0.0, outline_m=corner, places_m=corner, triangles=np.array([[0, 1, 2], [0, 2, 3]]), strain=np.array(strain),
                     hoop_strain=np.zeros(4))  # fmt: skip


def test_the_strain_map_reads_without_colour() -> None:
    """On a square whose elongation runs from 0 to 5 % the lines of equal elongation lie at their places, with numbers; blank at nan."""
    green = [0.5 * ((1 + e) ** 2 - 1) for e in (0.0, 0.05, 0.05, 0.0)]
    part = replace(suspension().parts[0], shapes=(_square(green),))
    root = _root(strain_svg(part, 0.0, theme=theme(), width_px=500, bears=0.04))
    axis, scale = float(root.attrib["data-axis"]), float(root.attrib["data-px-per-mm"])
    lines = [one for one in root.iter(f"{SVG}path") if one.attrib.get("class") == "equal"]
    places = sorted(
        {round(float((_points(one.attrib["d"])[:, 0].mean() - axis) / scale), 2) for one in lines}
    )
    assert places == pytest.approx([32.0, 34.0, 36.0, 38.0], abs=0.03)  # 1 to 4 % of 0 to 5 % over 10 mm
    words = [one.text or "" for one in root.iter(f"{SVG}text")]
    assert "5\u202f%" in words
    assert any("bears 4\u202f% for millions of cycles" in text for text in words)
    assert any("orange dot: the largest, 5\u202f%" in text for text in words)
    assert words.count("clamp") == 2
    blank = replace(part, shapes=(replace(_square(green), strain=np.array([green[0], np.nan, *green[2:]])),))
    picture = _root(strain_svg(blank, 0.0, theme=theme(), width_px=500)).find(f".//{SVG}image")
    assert picture is not None
    image = Image.open(io.BytesIO(base64.b64decode(picture.attrib["href"].partition(",")[2]))).convert("RGBA")
    clear = np.array(image)[..., 3] == 0
    assert clear[image.height // 2 :, -2].all()  # the triangle at the unknown corner
    assert not clear[: image.height // 2 - 4, 4].any()


def test_colours_grow_darker_with_strain() -> None:
    """By day more strain is darker all the way, so a grey print keeps the order."""
    green = [0.5 * ((1 + e) ** 2 - 1) for e in (0.0, 0.05, 0.05, 0.0)]
    part = replace(suspension().parts[0], shapes=(_square(green),))
    picture = _root(strain_svg(part, 0.0, theme=theme("print"), width_px=500)).find(f".//{SVG}image")
    assert picture is not None
    image = Image.open(io.BytesIO(base64.b64decode(picture.attrib["href"].partition(",")[2]))).convert("L")
    grey = np.array(image)[image.height // 2, 2:-2].astype(int)
    assert (np.diff(grey) <= 0).all()
    assert grey[0] - grey[-1] > 60


def test_pictures_without_shapes_say_so() -> None:
    """No shape, no picture: words in its place."""
    part = replace(suspension().parts[0], shapes=())
    for text in (bent_svg(part, theme=theme(), width_px=400), strain_svg(part, 0.0, theme=theme(), width_px=400),
                 motion_svg([part], theme=theme(), width_px=400)):  # fmt: skip
        assert "is known" in "".join(_root(text).itertext())


def test_frames_of_the_motion() -> None:
    """33 frames from end to end, the one at rest in sight, the others hidden; no script; the moved edge is where its x says."""
    text = motion_svg(suspension().parts, theme=theme(), width_px=700, name="Knot v1")
    root = _root(text)
    frames = [one for one in root.iter(f"{SVG}g") if one.attrib.get("class") == "frame"]
    assert len(frames) == 33
    assert [one.attrib["data-x"] for one in frames if "visibility" not in one.attrib] == ["0"]
    assert "<script" not in text
    scale = float(root.attrib["data-px-per-mm"])
    edges = []
    for one in frames:
        surround = _points(one.findall(f"{SVG}path")[0].attrib["d"])
        edges.append((float(one.attrib["data-x"]), -surround[np.argmin(surround[:, 0]), 1] / scale))
    x, z = np.array(edges).T
    assert z - z[16] == pytest.approx(
        x, abs=0.9
    )  # within the strip's thickness: the leftmost point is one of the end face's
    assert np.array(stops(-2e-3, 4e-3))[[0, 16, -1]] == pytest.approx([-2e-3, 0.0, 4e-3])


def test_a_flexure_moves_with_its_ring_on_the_former() -> None:
    """The ring lies from the former to where the arms begin, as thick as they are; without one nothing is added."""
    spider = FlexureDesign(
        name="spider", family="spiral-arms", inner_radius_m=15e-3, outer_radius_m=24e-3, thickness_m=0.5e-3, width_m=5e-3, arms=3,
        sweep_rad=1.0, height_over_gap_m=9e-3, lip_inner_m=1.5e-3, material=catalogue().filaments["tpu-95a"],
    )  # fmt: skip
    ring = rigid_outlines(MovingDesign(spider=spider))["spider ring"]
    assert ring.min(axis=0) == pytest.approx([13.5e-3, 8.75e-3])
    assert ring.max(axis=0) == pytest.approx([15e-3, 9.25e-3])
    assert rigid_outlines(MovingDesign(spider=replace(spider, lip_inner_m=0.0))) == {}


def test_between_computed_shapes_lies_a_cubic() -> None:
    """Points that move as a cubic of x are found exactly at any x; a computed shape is given back as it is."""
    a, b, c, d = (np.array([[n, 2.0 * n], [3.0 * n, n]]) * 1e-3 for n in (1.0, 2.0, -1.5, 0.7))

    def outline(x: float) -> np.ndarray:  # type: ignore[type-arg]
        return a + b * x + c * x**2 + d * x**3

    shapes = [
        replace(suspension().parts[0].shapes[0], x_m=x, outline_m=outline(x))
        for x in (-1.0, -0.4, 0.0, 0.5, 1.0)
    ]
    assert between(shapes, 0.3) == pytest.approx(outline(0.3), abs=1e-12)
    assert between(shapes, 0.5) is shapes[3].outline_m


# Words.


def test_answers_in_sentences() -> None:
    """Everything that is asked first is said, with the numbers of the result."""
    said = " ".join(answers(suspension(), None, None, {"surround": 0.1}))
    for word in ("resonates at 92 ± 12", "as stiff outwards as inwards", "75\u202f%", "bears 10\u202f% for millions", "is not known",
                 "sags by 0.04", "0.052\u202fmm after a year", "rocks at 160 ± 24", "0.8\u202foctaves above"):  # fmt: skip
        assert word.replace(" ± ", "\u202f±\u202f") in said, said
    stiff = answers(result(parabola(skew=0.3)), None, None)
    assert any("stiffer outwards" in sentence for sentence in stiff)
    assert any("mass is not known" in sentence for sentence in stiff)


def test_the_limit_is_said_on_the_side_that_ends_first() -> None:
    """Usable travel is the smaller side of the range."""
    one = replace(
        result(parabola()), limit=TravelRange(low_m=-2e-3, high_m=3e-3, full_low=False, full_high=False)
    )
    usable = next(figure for figure in suspension_figures(one, None, None) if figure.key == "usable")
    assert usable.number == "±2"
    assert "from −2\u202fmm to +3\u202fmm" in " ".join(answers(one, None, None))
    assert largest(one.parts[0])[1] in (-5e-3, 5e-3)


def test_masses_with_their_shares() -> None:
    """Shares of 6, 3 and 1 g are 60, 30 and 10 %, the heaviest first, whatever the order they come in."""

    def part(name: str, grams: float) -> MovingPart:
        return MovingPart(
            name=name,
            mass_kg=1e-3 * grams,
            mass_u_kg=1e-5,
            centre_m=1e-3,
            polar_kg_m2=0.0,
            diametral_kg_m2=0.0,
            basis="geometry",
        )

    mass = MovingMass(parts=(part("cap", 3.0), part("cone", 6.0)), mass_kg=9e-3, mass_u_kg=2e-5, centre_m=1e-3, diametral_kg_m2=0.0,
                      air_kg=1e-3, area_m2=50e-4, area_u_m2=1e-5, surround_area_m2=5e-4)  # fmt: skip
    rows = mass_rows(mass).rows
    assert [(row[0], re.sub(r"\D", "", row[2])) for row in rows] == [
        ("cone", "60"),
        ("cap", "30"),
        ("air that moves along", "10"),
        ("together, Mms", "100"),
    ]
    assert "10\u202f% of it the surround" in mass_rows(mass).notes[1]
    assert part_rows(suspension().parts).head == ("", "Surround", "Spider")
