"""Strips as they are drawn: places against the maps of the stored CalculiX cases, smooth joints, and what is refused."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.printed import in_print
from halfroll.suspension.build import part_of
from halfroll.suspension.design import PrintSettings
from halfroll.suspension.elastic.strip import place
from halfroll.suspension.profile import arm_place, check_strip, profile_of, snapped
from halfroll.suspension.profile.folds import radius_of_curvature
from tests.suspension.designs import flexure, strip

PLACES = json.loads((Path(__file__).parents[1] / "references/strip_geometry/places.json").read_text())

EVERY = {
    "half-roll": {},
    "half-roll down": {"direction": "down"},
    "elliptic-roll": {"height": 3.5},
    "m-roll": {"height": 2.5},
    "m-roll down": {"height": 1.9, "direction": "down"},
    "double-roll": {},
    "double-roll tall": {"height": 3.0, "thickness": 0.6},
    "flat": {},
    "corrugated": {"rolls": 3, "amplitude": 0.8, "amplitude_outer": 0.3, "thickness": 0.4},
    "free": {"points": [(30, 1), (31, 3), (33, 4.5), (36, 4), (38, 1.5), (40, 1)]},
}


def drawn(name: str, **more: Any) -> Any:
    """A strip of `EVERY`, with more dimensions."""
    return strip(name.split()[0], **{**EVERY[name], **more})


@pytest.mark.parametrize(
    ("case", "design"),
    [
        ("S1", strip()),
        ("elliptic", strip("elliptic-roll", height=3.5)),
        ("S2", strip("corrugated", 12, 28, 0.45, rolls=3, amplitude=1.5)),
        ("S2growing", strip("corrugated", 12, 28, 0.45, rolls=4, amplitude=0.5, amplitude_outer=1.25)),
    ],
    ids=["S1", "elliptic", "S2", "S2growing"],
)
def test_a_strip_is_the_one_the_reference_solvers_bent(case: str, design: Any) -> None:
    """Places and derivatives in mm against the map of the CalculiX meshes (references/strip_geometry), to 1e-12 of the radius."""
    rows = np.array(PLACES[case]["s t r z rs rt zs zt"])
    r, z, rs, rt, zs, zt = place(profile_of(design), rows[:, 0], rows[:, 1])
    found = 1e3 * np.stack([r, z, rs, rt, zs, zt], axis=1)
    np.testing.assert_allclose(found, rows[:, 2:], rtol=1e-12, atol=1e-12 * 40)


def test_a_spiral_arm_is_the_one_the_reference_solvers_bent() -> None:
    """The same for the arm of case S4."""
    rows = np.array(PLACES["S4"]["s v x y"])
    x, y = arm_place(flexure(), rows[:, 0], rows[:, 1])
    np.testing.assert_allclose(1e3 * np.stack([x, y], axis=1), rows[:, 2:], rtol=1e-12, atol=1e-12 * 30)


@pytest.mark.parametrize("name", EVERY)
def test_derivatives_are_those_of_the_line(name: str) -> None:
    """First and second derivatives against central differences inside every smooth piece."""
    profile = profile_of(drawn(name))
    for low, high in zip(profile.breaks, profile.breaks[1:], strict=False):
        step = 1e-4 * (high - low)
        s = np.linspace(low + 2 * step, high - 2 * step, 37)
        here, before, after = profile.curve(s), profile.curve(s - step), profile.curve(s + step)
        np.testing.assert_allclose((after.r - before.r) / (2 * step), here.r1, rtol=1e-5, atol=1e-7)
        np.testing.assert_allclose((after.z - before.z) / (2 * step), here.z1, rtol=1e-5, atol=1e-7)
        np.testing.assert_allclose((after.r1 - before.r1) / (2 * step), here.r2, rtol=1e-4, atol=1e-5)
        np.testing.assert_allclose((after.z1 - before.z1) / (2 * step), here.z2, rtol=1e-4, atol=1e-5)


@pytest.mark.parametrize("name", EVERY)
def test_a_line_runs_from_clamp_to_clamp_without_a_kink(name: str) -> None:
    """It starts at the inner radius at z = 0, ends at the outer one, and its tangent turns by no more than its curvature says."""
    design = drawn(name)
    profile = profile_of(design)
    ends = profile.curve(np.array([0.0, 1.0]))
    np.testing.assert_allclose(ends.r, [design.inner_radius_m, design.outer_radius_m], rtol=1e-12)
    assert ends.z == pytest.approx([0.0, 0.0], abs=1e-12)
    for at in profile.breaks[1:-1]:
        sides = profile.curve(np.array([at - 1e-9, at + 1e-9]))
        directions = np.arctan2(sides.z1, sides.r1)
        assert abs(math.remainder(float(directions[1] - directions[0]), 2 * math.pi)) < 1e-6
        assert abs(sides.r[1] - sides.r[0]) + abs(sides.z[1] - sides.z[0]) < 1e-9


@pytest.mark.parametrize(
    ("name", "top"), [("half-roll", 5.0), ("elliptic-roll", 3.5), ("m-roll", 2.5), ("double-roll", 2.5)]
)
def test_rolls_are_as_high_as_said_and_leave_their_clamps_upright(name: str, top: float) -> None:
    """The highest point of the middle line, its mirror image downwards, and the direction at the clamps."""
    up, down = profile_of(drawn(name)), profile_of(drawn(name, direction="down"))
    s = np.linspace(0, 1, 6001)
    assert 1e3 * up.curve(s).z.max() == pytest.approx(top, rel=1e-6)
    np.testing.assert_allclose(up.curve(s).z, -down.curve(s).z, atol=1e-15)
    ends = up.curve(np.array([0.0, 1.0]))
    assert np.abs(ends.r1 / ends.z1).max() < 1e-9


def test_an_m_has_two_tops_and_a_valley_level_with_its_clamps() -> None:
    """The valley of an M roll lies at half its width at z = 0, and its line is symmetric about it."""
    profile = profile_of(drawn("m-roll"))
    s = np.linspace(0, 1, 4001)
    line = profile.curve(s)
    turns = s[1:-1][np.diff(np.sign(np.diff(line.z))) != 0]
    assert len(turns) == 3
    valley = profile.curve(np.array([0.5]))
    assert float(valley.r[0]) == pytest.approx(35e-3, rel=1e-12)
    assert float(valley.z[0]) == pytest.approx(0.0, abs=1e-12)
    np.testing.assert_allclose(line.z, line.z[::-1], atol=1e-12)


def test_a_double_roll_turns_over_at_its_middle() -> None:
    """Its second roll is the first one turned by half a turn."""
    line = profile_of(drawn("double-roll")).curve(np.linspace(0, 1, 401))
    np.testing.assert_allclose(line.z, -line.z[::-1], atol=1e-12)
    np.testing.assert_allclose(line.r + line.r[::-1], 70e-3, atol=1e-12)


def test_a_free_line_passes_its_points_with_a_smooth_curvature() -> None:
    """A cubic spline through 13 points of a half circle comes within 1e-4 of it; its curvature has no step, and is right to
    2 %, in the parabolas at its ends to 6 %.
    """
    angles = np.linspace(math.pi, 0, 13)
    points = [(35 + 5 * math.cos(a), 5 * math.sin(a)) for a in angles]
    profile = profile_of(strip("free", points=points))
    s = np.linspace(0, 1, 2001)
    line = profile.curve(s)
    away = 1e3 * np.hypot(line.r - 35e-3, line.z - 0.0)
    assert np.abs(away - 5).max() < 5e-4
    bend = 1e-3 / radius_of_curvature(profile, s)
    assert np.abs(np.diff(bend)).max() < 2e-3
    assert bend == pytest.approx(-0.2, rel=0.06)
    assert bend[250:-250] == pytest.approx(-0.2, rel=0.02)


def test_thickness_runs_linearly_with_the_radius() -> None:
    """From the inner to the outer edge, and its derivative by s is the line's."""
    profile = profile_of(strip(thickness=0.8, thickness_outer=0.4))
    s = np.linspace(0, 1, 101)
    thickness, slope = profile.thickness(s)
    line = profile.curve(s)
    np.testing.assert_allclose(1e3 * thickness, 0.8 - 0.4 * (1e3 * line.r - 30) / 10, rtol=1e-12)
    np.testing.assert_allclose(slope, -0.04 * line.r1, rtol=1e-12, atol=1e-18)


