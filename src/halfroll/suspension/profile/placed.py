"""Where the parts' middle lines stand in the driver: heights over the middle of the motor's gap."""

from __future__ import annotations

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import ConeDesign, FlexureDesign, FormerDesign, MovingDesign, StripDesign
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.profile.cones import cap_line, cone_line
from halfroll.suspension.profile.families import profile_of
from halfroll.suspension.profile.flexure import flexure_section
from halfroll.suspension.profile.numbers import mm
from halfroll.suspension.profile.outlines import (
    WITHIN_M,
    flexure_outline,
    former_outline,
    strip_outline,
    wall_outline,
)
from halfroll.suspension.profile.pieces import straight
from halfroll.suspension.profile.thickness import along


def raised(profile: Profile, height_m: float) -> Profile:
    """The same profile higher by `height_m` (m)."""
    if height_m == 0.0:
        return profile

    def curve(s: FloatArray) -> MidLine:
        line = profile.curve(s)
        return MidLine(r=line.r, z=line.z + height_m, r1=line.r1, z1=line.z1, r2=line.r2, z2=line.z2)

    return Profile(title=profile.title, curve=curve, thickness=profile.thickness, breaks=profile.breaks)


def placed_cone(design: ConeDesign) -> Profile:
    """A cone's middle line where it stands over the gap."""
    return raised(cone_line(design), design.height_over_gap_m)


def placed_strip(design: StripDesign | FlexureDesign) -> Profile:
    """A surround's or spider's middle line where it stands over the gap; of a flexure the flat ring its arms lie in."""
    own = profile_of(design) if isinstance(design, StripDesign) else flexure_section(design)
    return raised(own, design.height_over_gap_m)


def former_line(design: FormerDesign) -> Profile:
    """The former's wall as a middle line from its lower to its upper end, over the gap."""
    middle = design.inner_radius_m + 0.5 * design.wall_m
    curve = straight((middle, design.low_m), (middle, design.high_m))
    return Profile(title="former", curve=curve, thickness=along(curve, design.wall_m, None))


def cap_height(moving: MovingDesign) -> float:
    """Height (m) of the cap's rim over the gap: on the cone's outer face where that has the cap's radius, else on the former.

    Raises
    ------
    InputError
        Neither cone nor former is there for it to sit on.
    """
    assert moving.cap is not None
    radius = moving.cap.radius_m
    if moving.cone is not None:
        height = _face_at(placed_cone(moving.cone), radius)
        if height is not None:
            return height
    if moving.former is not None and (
        moving.cone is None or radius <= moving.cone.inner_radius_m + moving.former.wall_m
    ):
        return moving.former.high_m
    found = (
        "no cone and no former"
        if moving.cone is None
        else f"a cone from {mm(2 * moving.cone.inner_radius_m)}"
    )
    raise InputError(
        "The cap must have a cone or a former to sit on", key="cap.outer_mm", found=f"{mm(2 * radius)} over {found}",
        allowed="a diameter within the cone's, or about the former's",
    )  # fmt: skip


def placed_cap(moving: MovingDesign) -> Profile:
    """The cap's middle line where it stands over the gap; see `cap_height`."""
    assert moving.cap is not None
    return raised(cap_line(moving.cap), cap_height(moving))


def moving_lines(moving: MovingDesign) -> dict[str, Profile]:
    """The middle lines of all parts there are, each over the gap, by name: former, cone, cap, surround, spider, in this order."""
    found: dict[str, Profile] = {}
    if moving.former is not None:
        found["former"] = former_line(moving.former)
    if moving.cone is not None:
        found["cone"] = placed_cone(moving.cone)
    if moving.cap is not None:
        found["cap"] = placed_cap(moving)
    for name, design in (("surround", moving.surround), ("spider", moving.spider)):
        if design is not None:
            found[name] = placed_strip(design)
    return found


def moving_outlines(moving: MovingDesign, within_m: float = WITHIN_M) -> dict[str, tuple[FloatArray, ...]]:
    """The closed half-sections of all parts there are, each (n, 2) of r, z over the gap, by name as in `moving_lines`.

    A flexure is cut along an arm: hub ring, arm, rim ring as one where its legs are straight, the two rings alone where its arms
    wind (no half-plane cuts such an arm along its length).
    """
    found: dict[str, tuple[FloatArray, ...]] = {}
    for name, line in moving_lines(moving).items():
        design = {"surround": moving.surround, "spider": moving.spider}.get(name)
        if isinstance(design, StripDesign):
            found[name] = (strip_outline(design, within_m) + np.array([0.0, design.height_over_gap_m]),)
        elif isinstance(design, FlexureDesign):
            found[name] = flexure_rings(design)
        elif name == "former":
            assert moving.former is not None
            found[name] = (former_outline(moving.former),)
        else:
            found[name] = (wall_outline(line, within_m),)
    return found


def flexure_rings(design: FlexureDesign) -> tuple[FloatArray, ...]:
    """A flexure's half-section where it stands: see `moving_outlines`."""
    plan = flexure_outline(design)
    low = design.height_over_gap_m - 0.5 * plan.thickness_m
    inner, outer = design.inner_radius_m, design.outer_radius_m
    if design.family == "straight-legs":
        return (_box(inner - plan.hub_m, outer + plan.rim_m, low, plan.thickness_m),)
    return (
        _box(inner - plan.hub_m, inner, low, plan.thickness_m),
        _box(outer, outer + plan.rim_m, low, plan.thickness_m),
    )


def _box(r_low: float, r_high: float, low: float, tall: float) -> FloatArray:
    return np.array([(r_low, low), (r_high, low), (r_high, low + tall), (r_low, low + tall)])


def _face_at(profile: Profile, radius: float) -> float | None:
    """Height (m) of a cone's outer face at a radius, the highest one; None where it has no such radius."""
    s = np.linspace(0.0, 1.0, 2001)
    line = profile.curve(s)
    r, z = line.r, line.z
    upright = profile.thickness(s)[0] * np.hypot(line.r1, line.z1) / np.maximum(np.abs(line.r1), 1e-12)
    crossing = np.nonzero((r[:-1] - radius) * (r[1:] - radius) <= 0)[0]
    heights = []
    for n in crossing:
        share = 0.0 if r[n + 1] == r[n] else float((radius - r[n]) / (r[n + 1] - r[n]))
        heights.append(float(z[n] + share * (z[n + 1] - z[n])) + 0.5 * min(float(upright[n]), 1e-2))
    return max(heights, default=None)
