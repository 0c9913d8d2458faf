"""The families of strips of revolution, by their few dimensions.

Every line starts at the inner clamp, (inner radius, 0), and ends at the outer radius; rolls leave their clamps upright.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from halfroll.core.errors import InputError, choose
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import StripDesign
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.profile.folds import check_wall
from halfroll.suspension.profile.numbers import finite, mm, not_negative, positive, radii, thicknesses
from halfroll.suspension.profile.pieces import Arc, Curve, joined, straight
from halfroll.suspension.profile.points import check_points, from_inner
from halfroll.suspension.profile.spline import through
from halfroll.suspension.profile.thickness import along, snapped

TITLES = {
    "half-roll": "half roll",
    "elliptic-roll": "elliptic roll",
    "m-roll": "M roll",
    "double-roll": "double roll",
    "flat": "flat",
    "corrugated": "corrugated",
    "free": "free profile",
}

_ROLLS = {"half-roll": 1, "elliptic-roll": 1, "double-roll": 2, "m-roll": 2}
"""How many rolls lie side by side, about."""

VALLEY = math.radians(60.0)
"""How far beyond its top each roll of an M goes on before the valley's arc takes over: at 60° the valley comes down to the
level of the clamps."""

SAME_M = 1e-6
"""A half roll may state its height when it agrees to this."""

MOST_ROLLS = 40


def profile_of(design: StripDesign) -> Profile:
    """A strip's middle line and thickness, z = 0 at its inner clamp, as it will be printed: thickness snapped where wanted.

    Raises
    ------
    InputError
        Dimensions that cannot be; see `check_strip`.
    """
    profile = _drawn(design)
    check_wall(profile, design.name)
    return profile


def check_strip(design: StripDesign) -> None:
    """Refuse a strip that cannot be.

    Raises
    ------
    InputError
        An unknown family, edges that are no ring, lengths that are no finite numbers or not above zero, a height or points
        that are missing, a wall that crosses, overlaps or folds over itself; with key, what was found and what is allowed.
    """
    profile_of(design)


def _drawn(design: StripDesign) -> Profile:
    _check_dimensions(design)
    _check_roll(design)
    curve, breaks = _CURVES[design.family](design)
    inner = snapped(design.thickness_m, design.print).thickness_m
    outer = design.thickness_outer_m
    if outer is not None:
        outer = snapped(outer, design.print).thickness_m
    title = TITLES[design.family]
    if design.family not in ("flat", "corrugated", "free"):
        title += f" {design.direction}"
    return Profile(title=title, curve=curve, thickness=along(curve, inner, outer), breaks=breaks)


def _check_dimensions(design: StripDesign) -> None:
    name = design.name
    choose(design.family, TITLES, field=f"The family of the {name}", key=f"{name}.family")
    choose(design.direction, ("up", "down"), field=f"The direction of the {name}", key=f"{name}.direction")
    thicknesses(design.thickness_m, design.thickness_outer_m, name)
    not_negative(design.lip_inner_m, f"The inner lip of the {name}", f"{name}.lip_inner_mm")
    not_negative(design.lip_outer_m, f"The outer lip of the {name}", f"{name}.lip_outer_mm")
    finite(design.height_over_gap_m, f"The place of the {name}", f"{name}.at_mm")
    if design.family == "free":
        check_points(design.points, name, (design.inner_radius_m, design.outer_radius_m))
    else:
        radii(design.inner_radius_m, design.outer_radius_m, name)
    if design.lip_inner_m >= _inner(design):
        raise InputError(
            f"The inner lip of the {name} must end before the axis", key=f"{name}.lip_inner_mm", found=mm(design.lip_inner_m),
            allowed=f"less than {mm(_inner(design))}",
        )  # fmt: skip


def _check_roll(design: StripDesign) -> None:
    """Refuse a roll whose wall is thicker than its half width: that is a solid ring, not a roll."""
    many = _ROLLS.get(design.family)
    if many is None:
        return
    radius = (design.outer_radius_m - design.inner_radius_m) / (2 * many)
    thickest = max(design.thickness_m, design.thickness_outer_m or 0.0)
    if thickest > 0.999 * radius:
        raise InputError(
            f"The wall of the {design.name} must be thinner than its roll's radius", key=f"{design.name}.thickness_mm",
            found=f"{mm(thickest)} thick on a radius of {mm(radius)}", allowed=f"less than {mm(radius)}", remedy="Make it thinner, or the roll wider",
        )  # fmt: skip


def _inner(design: StripDesign) -> float:
    return design.points[0][0] if design.family == "free" else design.inner_radius_m


def _up(design: StripDesign) -> float:
    return 1.0 if design.direction == "up" else -1.0


def _half_roll(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    height = 0.5 * (design.outer_radius_m - design.inner_radius_m)
    if design.height_m is not None and abs(design.height_m - height) > SAME_M:
        raise InputError(
            f"The height of a half roll is half its width: leave it out of the {design.name}", key=f"{design.name}.height_mm",
            found=mm(design.height_m), allowed=mm(height), remedy="Another height makes it an elliptic-roll",
        )  # fmt: skip
    return _rolls(design, height, 1)


def _elliptic_roll(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    return _rolls(design, _height(design), 1)


def _double_roll(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    height = 0.25 * (design.outer_radius_m - design.inner_radius_m)
    return _rolls(design, height if design.height_m is None else _height(design), 2)


def _rolls(design: StripDesign, height: float, many: int) -> tuple[Curve, tuple[float, ...]]:
    """Half ellipses side by side, each bulging the other way than the one before: they meet upright."""
    wide = (design.outer_radius_m - design.inner_radius_m) / (2 * many)
    arcs = []
    for n in range(many):
        up = _up(design) * (-1) ** n
        middle = design.inner_radius_m + (2 * n + 1) * wide
        arcs.append(Arc(r=middle, z=0.0, along_r=wide, along_z=up * height, start=math.pi, stop=0.0))
    return joined(arcs)


def _m_roll(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    """Two rolls and the valley's arc between them, all of one ellipse's size; they meet where one's curvature ends and the
    other's begins, with one tangent.
    """
    half = 0.5 * (design.outer_radius_m - design.inner_radius_m)
    wide = half / (1 + 2 * math.sin(VALLEY))
    tall = _up(design) * _height(design)
    left, right, quarter = design.inner_radius_m + wide, design.outer_radius_m - wide, 0.5 * math.pi
    valley = 2 * tall * math.cos(VALLEY)
    shared = {"along_r": wide, "along_z": tall}
    return joined([
        Arc(r=left, z=0.0, start=math.pi, stop=quarter - VALLEY, **shared),
        Arc(r=left + 2 * wide * math.sin(VALLEY), z=valley, start=-quarter - VALLEY, stop=-quarter + VALLEY, **shared),
        Arc(r=right, z=0.0, start=quarter + VALLEY, stop=0.0, **shared),
    ])  # fmt: skip


def _flat(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    return straight((design.inner_radius_m, 0.0), (design.outer_radius_m, 0.0)), (0.0, 1.0)


def _corrugated(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    """A sine of full waves whose amplitude runs linearly from the inner to the outer edge."""
    name = design.name
    if design.rolls is None or not 1 <= design.rolls <= MOST_ROLLS or design.rolls != int(design.rolls):
        raise InputError(
            f"A corrugated {name} needs a whole number of rolls", key=f"{name}.rolls",
            found="none" if design.rolls is None else f"{design.rolls}", allowed=f"1 to {MOST_ROLLS} full waves",
        )  # fmt: skip
    if design.amplitude_m is None:
        raise InputError(
            f"A corrugated {name} needs an amplitude", key=f"{name}.amplitude_mm",
            remedy="It is half the height from a valley to a crest of the middle line",
        )  # fmt: skip
    inner = design.amplitude_m
    outer = inner if design.amplitude_outer_m is None else design.amplitude_outer_m
    not_negative(inner, f"The amplitude of the {name}", f"{name}.amplitude_mm")
    not_negative(outer, f"The amplitude of the {name} at its outer edge", f"{name}.amplitude_outer_mm")
    start, width, wave = (
        design.inner_radius_m,
        design.outer_radius_m - design.inner_radius_m,
        2 * math.pi * design.rolls,
    )
    up = _up(design)

    def curve(s: FloatArray) -> MidLine:
        none = np.zeros(np.shape(s))
        c, si = np.cos(wave * s), np.sin(wave * s)
        swing, slope = up * (inner + (outer - inner) * s), up * (outer - inner)
        return MidLine(
            r=start + width * s, z=swing * si, r1=width + none, z1=slope * si + swing * wave * c,
            r2=none, z2=2 * slope * wave * c - swing * wave**2 * si,
        )  # fmt: skip

    return curve, (0.0, 1.0)


def _free(design: StripDesign) -> tuple[Curve, tuple[float, ...]]:
    return through(from_inner(design.points)), (0.0, 1.0)


def _height(design: StripDesign) -> float:
    name = design.name
    if design.height_m is None:
        what = TITLES[design.family]
        what = f"An {what}" if what[0] in "eM" else f"A {what}"
        raise InputError(
            f"{what} needs a height", key=f"{name}.height_mm",
            remedy="It is that of each roll's middle line over the line through its clamps",
        )  # fmt: skip
    positive(design.height_m, f"The height of the {name}", f"{name}.height_mm")
    return design.height_m


_CURVES: dict[str, Callable[[StripDesign], tuple[Curve, tuple[float, ...]]]] = {
    "half-roll": _half_roll,
    "elliptic-roll": _elliptic_roll,
    "m-roll": _m_roll,
    "double-roll": _double_roll,
    "flat": _flat,
    "corrugated": _corrugated,
    "free": _free,
}
