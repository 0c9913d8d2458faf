"""A free profile's points: what is refused, and how they become a part's own."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from halfroll.core.errors import InputError
from halfroll.suspension.design import Point
from halfroll.suspension.profile.numbers import LARGEST_M, mm

FEWEST = 3
"""Points of a free profile; a straight line is no free profile."""

SAME_M = 1e-7
"""Nearer than this two points are one."""


MOST_POINTS = 1000

EDGE_M = 1e-5
"""The outermost points lie on the stated diameters to this."""


def check_points(
    points: Sequence[Point], name: str, edges: tuple[float, float], *, solid: bool = False
) -> None:
    """Refuse too few points, points that are no numbers, twice the same in a row, beyond the axis, running inwards, or that do
    not lead from the inner to the outer of the `edges` (radii, m); `solid` lets the first one lie on the axis.

    Raises
    ------
    InputError
        With the number of the point, counted from 1.
    """
    key = f"{name}.points_mm"
    _check_count(points, key)
    _check_places(points, key, solid)
    if points[0][0] >= points[-1][0]:
        raise InputError(
            "The points must begin at the inner clamp and end at the outer one", key=key,
            found=f"r from {mm(points[0][0])} to {mm(points[-1][0])}", allowed="a last r larger than the first",
            remedy="Give the points in the other order",
        )  # fmt: skip
    for (r, _), edge, which in zip((points[0], points[-1]), edges, ("inner", "outer"), strict=True):
        if not abs(r - edge) <= EDGE_M:
            raise InputError(
                f"The points of the {name} must lead from its inner to its outer diameter", key=f"{name}.{which}_mm",
                found=f"{mm(2 * edge)}, and points that are at {mm(2 * r)} there", allowed=mm(2 * r),
            )  # fmt: skip


def _check_count(points: Sequence[Point], key: str) -> None:
    if len(points) < FEWEST:
        raise InputError(
            f"A free profile needs at least {FEWEST} points", key=key, found=str(len(points)),
            allowed="points [r, z] from the inner clamp to the outer one", remedy="Four to twelve points make a smooth line",
        )  # fmt: skip
    if len(points) > MOST_POINTS:
        raise InputError(
            f"A free profile must have no more than {MOST_POINTS} points", key=key, found=str(len(points)),
            remedy="Leave most of them out: four to twelve points make a smooth line",
        )  # fmt: skip


def _check_places(points: Sequence[Point], key: str, solid: bool) -> None:
    for number, (r, z) in enumerate(points, 1):
        if not (math.isfinite(r) and math.isfinite(z)):
            raise InputError(
                f"Point {number} must be two numbers", key=key, found=f"[{1e3 * r:g}, {1e3 * z:g}]"
            )
        if max(abs(r), abs(z)) > LARGEST_M:
            raise InputError(
                f"Point {number} must lie within {mm(LARGEST_M)}",
                key=key,
                found=f"[{1e3 * r:g}, {1e3 * z:g}] mm",
            )
        if r < 0 or (r == 0 and not (solid and number == 1)):
            raise InputError(
                f"Point {number} must lie beside the axis", key=key, found=f"r = {mm(r)}", allowed="r of more than 0 mm"
            )  # fmt: skip
    for number, (one, other) in enumerate(itertools.pairwise(points), 1):
        if math.dist(one, other) < SAME_M:
            raise InputError(
                f"Points {number} and {number + 1} must be two different points", key=key,
                found=f"[{1e3 * one[0]:.4g}, {1e3 * one[1]:.4g}] mm twice",
            )  # fmt: skip


def from_inner(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points with z counted from the first one."""
    return tuple((r, z - points[0][1]) for r, z in points)