@pytest.mark.parametrize(
    ("thickness", "settings", "become", "words"),
    [
        (0.8e-3, PrintSettings(), 0.8e-3, "0.8 mm as drawn"),
        (0.8e-3, PrintSettings(snap="lines"), 0.84e-3, "2 lines of 0.42 mm: 0.84 mm instead of 0.8 mm"),
        (0.1e-3, PrintSettings(snap="lines"), 0.42e-3, "1 line of 0.42 mm: 0.42 mm instead of 0.1 mm"),
        (0.84e-3, PrintSettings(snap="lines"), 0.84e-3, "2 lines of 0.42 mm: 0.84 mm"),
        (0.49e-3, PrintSettings(snap="layers"), 0.4e-3, "2 layers of 0.2 mm: 0.4 mm instead of 0.49 mm"),
    ],
)
def test_thickness_snaps_to_what_a_printer_lays(
    thickness: float, settings: PrintSettings, become: float, words: str
) -> None:
    """Whole lines or layers, at least one, and it says what became of it."""
    found = snapped(thickness, settings)
    assert found.thickness_m == pytest.approx(become, rel=1e-12)
    assert found.words == words


def test_a_profile_is_as_thick_as_it_will_be_printed() -> None:
    """The snapped thickness is the one that is computed with."""
    profile = profile_of(strip(print=PrintSettings(snap="lines")))
    assert profile.thickness(np.array([0.3]))[0] == pytest.approx(0.84e-3)


