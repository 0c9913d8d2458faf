"""Closed outlines: area, volume and clamps of strips, and what is open between a flexure's arms."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.profile import check_flexure, flexure_outline, profile_of, strip_outline
from halfroll.suspension.profile.arms import narrowest
from halfroll.suspension.profile.flexure import arm_length
from halfroll.suspension.profile.folds import first_crossing
from tests.suspension.designs import flexure, strip
from tests.suspension.test_cones import volume
from tests.suspension.test_profile import EVERY, bulb, drawn


def area(loop: FloatArray) -> float:
    """Signed area (m²), positive anticlockwise."""
    x, y = loop.T
    return float(0.5 * (x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


@pytest.mark.parametrize("lips", [0.0, 3.0])
@pytest.mark.parametrize("name", EVERY)
def test_an_outline_is_simple_and_has_its_lips(name: str, lips: float) -> None:
    """Anticlockwise, no crossing, and as wide as wall and lips; area of the wall is thickness times length (exact for normals)."""
    design = drawn(name, lip_inner=lips, lip_outer=lips)
    outline = strip_outline(design)
    assert first_crossing(outline, closed=True) is None
    assert area(outline) > 0
    s = np.linspace(0, 1, 20001)
    line = profile_of(design).curve(s)
    wall = design.thickness_m * float(np.hypot(np.diff(line.r), np.diff(line.z)).sum())
    if lips:
        assert 1e3 * outline[:, 0].min() == pytest.approx(30 - lips, abs=1e-6)
        assert 1e3 * outline[:, 0].max() == pytest.approx(40 + lips, abs=1e-6)
        # Each lip reaches from its end to under the foot of the wall, at most half a thickness.
        rings = 2 * lips * 1e-3 * design.thickness_m
        assert rings - 1e-12 <= area(outline) - wall <= rings + 1.001 * design.thickness_m**2
    else:
        assert area(outline) == pytest.approx(
            wall, rel=1e-3
        )  # chords lie within 1 µm of faces 0.4 to 0.8 mm apart
        assert area(strip_outline(design, 1e-8)) == pytest.approx(wall, rel=1e-5)


def test_a_half_roll_holds_half_a_torus() -> None:
    """Volume pi² h times the product of the roll's two mean radii twice over (Pappus), without lips."""
    outline = strip_outline(strip(), 1e-8)
    assert volume(outline) == pytest.approx(math.pi * 5e-3 * 0.8e-3 * 2 * math.pi * 35e-3, rel=1e-5)


def test_a_lip_lies_behind_the_clamp() -> None:
    """Under the foot of a roll that stands upright, in line with a flat strip: the free wall begins where the middle line does."""
    upright = strip_outline(strip(lip_inner=3))
    at_lip = upright[upright[:, 0] < 29e-3]
    assert sorted(np.round(1e3 * at_lip[:, 1], 9)) == [-0.8, 0.0]
    down = strip_outline(strip(lip_inner=3, direction="down"))
    assert sorted(np.round(1e3 * down[down[:, 0] < 29e-3][:, 1], 9)) == [0.0, 0.8]
    flat = strip_outline(strip("flat", lip_inner=3))
    assert sorted(np.round(1e3 * flat[flat[:, 0] < 29e-3][:, 1], 9)) == [-0.4, 0.4]


def test_a_bulb_on_its_lips_is_simple() -> None:
    """A free profile that overhangs its clamps keeps a simple outline."""
    assert (
        first_crossing(strip_outline(strip("free", points=bulb(), lip_inner=4, lip_outer=4)), closed=True)
        is None
    )


