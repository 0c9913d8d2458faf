"""Planar flexures: their dimensions, and what is refused. `arms` says where the arms run."""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.errors import InputError, choose
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.arms import centre_line, check_room
from halfroll.suspension.profile.numbers import finite, mm, not_negative, positive, radii
from halfroll.suspension.profile.pieces import straight
from halfroll.suspension.profile.thickness import along, snapped

FAMILIES = ("straight-legs", "spiral-arms")
MOST_ARMS = 24
FEWEST_ARMS = 2
MOST_SWEEP = 4 * math.pi
LEAST_SWEEP = math.radians(5.0)
LEAST_SLENDER = 1.0
"""An arm is at least so many times as long as thick: shorter, all of it would be within a thickness of a clamp."""
PLACES = 241
"""Places along an arm at which its curve is looked at."""


def thickness_of(design: FlexureDesign) -> float:
    """Thickness (m) as it will be printed."""
    return snapped(design.thickness_m, design.print).thickness_m


def flexure_section(design: FlexureDesign) -> Profile:
    """The flat ring the arms lie in, as a profile from the hub's to the rim's clamp, for drawings of the half-section."""
    check_flexure(design)
    curve = straight((design.inner_radius_m, 0.0), (design.outer_radius_m, 0.0))
    return Profile(title=title_of(design), curve=curve, thickness=along(curve, thickness_of(design), None))


def title_of(design: FlexureDesign) -> str:
    """The family in words: ``3 spiral arms``."""
    return f"{design.arms} {'straight legs' if design.family == 'straight-legs' else 'spiral arms'}"


def arm_length(design: FlexureDesign) -> float:
    """Length (m) of an arm's centre line between its clamps."""
    s = np.linspace(0.0, 1.0, 2001)
    _, _, along_x, along_y = centre_line(design, s)
    return float(np.trapezoid(np.hypot(along_x, along_y), s))


def radius_of_curvature(design: FlexureDesign) -> float:
    """Smallest radius of curvature (m) of the centre line; infinite for a straight leg."""
    if design.family == "straight-legs":
        return math.inf
    pitch = (design.outer_radius_m - design.inner_radius_m) / design.sweep_rad
    r = np.linspace(design.inner_radius_m, design.outer_radius_m, PLACES)
    return float(((r**2 + pitch**2) ** 1.5 / (r**2 + 2 * pitch**2)).min())


def check_flexure(design: FlexureDesign) -> None:
    """Refuse a flexure that cannot be.

    Raises
    ------
    InputError
        An unknown family, too few arms, edges that are no ring, lengths not above zero, a sweep that the family has not or too far, arms
        wider than they may be on their curve, or that touch each other; with key, what was found and what is allowed.
    """
    name = design.name
    choose(design.family, FAMILIES, field=f"The family of the {name}", key=f"{name}.family")
    choose(design.hub, ("held", "free"), field=f"The hub of the {name}", key=f"{name}.hub")
    radii(design.inner_radius_m, design.outer_radius_m, name)
    positive(design.thickness_m, f"The thickness of the {name}", f"{name}.thickness_mm")
    positive(design.width_m, f"The width of an arm of the {name}", f"{name}.width_mm")
    not_negative(design.lip_inner_m, f"The inner lip of the {name}", f"{name}.lip_inner_mm")
    not_negative(design.lip_outer_m, f"The outer lip of the {name}", f"{name}.lip_outer_mm")
    finite(design.height_over_gap_m, f"The place of the {name}", f"{name}.at_mm")
    if not FEWEST_ARMS <= design.arms <= MOST_ARMS or design.arms != int(design.arms):
        raise InputError(
            "A flexure needs a whole number of arms", key=f"{name}.arms", found=f"{design.arms}",
            allowed=f"{FEWEST_ARMS} to {MOST_ARMS}; three or more hold the hub upright",
        )  # fmt: skip
    _check_sweep(design)
    _check_width(design)
    check_room(design)
    length, thick = arm_length(design), thickness_of(design)
    if thick * LEAST_SLENDER > length:
        raise InputError(
            "An arm must be longer than it is thick", key=f"{name}.thickness_mm", found=f"{mm(thick)} thick and {mm(length)} long",
            allowed=f"up to {mm(length / LEAST_SLENDER)} thick", remedy="Make it thinner, or give it more sweep or a wider rim",
        )  # fmt: skip


def _check_sweep(design: FlexureDesign) -> None:
    key = f"{design.name}.sweep_deg"
    sweep = design.sweep_rad
    if design.family == "straight-legs":
        if sweep != 0.0:
            raise InputError(
                "Straight legs have no sweep", key=key, found=f"{math.degrees(sweep):.4g}°", allowed="0°",
                remedy="Leave it out, or choose spiral-arms",
            )  # fmt: skip
        return
    if not LEAST_SWEEP <= sweep <= MOST_SWEEP:
        raise InputError(
            "Spiral arms must turn through a sweep that they can", key=key, found=f"{math.degrees(sweep):.4g}°",
            allowed=f"{math.degrees(LEAST_SWEEP):.0f}° to {math.degrees(MOST_SWEEP):.0f}°",
        )  # fmt: skip


def _check_width(design: FlexureDesign) -> None:
    key = f"{design.name}.width_mm"
    radius = radius_of_curvature(design)
    if design.width_m >= 2 * radius:
        raise InputError(
            "An arm folds over itself at its inner edge: its width must be less than twice the radius of its curve", key=key,
            found=f"{mm(design.width_m)} wide on a radius of {mm(radius)}", allowed=f"less than {mm(2 * radius)}",
        )  # fmt: skip
    if design.width_m >= 2 * design.inner_radius_m:
        raise InputError(
            "An arm must be narrower than the hub", key=key, found=mm(design.width_m), allowed=f"less than {mm(2 * design.inner_radius_m)}"
        )  # fmt: skip