@pytest.mark.parametrize(
    ("design", "key", "message"),
    [
        ({"family": "half-roll", "inner": 40, "outer": 30}, "inner_mm", "smaller than its outer one; found 80 mm. Allowed: less than 60 mm"),
        ({"family": "half-roll", "inner": -3}, "inner_mm", "positive number; found -6 mm"),
        ({"family": "flat", "inner": math.nan}, "inner_mm", "positive number"),
        ({"family": "flat", "outer": math.inf}, "outer_mm", "positive number"),
        ({"family": "flat", "outer": 2500}, "outer_mm", "must be that of a driver; found 5000 mm. Allowed: at most 1000 mm"),
        ({"family": "half-roll", "thickness": 0}, "thickness_mm", "positive number; found 0 mm. Allowed: more than 0 mm"),
        ({"family": "flat", "thickness_outer": -1}, "thickness_outer_mm", "positive number"),
        ({"family": "half-roll", "height": 4}, "height_mm", "half its width: leave it out of the surround; found 4 mm. Allowed: 5 mm"),
        ({"family": "elliptic-roll"}, "height_mm", "An elliptic roll needs a height"),
        ({"family": "m-roll"}, "height_mm", "An M roll needs a height"),
        ({"family": "corrugated", "amplitude": 1}, "rolls", "whole number of rolls; found none. Allowed: 1 to 40"),
        ({"family": "corrugated", "rolls": 0, "amplitude": 1}, "rolls", "found 0"),
        ({"family": "corrugated", "rolls": 3}, "amplitude_mm", "needs an amplitude"),
        ({"family": "sombrero"}, "family", "one of the allowed words; found sombrero"),
        ({"family": "half-roll", "lip_inner": 31}, "lip_inner_mm", "end before the axis; found 31 mm"),
        ({"family": "half-roll", "thickness": 11}, "thickness_mm", "thinner than its roll's radius; found 11 mm thick on a radius of 5 mm. Allowed: less than 5 mm"),
        ({"family": "half-roll", "thickness": 5.2}, "thickness_mm", "thinner than its roll's radius; found 5.2 mm thick"),
        ({"family": "double-roll", "thickness": 2.5}, "thickness_mm", "found 2.5 mm thick on a radius of 2.5 mm"),
        ({"family": "free", "points": [(30 + 0.005 * k, 0) for k in range(2001)]}, "points_mm", "no more than 1000 points; found 2001"),
        ({"family": "elliptic-roll", "height": 1}, "thickness_mm", "found 0.8 mm thick on a radius of 0.2 mm. Allowed: less than 0.4 mm there"),
        ({"family": "corrugated", "rolls": 6, "amplitude": 1.5}, "thickness_mm", "folds over itself in a bend"),
        ({"family": "free", "points": [(30, 0), (40, 0)]}, "points_mm", "at least 3 points; found 2"),
        ({"family": "free", "points": [(30, 0), (35, 1), (35, 1), (40, 0)]}, "points_mm", "Points 2 and 3 must be two different points"),
        ({"family": "free", "points": [(40, 0), (35, 3), (30, 0)]}, "points_mm", "begin at the inner clamp"),
        ({"family": "free", "points": [(30, 0), (-1, 3), (40, 0)]}, "points_mm", "Point 2 must lie beside the axis; found r = -1 mm"),
        ({"family": "free", "points": [(30, 0), (35, math.nan), (40, 0)]}, "points_mm", "Point 2 must be two numbers"),
        ({"family": "free", "points": [(29, 0), (35, 3), (40, 0)]}, "inner_mm", "found 60 mm, and points that are at 58 mm there"),
    ],
    ids=lambda value: value if isinstance(value, str) and " " not in value else "",
)  # fmt: skip
def test_what_cannot_be_is_refused(design: dict[str, Any], key: str, message: str) -> None:
    """Key, what was found, and what is allowed."""
    with pytest.raises(InputError) as refused:
        check_strip(strip(**design))
    assert refused.value.place.key == f"surround.{key}"
    assert message in str(refused.value)