@pytest.mark.parametrize(
    "design",
    [flexure(), flexure(sweep_deg=90, width=3), flexure(arms=4, sweep_deg=60), flexure("straight-legs", arms=3),
     flexure("straight-legs", arms=6, width=2, lip_inner=2, lip_outer=5), flexure(arms=2, sweep_deg=400, width=2)],
    ids=["s4", "short", "four", "legs", "six", "long"],
)  # fmt: skip
def test_a_flexure_is_one_piece_with_as_many_windows_as_arms(design: Any) -> None:
    """Outer loop anticlockwise, hub hole and windows clockwise, none crossing, and the plastic left between the circles is that of
    the arms: width times the length of an arm each, to what the slanted ends add or take.
    """
    outline = flexure_outline(design)
    assert len(outline.holes) == design.arms + 1
    assert area(outline.outer) > 0
    assert all(area(hole) < 0 for hole in outline.holes)
    assert all(first_crossing(hole, closed=True) is None for hole in outline.holes)
    inner, outer = design.inner_radius_m, design.outer_radius_m
    arms = math.pi * (outer**2 - inner**2) + sum(area(hole) for hole in outline.holes[1:])
    assert arms == pytest.approx(design.arms * design.width_m * arm_length(design), rel=0.08)
    for hole in outline.holes[1:]:
        radius = np.hypot(*hole.T)
        assert radius.min() == pytest.approx(inner, rel=1e-5)
        assert radius.max() == pytest.approx(outer, rel=1e-5)


def test_straight_legs_leave_exactly_what_is_theirs() -> None:
    """Area of a window: the sector between the circles less a leg, whose ends are the circles' arcs (elementary geometry)."""
    design = flexure("straight-legs", 14, 30, width=4)

    def strip_inside(radius: float) -> float:
        """Half of the area of a disc within 2 mm of its diameter."""
        return 2 * math.sqrt(radius**2 - 4) + radius**2 * math.asin(2 / radius)

    leg = strip_inside(30.0) - strip_inside(14.0)
    window = math.pi * (900 - 196) / 3 - leg
    assert -1e6 * area(flexure_outline(design).holes[1]) == pytest.approx(window, rel=1e-3)


def test_the_narrowest_place_between_straight_legs_is_at_the_hub() -> None:
    """Distance of the corners where two legs meet the hub's circle."""
    gap, where = narrowest(flexure("straight-legs", 14, 30, width=4, arms=6))
    half = 2 * math.pi / 12 - math.asin(2 / 14)
    assert 1e3 * gap == pytest.approx(2 * 14 * math.sin(half), rel=1e-6)
    assert 1e3 * where == pytest.approx(14, rel=0.02)


def test_a_spirals_length_is_the_published_one() -> None:
    """Arc length of an Archimedean spiral r = a phi: a/2 (phi sqrt(1 + phi²) + asinh phi), a handbook formula, between two angles."""
    a, (low, high) = 16 / math.pi, (14 * math.pi / 16, 30 * math.pi / 16)

    def length(phi: float) -> float:
        return a / 2 * (phi * math.sqrt(1 + phi**2) + math.asinh(phi))

    assert 1e3 * arm_length(flexure()) == pytest.approx(length(high) - length(low), rel=1e-6)


@pytest.mark.parametrize(
    ("design", "key", "message"),
    [
        ({"arms": 1}, "arms", "found 1. Allowed: 2 to 24"),
        ({"width": 0}, "width_mm", "positive number"),
        ({"thickness": -1}, "thickness_mm", "positive number"),
        ({"inner": 30, "outer": 14}, "inner_mm", "smaller than its outer one"),
        ({"sweep_deg": 0}, "sweep_deg", "found 0°. Allowed: 5° to 720°"),
        ({"sweep_deg": 800}, "sweep_deg", "found 800°"),
        ({"family": "straight-legs", "sweep_rad": 1.0}, "sweep_deg", "Straight legs have no sweep"),
        ({"family": "straight-legs", "arms": 12, "width": 8}, "width_mm", "touch each other at the hub; found 12 arms 8 mm wide. Allowed: less than 7.2"),
        ({"arms": 6, "width": 6}, "width_mm", "touch each other"),
        ({"arms": 3, "sweep_deg": 500, "width": 4}, "width_mm", "touch each other"),
        ({"inner": 2, "outer": 30, "width": 4.5}, "width_mm", "less than"),
        ({"hub": "loose"}, "hub", "found loose. Allowed: held, free"),
    ],
    ids=lambda value: value if isinstance(value, str) and " " not in value else "",
)  # fmt: skip
def test_a_flexure_that_cannot_be_is_refused(design: dict[str, Any], key: str, message: str) -> None:
    """Key, found, allowed."""
    with pytest.raises(InputError) as refused:
        check_flexure(flexure(**design))
    assert refused.value.place.key == f"spider.{key}"
    assert message in str(refused.value)
