"""Middle lines and outlines of cones, domes, caps against the geometry of cones and spheres, and where they stand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import FormerDesign, MovingDesign
from halfroll.suspension.profile import (
    cap_line,
    cap_outline,
    check_cone,
    cone_line,
    cone_outline,
    moving_lines,
)
from tests.suspension.designs import cap, cone, flexure, plastic, strip


def volume(outline: FloatArray) -> float:
    """Volume (m³) of a turned half-section by Green's theorem: pi times the integral of r² dz around it."""
    r, z = outline.T
    r2, z2 = np.roll(r, -1), np.roll(z, -1)
    return float(math.pi * ((r**2 + r * r2 + r2**2) / 3 * (z2 - z)).sum())


def test_a_straight_cone_has_the_volume_of_its_frustum() -> None:
    """Slant length times thickness times the mean circumference (Pappus): exact for a wall laid off along the normal."""
    slant = math.hypot(18e-3, 14e-3)
    assert volume(cone_outline(cone())) == pytest.approx(2 * math.pi * 21e-3 * slant * 0.8e-3, rel=1e-9)


@pytest.mark.parametrize("depth", [-9.0, 6.0, -30.0])
def test_a_dome_is_part_of_a_sphere(depth: float) -> None:
    """Every place at one distance from one centre; area 2 pi R |depth| (Archimedes), so the wall holds h times that and h³/12 more."""
    design = cone("dome", inner=0, depth=depth)
    line = cone_line(design).curve(np.linspace(0, 1, 201))
    radius = (30**2 + depth**2) / (2 * abs(depth))
    centre = 1e-3 * math.copysign(radius, depth)
    np.testing.assert_allclose(1e3 * np.hypot(line.r, line.z - centre), radius, rtol=1e-12)
    assert 1e3 * line.z[-1] == pytest.approx(depth)
    inside, outside = radius - 0.4, radius + 0.4
    shell = 2 * math.pi / 3 * (outside**3 - inside**3) * abs(depth) / radius
    assert 1e9 * volume(cone_outline(design, 1e-8)) == pytest.approx(shell, rel=2e-5)


def test_a_flared_cone_is_an_arc_that_bulges_to_the_axis() -> None:
    """One curvature all along, ends where they are said, its middle by the flare on the axis's side of the straight line."""
    profile = cone_line(cone("flared", flare=2.0))
    s = np.linspace(0, 1, 101)
    line = profile.curve(s)
    bend = (line.r1 * line.z2 - line.z1 * line.r2) / np.hypot(line.r1, line.z1) ** 3
    chord = math.hypot(18, 14)
    radius = (chord**2 / 4 + 2.0**2) / (2 * 2.0)
    np.testing.assert_allclose(1e3 / np.abs(bend), radius, rtol=1e-9)
    np.testing.assert_allclose([1e3 * line.r[-1], 1e3 * line.z[-1]], [30, 14], rtol=1e-12)
    middle = np.array([1e3 * line.r[50], 1e3 * line.z[50]])
    np.testing.assert_allclose(middle, [21 - 2 * 14 / chord, 7 + 2 * 18 / chord], rtol=1e-12)
    hollow = cone_line(cone("flared", flare=-2.0)).curve(s)
    assert 1e3 * hollow.r[50] == pytest.approx(21 + 2 * 14 / chord)


@pytest.mark.parametrize("height", [4.0, -4.0, 12.0, 0.0])
def test_a_cap_is_a_sphere_over_its_rim(height: float) -> None:
    """Apex at its height, rim at z = 0 and the radius, the middle between them on the sphere."""
    line = cap_line(cap(height=height)).curve(np.array([0.0, 0.5, 1.0]))
    np.testing.assert_allclose(1e3 * line.r[[0, 2]], [0, 12], atol=1e-12)
    np.testing.assert_allclose(1e3 * line.z[[0, 2]], [height, 0], atol=1e-12)
    if height:
        radius = (144 + height**2) / (2 * height)
        assert math.hypot(1e3 * line.r[1], 1e3 * line.z[1] - (height - radius)) == pytest.approx(abs(radius))
    assert cap_outline(cap(height=height)).min(axis=0)[0] == pytest.approx(0.0, abs=1e-15)


