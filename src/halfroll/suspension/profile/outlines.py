"""Closed outlines of the moving parts, for drawing and for printing.

Half-sections are polygons (n, 2) of (r, z) in metres, anticlockwise, without the first corner repeated; z is each part's own,
as of its middle line (see `placed` for where they stand). Curves are stepped so finely that the chord lies within `within_m`
of the curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.design import CapDesign, ConeDesign, FlexureDesign, FormerDesign, StripDesign
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.strip import place
from halfroll.suspension.profile.arms import window
from halfroll.suspension.profile.cones import cap_line, cone_line
from halfroll.suspension.profile.families import profile_of
from halfroll.suspension.profile.flexure import check_flexure, thickness_of

WITHIN_M = 1e-6
"""A printed or drawn curve needs no finer steps."""

MOST_STEPS = 20000
"""Steps along a line at most."""

SAME_M = 1e-9
"""Nearer than this two corners are one."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaneOutline:
    """A flat part seen along the axis: `outer` (n, 2) anticlockwise, `holes` each (m, 2) clockwise, in x, y (m); `thickness_m`
    it is high, about z = 0. `hub_m`, `rim_m` are the widths of its rings.
    """

    outer: FloatArray
    holes: tuple[FloatArray, ...]
    thickness_m: float
    hub_m: float
    rim_m: float


def strip_outline(design: StripDesign, within_m: float = WITHIN_M) -> FloatArray:
    """The half-section of a surround or spider of revolution with its lips.

    Each lip is a flat ring as thick as the wall beside it. The clamp is where the middle line begins: the lip lies behind it,
    in line with a wall that leaves it flat, under (or over) one that leaves it upright, so that the free wall is as computed.
    """
    profile = profile_of(design)
    upper, lower = faces(profile, within_m)
    inner = _lip(profile, 0.0, design.lip_inner_m)
    outer = _lip(profile, 1.0, design.lip_outer_m)
    around = np.concatenate([lower, outer, upper[::-1], inner])
    step = np.hypot(*(np.roll(around, -1, axis=0) - around).T)
    return np.asarray(around[step > SAME_M])


def _lip(profile: Profile, s: float, wide: float) -> FloatArray:
    """Corners a lip adds at one end, from the lower face's to the upper face's at s = 1, the other way at s = 0.

    `cosine` is how flat the wall leaves: 1 along the lip, 0 upright. The lip's face on the side to which the wall turns away
    passes through the end face's corner nearest to it.
    """
    if wide <= 0:
        return np.empty((0, 2))
    at = profile.curve(np.array([s]))
    r, z = float(at.r[0]), float(at.z[0])
    away = 1.0 if s == 0.0 else -1.0  # from the clamp into the wall
    along_r, along_z = away * float(at.r1[0]), away * float(at.z1[0])
    length = math.hypot(along_r, along_z)
    flat = max(away * along_r / length, 0.0)
    upright = along_z / length
    thick = float(profile.thickness(np.array([s]))[0][0])
    near = 0.5 * thick * flat
    low, high = (near - thick, near) if upright >= 0 else (-near, thick - near)
    foot, end = r + away * 0.5 * thick * abs(upright), r - away * wide
    if upright >= 0:  # the wall rises: the lip's lower face runs on under its foot
        corners = [(foot, z + low), (end, z + low), (end, z + high)]
    else:
        corners = [(end, z + low), (end, z + high), (foot, z + high)]
    around = np.array(corners)
    return around if s == 1.0 else around[::-1]


def cone_outline(design: ConeDesign, within_m: float = WITHIN_M) -> FloatArray:
    """The half-section of a cone or dome, z = 0 at its inner edge (a dome's apex)."""
    return wall_outline(cone_line(design), within_m)


def cap_outline(design: CapDesign, within_m: float = WITHIN_M) -> FloatArray:
    """The half-section of a cap, z = 0 at its rim."""
    return wall_outline(cap_line(design), within_m)


