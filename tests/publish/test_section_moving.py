"""Moving parts in the half-section, read with a ruler: where they stand, how thin ones are drawn, and drawings without a motor."""

from __future__ import annotations

import re

import numpy as np
import pytest

from halfroll.publish.section import section_svg, section_words
from halfroll.publish.section_moving import NOTE, moving_extent, moving_svg
from halfroll.publish.theme import theme
from halfroll.suspension.design import FormerDesign, MovingDesign
from tests.publish.test_section import Drawn, motor, numbers
from tests.suspension.designs import cap, cone, flexure, plastic, strip

FORMER = FormerDesign(
    inner_radius_m=12.9e-3, wall_m=0.2e-3, low_m=-4e-3, high_m=15e-3, material=plastic(), winding_kg=0.0,
    winding_low_m=-4e-3, winding_high_m=4e-3, former_kg=0.0,
)  # fmt: skip
MOVING = MovingDesign(
    former=FORMER, cone=cone(inner=13, outer=34, depth=13, height_over_gap=14), cap=cap(15, 4),
    surround=strip("half-roll", 34.5, 46, height_over_gap=27, lip_inner=3, lip_outer=4),
    spider=flexure(inner=14, outer=32, height_over_gap=11, sweep_deg=120, width=3),
)  # fmt: skip


def parts(svg: str) -> dict[str, str]:
    """The SVG of each moving part by its name."""
    return dict(re.findall(r'<g class="moving" data-part="([^"]*)">(.*?)</g>', svg))


@pytest.mark.parametrize("width", [420.0, 1600.0])
def test_parts_stand_over_the_gap_to_scale(width: float) -> None:
    """The cone's corners and the surround's top are where the design says, measured in the drawing to 0.02 mm."""
    svg = section_svg(motor(), theme=theme(), width_px=width, moving=MOVING, dimensions=False)
    drawn = Drawn(svg)
    found = parts(svg)
    assert list(found) == ["former", "cone", "cap", "surround", "spider"]
    places = {name: drawn.mm(" ".join(re.findall(r' d="([^"]*)"', one))) for name, one in found.items()}
    slope = np.array([13, -21]) / np.hypot(13, 21) * 0.4
    for corner in (np.array([13, 14]) + slope, np.array([34, 27]) - slope):
        assert np.hypot(*(places["cone"] - corner).T).min() < 0.02
    assert places["surround"].max(axis=0) == pytest.approx([50.0, 27 + 5.75 + 0.4], abs=0.03)
    assert places["spider"].min(axis=0) == pytest.approx([11.0, 10.6], abs=0.03)


def test_thin_walls_are_solid_and_wide_ones_hatched() -> None:
    """At a thumbnail's scale a wall of 0.8 mm is filled with ink and the key says so; enlarged it is an outline with hatching."""
    small = section_svg(motor(), theme=theme(), width_px=420, moving=MOVING)
    large = section_svg(motor(), theme=theme(), width_px=1600, moving=MOVING)
    assert 'class="solid"' in parts(small)["surround"]
    assert "hatch" not in parts(small)["surround"]
    assert 'class="hatch"' in parts(large)["surround"]
    assert NOTE in small
    assert NOTE not in section_svg(motor(), theme=theme(), width_px=420)


def test_both_halves_mirror_each_other() -> None:
    """Every part of a thumbnail is drawn on both sides of the axis."""
    svg = section_svg(motor(), theme=None, width_px=420, moving=MOVING, dimensions=False, mirrored=True)
    drawn = Drawn(svg)
    for name, one in parts(svg).items():
        r = drawn.mm(" ".join(re.findall(r' d="([^"]*)"', one)))[:, 0]
        assert r.min() == pytest.approx(-r.max(), abs=0.05), name


def test_the_gap_enlarged_is_without_them() -> None:
    """What is enlarged shows the gap and nothing of the cone."""
    assert section_svg(motor(), theme=theme(), width_px=420, moving=MOVING, detail=True) == section_svg(
        motor(), theme=theme(), width_px=420, detail=True
    )


def test_a_drawing_says_what_moves() -> None:
    """In words for those who listen."""
    words = section_words(motor(), None, "avocet v9", MOVING)
    assert words.endswith("With former, cone, cap, surround and spider.")


def test_moving_parts_are_drawn_without_a_motor() -> None:
    """All of them with the axis, to one scale with others when that is asked for; a former alone is no drawing."""
    svg = moving_svg(MOVING, theme=theme("dark"), width_px=420, name="dunlin v2")
    drawn = Drawn(svg)
    assert list(parts(svg)) == ["former", "cone", "cap", "surround", "spider"]
    assert 'aria-label="dunlin v2: section of former, cone, cap, surround and spider."' in svg
    r = numbers(" ".join(re.findall(r'class="solid" d="([^"]*)"', svg)))[:, 0]
    assert r.min() >= 0
    assert r.max() <= 420
    wider = Drawn(moving_svg(MOVING, theme=theme(), width_px=420, reach_m=0.1))
    assert wider.scale == pytest.approx(drawn.scale * 0.05 / 0.1, rel=0.02)
    assert moving_extent(MovingDesign(former=FORMER)) is None
    assert moving_extent(None) is None