def test_parts_stand_where_they_are_said() -> None:
    """Heights over the gap: the cone by its inner edge, the cap on the cone's outer face, the strips by their inner clamps."""
    former = FormerDesign(inner_radius_m=12e-3, wall_m=0.3e-3, low_m=-6e-3, high_m=11e-3, material=plastic(), winding_kg=0.0,
                          winding_low_m=-4e-3, winding_high_m=4e-3, former_kg=0.0)  # fmt: skip
    moving = MovingDesign(
        former=former, cone=cone(inner=12.15, height_over_gap=10), cap=cap(15, 3), surround=strip(height_over_gap=24),
        spider=flexure(height_over_gap=6),
    )  # fmt: skip
    lines = moving_lines(moving)
    assert list(lines) == ["former", "cone", "cap", "surround", "spider"]
    ends = {name: line.curve(np.array([0.0, 1.0])) for name, line in lines.items()}
    assert 1e3 * ends["cone"].z == pytest.approx([10, 24])
    assert 1e3 * ends["surround"].z == pytest.approx([24, 24])
    assert 1e3 * ends["spider"].z == pytest.approx([6, 6])
    assert 1e3 * ends["former"].z == pytest.approx([-6, 11])
    slope = 14 / 17.85
    on_cone = 10 + (15 - 12.15) * slope + 0.4 * math.hypot(1, slope)
    assert 1e3 * ends["cap"].z[1] == pytest.approx(on_cone, abs=0.02)
    on_former = MovingDesign(former=former, cap=cap(12.15, 3))
    assert 1e3 * moving_lines(on_former)["cap"].curve(np.array([1.0])).z[0] == pytest.approx(11)
    with pytest.raises(InputError, match="must have a cone or a former to sit on"):
        moving_lines(MovingDesign(cap=cap()))


@pytest.mark.parametrize(
    ("design", "key", "message"),
    [
        ({"inner": 31}, "inner_mm", "smaller than its outer one; found 62 mm"),
        ({"thickness": 0}, "thickness_mm", "positive number; found 0 mm"),
        ({"depth": math.nan}, "depth_mm", "must be a number"),
        ({"shape": "flared", "flare": 12}, "flare_mm", "below half a circle; found 12 mm. Allowed: less than 11.4 mm"),
        ({"shape": "dome", "inner": 0, "depth": -31}, "depth_mm", "no deeper than half a sphere; found -31 mm"),
        ({"inner": 0}, "inner_mm", "must not reach over the axis"),
        ({"shape": "dome", "inner": 0, "depth": -9, "thickness": 120}, "thickness_mm", "twice the radius of curvature"),
        ({"shape": "bell"}, "shape", "found bell. Allowed: straight, flared, dome, free"),
        ({"shape": "free", "points": [(12, 0), (30, 14)]}, "points_mm", "at least 3 points"),
    ],
    ids=lambda value: value if isinstance(value, str) and " " not in value else "",
)  # fmt: skip
def test_a_cone_that_cannot_be_is_refused(design: dict[str, Any], key: str, message: str) -> None:
    """Key, found, allowed."""
    with pytest.raises(InputError) as refused:
        check_cone(cone(**design))
    assert refused.value.place.key == f"cone.{key}"
    assert message in str(refused.value)


def test_a_cap_that_cannot_be_is_refused() -> None:
    """Higher than half a sphere, or of no size."""
    with pytest.raises(
        InputError, match=r"cap.height_mm: .*half a sphere; found 13 mm. Allowed: -12 mm to 12 mm"
    ):
        cap_line(cap(height=13))
    with pytest.raises(InputError, match=r"cap.outer_mm"):
        cap_line(cap(radius=0))