def test_a_line_that_crosses_itself_is_refused() -> None:
    """A loop of points, with the place where it crosses."""
    loop = [(30, 0), (34, 4), (38, 6), (38, 2), (33, 3), (32, 6), (36, 9), (40, 9)]
    with pytest.raises(InputError, match=r"must not cross itself; found a crossing at r = 3\d"):
        check_strip(strip("free", thickness=0.2, points=loop))


def test_walls_that_lie_over_each_other_are_refused() -> None:
    """A bulb on a neck of 1.2 mm is sound 0.8 mm thick; at 1.3 mm its neck closes, though no bend is too tight for that alone."""
    check_strip(strip("free", thickness=0.8, points=bulb()))
    with pytest.raises(InputError, match=r"Two stretches of the surround's wall overlap; found at r = 3"):
        check_strip(strip("free", thickness=1.3, points=bulb()))


def bulb() -> list[tuple[float, float]]:
    """Points (mm) of a bulb of radius 2.2 whose neck is two arcs of radius 0.9, 1.2 apart, tangential to it and to the lips."""
    flare = math.acos(1.5 / 3.1)
    left = [(33.5 + 0.9 * math.cos(a), 0.9 + 0.9 * math.sin(a)) for a in np.linspace(-math.pi / 2, flare, 8)]
    top = [
        (35 + 2.2 * math.cos(a), 0.9 + 3.1 * math.sin(flare) + 2.2 * math.sin(a))
        for a in np.linspace(math.pi + flare, -flare, 20)
    ]
    half = [(30.0, 0.0), (32.0, 0.0), *left]
    return [*half, *top[1:-1], *((70 - r, z) for r, z in half[::-1])]


def test_a_part_has_the_plastic_of_its_print() -> None:
    """Soft filament bends by the neo-Hooke law with what a radial load meets in the print; a stiff one by St Venant's."""
    design = strip()
    part, plastic = part_of(design), in_print(design.material, raster="around", direction="radial")
    assert (part.name, part.material.law) == ("surround", "neo-hooke")
    assert part.material.modulus_pa == plastic.modulus_pa
    assert part.material.density_kg_m3 == plastic.density_kg_m3
    stiff = max(catalogue().filaments.values(), key=lambda one: one.modulus_pa)
    assert part_of(replace(design, material=stiff)).material.law == "st-venant"
