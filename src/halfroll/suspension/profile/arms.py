"""Where the arms of a planar flexure run, and what is open between them.

In the plane x, y (m) with the axis at the origin; s runs along an arm from 0 at the hub to 1 at the rim, v across it from -1/2
to 1/2. The first arm starts on the x axis, a spiral turns anticlockwise seen from the listener.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.profile.folds import first_crossing
from halfroll.suspension.profile.numbers import mm

PLACES = 161
"""Places along an edge of an arm."""


def arm_place(design: FlexureDesign, s: FloatArray, v: FloatArray) -> tuple[FloatArray, FloatArray]:
    """x, y (m) of places of the first arm. Across it v is laid off along the centre line's normal; s may leave 0 to 1 a little.

    A straight leg runs along the x axis; a spiral arm is an Archimedean spiral, radius and angle both linear in s.
    """
    x, y, along_x, along_y = centre_line(design, s)
    length = np.hypot(along_x, along_y)
    across = design.width_m * v / length
    return np.asarray(x - across * along_y), np.asarray(y + across * along_x)


def centre_line(
    design: FlexureDesign, s: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """x, y (m) of the first arm's centre line and their derivatives by s."""
    width = design.outer_radius_m - design.inner_radius_m
    radius = design.inner_radius_m + width * s
    sweep = 0.0 if design.family == "straight-legs" else design.sweep_rad
    c, si = np.cos(sweep * s), np.sin(sweep * s)
    return radius * c, radius * si, width * c - radius * sweep * si, width * si + radius * sweep * c


def edge(design: FlexureDesign, v: float, places: int = PLACES) -> FloatArray:
    """One edge of the first arm (v = 1/2 or -1/2) from the hub's circle to the rim's, (places, 2).

    Beyond its clamps the arm goes on along the same curve until it meets the ring, for an edge meets the ring's circle
    sooner or later than the centre line does.
    """
    s = np.linspace(_meets(design, v, hub=True), _meets(design, v, hub=False), places)
    return np.stack(arm_place(design, s, np.full(places, v)), axis=1)


def window(design: FlexureDesign, places: int = PLACES) -> FloatArray:
    """What is open between the first arm and the next, as a closed line (n, 2) without its first point repeated, anticlockwise:
    along the first arm to the rim, along the rim, back along the next arm, along the hub.
    """
    first, last, hub, rim = _sides(design, places)
    arcs = [_arc(design.inner_radius_m, *hub, places), _arc(design.outer_radius_m, *rim, places)]
    return np.concatenate([first, arcs[1][1:-1], last[::-1], arcs[0][-2:0:-1]])


def narrowest(design: FlexureDesign) -> tuple[float, float]:
    """The narrowest place (m) between neighbouring arms, and the radius (m) it is at; below zero where they overlap."""
    first, last, hub, rim = _sides(design, PLACES)
    for (low, high), radius in ((hub, design.inner_radius_m), (rim, design.outer_radius_m)):
        if high <= low:
            return radius * (high - low), radius
    crossing = first_crossing(window(design))
    if crossing is not None:
        return -math.inf, math.hypot(*crossing)
    apart = np.hypot(*np.moveaxis(first[:, None] - last[None], -1, 0))
    n, m = np.unravel_index(int(apart.argmin()), apart.shape)
    return float(apart[n, m]), float(0.5 * (np.hypot(*first[n]) + np.hypot(*last[m])))


def check_room(design: FlexureDesign) -> None:
    """Refuse arms that touch each other.

    Raises
    ------
    InputError
        With the radius where they touch, and the width that would just do.
    """
    gap, where = narrowest(design)
    if gap > 0:
        return
    place = "at the hub" if where <= 1.001 * design.inner_radius_m else f"at a radius of {mm(where)}"
    raise InputError(
        f"Neighbouring arms touch each other {place}", key=f"{design.name}.width_mm",
        found=f"{design.arms} arms {mm(design.width_m)} wide", allowed=f"less than {mm(_widest(design))}",
        remedy="Make them narrower, fewer, or of another sweep",
    )  # fmt: skip


def _widest(design: FlexureDesign) -> float:
    """The width (m) at which arms begin to touch."""
    low, high = 0.0, design.width_m
    for _ in range(24):
        middle = 0.5 * (low + high)
        free = narrowest(replace(design, width_m=middle))[0] > 0
        low, high = (middle, high) if free else (low, middle)
    return low


def _sides(
    design: FlexureDesign, places: int
) -> tuple[FloatArray, FloatArray, tuple[float, float], tuple[float, float]]:
    """The two edges of a window, from hub to rim, and the angles (rad) between which it is open on the hub's and the rim's circle."""
    first, other = edge(design, 0.5, places), edge(design, -0.5, places)
    turn = 2 * math.pi / design.arms
    c, si = math.cos(turn), math.sin(turn)
    last = other @ np.array([[c, si], [-si, c]])
    # An arm's own angle lies within half a turn of its centre line's: the right one of those a full turn apart.
    sweep = 0.0 if design.family == "straight-legs" else design.sweep_rad
    ends = []
    for n, near in ((0, 0.0), (-1, sweep)):
        low, high = (_angle(side[n], near) for side in (first, other))
        ends.append((low, high + turn))
    return first, last, ends[0], ends[1]


def _angle(point: FloatArray, near: float) -> float:
    angle = math.atan2(float(point[1]), float(point[0]))
    return angle + 2 * math.pi * round((near - angle) / (2 * math.pi))


def _arc(radius: float, low: float, high: float, places: int) -> FloatArray:
    angles = np.linspace(low, high, places)
    return radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def _meets(design: FlexureDesign, v: float, *, hub: bool) -> float:
    """The s at which an edge meets the hub's or the rim's circle."""
    from scipy.optimize import brentq

    radius = design.inner_radius_m if hub else design.outer_radius_m

    def beyond(s: float) -> float:
        x, y = arm_place(design, np.array([s]), np.array([v]))
        return float(np.hypot(x, y)[0]) - radius

    own = 0.0 if hub else 1.0
    width = design.outer_radius_m - design.inner_radius_m
    step, ahead = 0.5 * design.width_m / width, -1.0 if beyond(own) > 0 else 1.0
    far = own
    for _ in range(60):
        last, far = far, far + ahead * 0.25 * step
        if (beyond(far) > 0) != (beyond(last) > 0):
            return float(brentq(beyond, min(last, far), max(last, far), xtol=1e-15))
    return far