def former_outline(design: FormerDesign) -> FloatArray:
    """The half-section of a former, over the gap's middle."""
    inner, outer = design.inner_radius_m, design.inner_radius_m + design.wall_m
    return np.array(
        [(inner, design.low_m), (outer, design.low_m), (outer, design.high_m), (inner, design.high_m)]
    )


def flexure_outline(design: FlexureDesign, within_m: float = WITHIN_M) -> PlaneOutline:
    """A flexure in its plane: hub ring, arms and rim ring in one piece.

    The rings are the lips; where a lip is not given its ring is drawn as wide as an arm, for the arms need something to hang
    on. A hub whose ring would reach the axis is a disc.

    Raises
    ------
    InputError
        See `flexure.check_flexure`.
    """
    check_flexure(design)
    hub, rim = design.lip_inner_m or design.width_m, design.lip_outer_m or design.width_m
    inner, outer = design.inner_radius_m - hub, design.outer_radius_m + rim
    holes = [] if inner <= 0 else [circle(inner, within_m)[::-1]]
    arcs = max(_steps(design.outer_radius_m, within_m) // design.arms, 24)
    opening = window(design, max(arcs, 96))[::-1]
    for n in range(design.arms):
        c, si = math.cos(2 * math.pi * n / design.arms), math.sin(2 * math.pi * n / design.arms)
        holes.append(opening @ np.array([[c, si], [-si, c]]))
    return PlaneOutline(
        outer=circle(outer, within_m), holes=tuple(holes), thickness_m=thickness_of(design), hub_m=min(hub, design.inner_radius_m), rim_m=rim
    )  # fmt: skip


def circle(radius: float, within_m: float = WITHIN_M) -> FloatArray:
    """A circle about the axis, anticlockwise from the x axis."""
    angles = np.linspace(0.0, 2 * math.pi, _steps(radius, within_m), endpoint=False)
    return radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def wall_outline(profile: Profile, within_m: float = WITHIN_M) -> FloatArray:
    """The closed half-section of a wall about its middle line, without lips. On the axis no corner has a negative radius."""
    upper, lower = faces(profile, within_m)
    around = np.concatenate([lower, upper[::-1]])
    around[:, 0] = np.maximum(around[:, 0], 0.0)
    return around


def faces(profile: Profile, within_m: float = WITHIN_M) -> tuple[FloatArray, FloatArray]:
    """The face to the left of the middle line seen outwards (the upper one of a flat strip) and the other, (n, 2) each."""
    s = steps(profile, within_m)
    left, right = (np.stack(place(profile, s, np.full_like(s, t))[:2], axis=1) for t in (0.5, -0.5))
    return left, right


def steps(profile: Profile, within_m: float = WITHIN_M) -> FloatArray:
    """Values of s so close together that every face's chords lie within a length of it; breaks are among them."""
    fine = np.unique(np.concatenate([np.linspace(0.0, 1.0, 2001), profile.breaks]))
    line = profile.curve(fine)
    heading = np.unwrap(np.arctan2(line.z1, line.r1))
    half = 0.5 * profile.thickness(fine)[0]
    lengths = np.hypot(np.diff(line.r), np.diff(line.z)) + half[1:] * np.abs(np.diff(heading))
    # A chord over a length l that turns by an angle a leaves the curve by l a / 8: the density of steps is the root of that.
    need = np.sqrt(lengths * np.abs(np.diff(heading)) / (8 * within_m)) + lengths / max(lengths.sum(), 1e-30)
    total = np.append(0.0, np.cumsum(need))
    count = min(max(2, math.ceil(total[-1]) + 1), MOST_STEPS)
    chosen = np.interp(np.linspace(0.0, total[-1], count), total, fine)
    return np.unique(np.concatenate([chosen, profile.breaks]))


def _steps(radius: float, within_m: float) -> int:
    return min(MOST_STEPS, max(24, math.ceil(math.pi / math.acos(max(0.0, 1 - within_m / radius)))))
