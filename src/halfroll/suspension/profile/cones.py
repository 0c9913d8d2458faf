"""Middle lines of cone and dust cap.

Each is in its own part's heights: z = 0 is the inner edge of a cone, the apex of a dome, the rim of a cap. Where they stand
in the driver `placed` says.
"""

from __future__ import annotations

import math

from halfroll.core.errors import InputError, choose
from halfroll.suspension.design import CapDesign, ConeDesign
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.folds import check_wall
from halfroll.suspension.profile.numbers import finite, mm, positive, radii, thicknesses
from halfroll.suspension.profile.pieces import Arc, Curve, bowed, straight
from halfroll.suspension.profile.points import check_points, from_inner
from halfroll.suspension.profile.spline import through
from halfroll.suspension.profile.thickness import along, snapped

SHAPES = ("straight", "flared", "dome", "free")


def cone_line(design: ConeDesign) -> Profile:
    """A cone's or dome's middle line and thickness, from the inner edge (a dome's apex), where z = 0, to the outer edge.

    A straight cone is a straight line, a flared one an arc of a circle, a dome part of a sphere about the axis, a free one
    the spline through its points.

    Raises
    ------
    InputError
        Dimensions that cannot be; see `check_cone`.
    """
    _check_dimensions(design)
    curve = _curve(design)
    inner = snapped(design.thickness_m, design.print).thickness_m
    outer = design.thickness_outer_m
    if outer is not None:
        outer = snapped(outer, design.print).thickness_m
    title = {"straight": "straight cone", "flared": "flared cone", "dome": "dome", "free": "free profile"}
    profile = Profile(title=title[design.shape], curve=curve, thickness=along(curve, inner, outer))
    check_wall(profile, "cone")
    return profile


def check_cone(design: ConeDesign) -> None:
    """Refuse a cone that cannot be.

    Raises
    ------
    InputError
        Edges that are no ring, no thickness, a flare of more than half a circle, a dome deeper than half a sphere, a wall
        that crosses or folds over itself; with key, what was found and what is allowed.
    """
    cone_line(design)


def cap_line(design: CapDesign) -> Profile:
    """A cap's middle line and thickness from the axis to the rim, where z = 0: part of a sphere, or flat.

    Raises
    ------
    InputError
        No radius or thickness, higher than half a sphere, a wall that folds over itself.
    """
    positive(2.0 * design.radius_m, "The diameter of the cap", "cap.outer_mm")
    positive(design.thickness_m, "The thickness of the cap", "cap.thickness_mm")
    finite(design.height_m, "The height of the cap", "cap.height_mm")
    if abs(design.height_m) > design.radius_m:
        raise InputError(
            "A cap must be no higher than half a sphere", key="cap.height_mm", found=mm(design.height_m),
            allowed=f"-{mm(design.radius_m)} to {mm(design.radius_m)}",
        )  # fmt: skip
    curve = _sphere(0.0, design.radius_m, -design.height_m, lift=design.height_m)
    thickness = snapped(design.thickness_m, design.print).thickness_m
    profile = Profile(title="dust cap", curve=curve, thickness=along(curve, thickness, None))
    check_wall(profile, "cap")
    return profile


def _check_dimensions(design: ConeDesign) -> None:
    choose(design.shape, SHAPES, field="The shape of the cone", key="cone.shape")
    thicknesses(design.thickness_m, design.thickness_outer_m, "cone")
    if design.shape == "free":
        check_points(design.points, "cone", (design.inner_radius_m, design.outer_radius_m), solid=True)
        return
    radii(design.inner_radius_m, design.outer_radius_m, "cone", solid=True)
    finite(design.depth_m, "The depth of the cone", "cone.depth_mm")
    finite(design.flare_m, "The flare of the cone", "cone.flare_mm")
    if design.shape == "flared":
        _check_flare(design)
    if design.shape == "dome" and abs(design.depth_m) > design.outer_radius_m:
        raise InputError(
            "A dome must be no deeper than half a sphere", key="cone.depth_mm", found=mm(design.depth_m),
            allowed=f"-{mm(design.outer_radius_m)} to {mm(design.outer_radius_m)}",
        )  # fmt: skip


def _check_flare(design: ConeDesign) -> None:
    chord = math.hypot(design.outer_radius_m - design.inner_radius_m, design.depth_m)
    if abs(design.flare_m) >= 0.5 * chord:
        raise InputError(
            "The flare of a cone must stay below half a circle", key="cone.flare_mm", found=mm(design.flare_m),
            allowed=f"less than {mm(0.5 * chord)}, half the straight line between the edges",
        )  # fmt: skip


def _curve(design: ConeDesign) -> Curve:
    start, stop = (design.inner_radius_m, 0.0), (design.outer_radius_m, design.depth_m)
    if design.shape == "straight":
        return straight(start, stop)
    if design.shape == "flared":
        return bowed(start, stop, design.flare_m)
    if design.shape == "dome":
        return _sphere(design.inner_radius_m, design.outer_radius_m, design.depth_m)
    return through(from_inner(design.points))


def _sphere(inner: float, outer: float, depth: float, lift: float = 0.0) -> Curve:
    """The part of a sphere about the axis from (inner, lift) to (outer, lift + depth); flat when the depth is 0."""
    if abs(depth) < 1e-9 * outer:
        return straight((inner, lift), (outer, lift + depth))
    middle = (outer**2 - inner**2 + depth**2) / (2 * depth)
    radius = math.hypot(inner, middle)
    start, stop = math.atan2(-middle, inner), math.atan2(depth - middle, outer)
    return Arc(r=0.0, z=middle + lift, along_r=radius, along_z=radius, start=start, stop=stop).at
