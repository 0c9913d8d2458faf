"""Whether a wall about a middle line is sound: it must neither fold nor lie over itself, nor cross the axis."""

from __future__ import annotations

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.strip import place
from halfroll.suspension.profile.numbers import mm

FINE = 1201
"""Places along a line at which its curvature is looked at."""

COARSE = 301
"""Places at which crossings are looked for."""


def radius_of_curvature(profile: Profile, s: FloatArray) -> FloatArray:
    """Signed radius (m) at s: positive where the line turns to the left, towards its normal; infinite where straight."""
    line = profile.curve(s)
    turn = line.r1 * line.z2 - line.z1 * line.r2
    with np.errstate(divide="ignore"):
        return np.asarray(np.hypot(line.r1, line.z1) ** 3 / turn)


def check_wall(profile: Profile, name: str) -> None:
    """Refuse a wall that cannot be printed: too thick for its bends, or crossing itself; `name` of the part begins the key.

    Raises
    ------
    InputError
        The wall folds over itself in a bend (thickness over twice the radius of curvature), its middle line crosses
        itself, two stretches of it overlap, or it reaches over the axis.
    """
    s = np.unique(np.concatenate([np.linspace(0.0, 1.0, FINE), profile.breaks]))
    thickness = profile.thickness(s)[0]
    if thickness.min() <= 0:
        raise InputError(
            f"The {name} must be of some thickness all along", key=f"{name}.thickness_outer_mm", found=mm(float(thickness.min())),
            remedy="The thickness runs linearly with the radius; make it less unequal",
        )  # fmt: skip
    places = _check_crossings(profile, name)
    _check_bends(profile, s, thickness, name)
    _check_overlaps(profile, places, name)


def _check_bends(profile: Profile, s: FloatArray, thickness: FloatArray, name: str) -> None:
    radius = np.abs(
        np.stack([radius_of_curvature(profile, np.clip(s + e, 0, 1)) for e in (-1e-9, 1e-9)])
    ).min(axis=0)
    over = thickness / (2 * radius)
    worst = int(np.argmax(over))
    if over[worst] >= 1:
        at = profile.curve(s[worst : worst + 1])
        raise InputError(
            f"The wall of the {name} folds over itself in a bend at radius {mm(float(at.r[0]))}: "
            "its thickness must be less than twice the radius of curvature",
            key=f"{name}.thickness_mm", found=f"{mm(float(thickness[worst]))} thick on a radius of {mm(float(radius[worst]))}",
            allowed=f"less than {mm(2 * float(radius[worst]))} there", remedy="Make it thinner, or the bend wider",
        )  # fmt: skip


def _check_crossings(profile: Profile, name: str) -> FloatArray:
    s = np.unique(np.concatenate([np.linspace(0.0, 1.0, COARSE), profile.breaks]))
    line = profile.curve(s)
    middle = np.stack([line.r, line.z], axis=1)
    where = first_crossing(middle)
    if where is not None:
        raise InputError(
            f"The middle line of the {name} must not cross itself", key=f"{name}.points_mm",
            found=f"a crossing at r = {mm(where[0])}, z = {mm(where[1])}",
        )  # fmt: skip
    return s


def _check_overlaps(profile: Profile, s: FloatArray, name: str) -> None:
    faces = [np.stack(place(profile, s, np.full_like(s, t))[:2], axis=1) for t in (-0.5, 0.5)]
    around = np.concatenate([faces[0], faces[1][::-1]])
    where = first_crossing(around, closed=True)
    if where is not None:
        raise InputError(
            f"Two stretches of the {name}'s wall overlap", key=f"{name}.thickness_mm",
            found=f"at r = {mm(where[0])}, z = {mm(where[1])}", remedy="Make it thinner, or leave more room between the bends",
        )  # fmt: skip
    over = float(around[:, 0].min())
    if over < -1e-3 * float(np.abs(around).max()):
        raise InputError(
            f"The wall of the {name} must not reach over the axis", key=f"{name}.inner_mm", found=f"r = {mm(over)}",
            allowed="0 mm or more",
        )  # fmt: skip


def first_crossing(line: FloatArray, *, closed: bool = False) -> tuple[float, float] | None:
    """Where a line (n, 2) of straight pieces first crosses itself, (r, z) in its unit; None where it does not."""
    points = np.concatenate([line, line[:1]]) if closed else line
    start, step = points[:-1], np.diff(points, axis=0)
    n = len(start)
    low, high = np.minimum(points[:-1], points[1:]), np.maximum(points[:-1], points[1:])
    near = low[:, 0, None] <= high[None, :, 0]
    near &= low[:, 1, None] <= high[None, :, 1]
    near &= near.T
    one, other = np.nonzero(np.triu(near, 2))
    if closed:
        keep = ~((one == 0) & (other == n - 1))
        one, other = one[keep], other[keep]
    between = start[other] - start[one]
    cross = step[one, 0] * step[other, 1] - step[one, 1] * step[other, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        a = (between[:, 0] * step[other, 1] - between[:, 1] * step[other, 0]) / cross
        b = (between[:, 0] * step[one, 1] - between[:, 1] * step[one, 0]) / cross
    hit = np.nonzero((a >= 0) & (a <= 1) & (b >= 0) & (b <= 1))[0]
    if not len(hit):
        return None
    at = start[one[hit[0]]] + a[hit[0]] * step[one[hit[0]]]
    return float(at[0]), float(at[1])
