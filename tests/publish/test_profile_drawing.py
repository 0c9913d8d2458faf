"""Dimensioned drawings of moving parts: what is dimensioned, that the numbers are the design's, and that paper is true to scale."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np
import pypdf
import pytest

from halfroll.publish.part_pieces import piece_of, piece_of_outlines
from halfroll.publish.part_sheet import part_sheet_svg, part_sheets_pdf
from halfroll.publish.profile_drawing import profile_svg
from halfroll.publish.theme import theme
from halfroll.suspension.design import PrintSettings
from halfroll.suspension.profile import strip_outline
from tests.publish.test_section import Drawn, motor, numbers
from tests.publish.test_section_moving import FORMER, MOVING
from tests.suspension.designs import cap, cone, flexure, strip

PARTS: dict[str, tuple[Any, dict[str, str]]] = {
    "half-roll": (strip(lip_inner=3, lip_outer=4), {"inner_mm": "⌀60", "outer_mm": "⌀80", "lip_inner_mm": "3", "lip_outer_mm": "4", "thickness_mm": "0.8 thick"}),
    "elliptic-roll": (strip("elliptic-roll", height=3.5, thickness_outer=0.5), {"height_mm": "3.5", "thickness_outer_mm": "0.5 thick"}),
    "m-roll": (strip("m-roll", height=2.5), {"height_mm": "2.5"}),
    "double-roll": (strip("double-roll", height=2.4, thickness=0.6), {"height_mm": "2.4"}),
    "flat": (strip("flat"), {"inner_mm": "⌀60"}),
    "corrugated": (strip("corrugated", 12, 28, 0.45, rolls=3, amplitude=1.5), {"amplitude_mm": "1.5"}),
    "growing": (strip("corrugated", 12, 28, 0.45, rolls=3, amplitude=1, amplitude_outer=1.5), {"amplitude_mm": "amplitude 1", "amplitude_outer_mm": "amplitude 1.5"}),
    "cone": (cone("flared", flare=2), {"inner_mm": "⌀24", "outer_mm": "⌀60", "depth_mm": "14", "flare_mm": "flare 2"}),
    "dome": (cone("dome", inner=0, depth=-9), {"outer_mm": "⌀60", "depth_mm": "9"}),
    "cap": (cap(), {"outer_mm": "⌀24", "height_mm": "4", "thickness_mm": "0.6 thick"}),
    "flexure": (flexure(), {"inner_mm": "⌀28", "outer_mm": "⌀60", "thickness_mm": "0.8 thick"}),
}  # fmt: skip


def dimensions(svg: str) -> dict[str, tuple[str, ET.Element]]:
    """Dimensions by their key: the words drawn, and the group."""
    root = ET.fromstring(svg)
    found = {}
    for group in root.iter("{http://www.w3.org/2000/svg}g"):
        if "data-dimension" in group.attrib:
            word = "".join(t.text or "" for t in group.iter("{http://www.w3.org/2000/svg}text"))
            found[group.attrib["data-dimension"].rpartition(".")[2]] = (word, group)
    return found


@pytest.mark.parametrize("name", PARTS)
def test_a_part_carries_the_numbers_of_its_design(name: str) -> None:
    """Every stated dimension is drawn as the record has it, and a page finds key and value on it."""
    design, expected = PARTS[name]
    found = dimensions(profile_svg(design, theme=theme(), width_px=600))
    for key, text in expected.items():
        word, group = found[key]
        assert word == text
        assert group.attrib["class"] == "live"
        assert group.attrib["data-key"].endswith(key)
        value = float(group.attrib["data-value"])
        assert f"{abs(value):g}" in text
        assert group.attrib["data-words"]


def test_what_follows_stands_in_brackets_and_is_not_for_editing() -> None:
    """The height of a half roll is half its width."""
    found = dimensions(profile_svg(strip(), theme=theme(), width_px=600))
    word, group = found["Height of the surround's roll"]
    assert word == "(5)"
    assert "class" not in group.attrib
    still = profile_svg(strip(), theme=theme(), width_px=600, live=False)
    assert "data-key" not in still


def test_a_diameter_ends_at_its_radius() -> None:
    """The arrow's tip lies at 30 and at 40 mm, measured in the drawing."""
    svg = profile_svg(strip(lip_inner=3), theme=theme(), width_px=700)
    drawn = Drawn(svg)
    for key, radius in (("inner_mm", 30), ("outer_mm", 40)):
        arrow = next(
            p
            for p in dimensions(svg)[key][1].iter("{http://www.w3.org/2000/svg}path")
            if p.get("class") == "arrow"
        )
        tip = numbers(arrow.attrib["d"])[0]
        assert (tip[0] - drawn.axis) / drawn.scale == pytest.approx(radius, abs=0.02)


@pytest.mark.parametrize("width", [340, 700, 1100])
def test_all_that_moves_is_dimensioned_within_the_picture(width: int) -> None:
    """Every part's keys, heights over the gap among them; every word begins inside the picture; the motor stands behind when it is given."""
    svg = profile_svg(MOVING, theme=theme("dark"), width_px=width, assembly=motor(), name="avocet v9")
    keys = set(re.findall(r'data-key="([^"]*)"', svg))
    assert {
        "surround.inner_mm",
        "surround.at_mm",
        "spider.outer_mm",
        "cone.depth_mm",
        "cone.at_mm",
        "cap.height_mm",
    } <= keys
    assert 'data-body="magnet"' in svg
    assert not any(key.startswith("former") for key in keys)
    for x in re.findall(r'<text class="dimension" x="([-\d.]+)"', svg):
        assert -1 <= float(x) <= width + 1


@pytest.mark.parametrize("name", PARTS)
def test_a_sheet_is_true_to_scale(name: str) -> None:
    """A view's caption says its scale; a diameter's two arrow tips are that many millimetres apart on the paper of 210 mm."""
    design, _ = PARTS[name]
    svg = part_sheet_svg(
        piece_of(design, getattr(design, "name", name), "Part of avocet v9"), date="2026-11-25"
    )
    root = ET.fromstring(svg)
    assert (root.attrib["width"], root.attrib["height"]) == ("210mm", "297mm")
    px_per_mm = float(root.attrib["viewBox"].split()[2]) / 210
    view = next(root.iter("{http://www.w3.org/2000/svg}g"))
    scale = float(view.attrib["data-scale"])
    assert scale in (20, 10, 5, 2, 1, 0.5, 0.2, 0.1)
    group = next(
        g
        for g in view.iter("{http://www.w3.org/2000/svg}g")
        if g.attrib.get("data-dimension", "").endswith("outer_mm")
    )
    arrow = next(p for p in group.iter("{http://www.w3.org/2000/svg}path") if p.get("class") == "arrow")
    tips = [numbers(one)[0][0] for one in arrow.attrib["d"].split("Z")[:2]]
    word = "".join(t.text or "" for t in group.iter("{http://www.w3.org/2000/svg}text"))
    assert abs(tips[0] - tips[1]) / px_per_mm / scale == pytest.approx(
        float(word.removeprefix("Ø")), abs=0.2 / scale
    )


def test_views_stay_inside_the_frame() -> None:
    """A small cap and a surround of 300 mm both fit the field over the title block, each at a recommended scale."""
    for design in (cap(5, 1, 0.4), strip("m-roll", 120, 150, 1.5, height=10, lip_inner=8, lip_outer=8)):
        svg = part_sheet_svg(piece_of(design, "part", "Part"), date="")
        root = ET.fromstring(svg)
        px_per_mm = float(root.attrib["viewBox"].split()[2]) / 210
        for view in (g for g in root.iter("{http://www.w3.org/2000/svg}g") if g.get("class") == "view"):
            dx, dy = (float(v) for v in re.findall(r"[-\d.]+", view.attrib["transform"]))
            for path in view.iter("{http://www.w3.org/2000/svg}path"):
                if path.get("class") in ("outline", "solid"):
                    at = numbers(path.attrib["d"])
                    assert (at[:, 0] + dx).min() / px_per_mm > 20
                    assert (at[:, 0] + dx).max() / px_per_mm < 200
                    assert (at[:, 1] + dy).min() / px_per_mm > 10
                    assert (at[:, 1] + dy).max() / px_per_mm < 297 - 10 - 34


def test_the_title_block_says_what_is_made_of_what() -> None:
    """Name, form, material, thickness as it will be printed, print settings, scale, unit, date; text that looks like markup is text."""
    design = strip(print=PrintSettings(snap="lines"), lip_inner=3)
    svg = part_sheet_svg(piece_of(design, "surround", "Surround of <avocet> v9"), date="25 November 2026")
    words = [t.text for t in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]
    for word in ("Surround of <avocet> v9", "half roll up", design.material.title, "25 November 2026", "mm",
                 "2 lines of 0.42 mm: 0.84 mm instead of 0.8 mm", "lines 0.42 mm, layers 0.2 mm, 100 % filled"):  # fmt: skip
        assert word in words


def test_a_flexure_is_drawn_in_plan_and_section() -> None:
    """Its hole and outer circle, its arms' width, and its thickness."""
    svg = part_sheet_svg(piece_of(flexure(lip_inner=2, lip_outer=5), "spider", "Spider"), date="")
    words = {t.text for t in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")}
    assert {"Ø24", "Ø28", "Ø60", "Ø70", "4 wide", "0.8 thick"} <= words
    assert "3 spiral arms 4 mm wide, Archimedean, turning through 180°" in words


def test_a_pdf_has_a_page_of_a4_for_every_part() -> None:
    """Read back by another library: pages, their size, and the words on them."""
    pieces = [
        *(
            piece_of(getattr(MOVING, name), name, f"{name} of avocet v9")
            for name in ("surround", "spider", "cone", "cap", "former")
        ),
        piece_of_outlines("jig", "Jig of avocet v9", [strip_outline(strip())], "PLA"),
    ]
    reader = pypdf.PdfReader(io.BytesIO(part_sheets_pdf(pieces, date="2026-11-25")))
    assert len(reader.pages) == 6
    for page_, piece in zip(reader.pages, pieces, strict=True):
        width, height = (float(v) / 72 * 25.4 for v in page_.mediabox[2:])
        assert (width, height) == (pytest.approx(210, abs=0.1), pytest.approx(297, abs=0.1))
        assert piece.title in page_.extract_text()


def test_a_former_alone_can_be_drawn() -> None:
    """As a tube with both diameters."""
    svg = part_sheet_svg(piece_of(FORMER, "former", "Former"), date="")
    assert {"Ø25.8", "Ø26.2"} <= {t.text for t in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")}


def test_a_part_of_straight_edges_is_given_its_corners() -> None:
    """A sleeve with a collar: all three diameters and both levels; a curved part only its extent."""
    sleeve = np.array([(10, 0), (14, 0), (14, 2), (11, 2), (11, 9), (10, 9)]) * 1e-3
    words = [
        t.text
        for t in ET.fromstring(
            part_sheet_svg(piece_of_outlines("jig", "Jig", [sleeve], "PLA"), date="")
        ).iter("{http://www.w3.org/2000/svg}text")
    ]
    assert {"Ø20", "Ø22", "Ø28", "2", "9"} <= set(words)
    curved = piece_of_outlines("jig", "Jig", [strip_outline(strip())], "PLA")
    assert [one.kind for one in curved.dimensions] == ["diameter", "height"]
