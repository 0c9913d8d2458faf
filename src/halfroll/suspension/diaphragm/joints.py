"""Where the moving parts meet: the places along one part's middle line nearest to another's edge."""

from __future__ import annotations

import numpy as np

from halfroll.suspension.design import MovingDesign
from halfroll.suspension.elastic.midline import Profile

_SAMPLES = 2001


def nearest_s(line: Profile, *, r: float | None = None, z: float | None = None) -> float:
    """Where along a line (0 to 1) it comes nearest to a radius, a height, or a place (m)."""
    s = np.linspace(0.0, 1.0, _SAMPLES)
    at = line.curve(s)
    away = np.hypot(0.0 if r is None else at.r - r, 0.0 if z is None else at.z - z)
    found = float(s[int(np.argmin(away))])
    # A seat within a hundredth of an end is the end: two nodes so close would only spoil the elements.
    return 0.0 if found < 0.01 else 1.0 if found > 0.99 else found


def place_at(line: Profile, s: float) -> tuple[float, float]:
    """The place (r, z) in m at s."""
    at = line.curve(np.array([s]))
    return float(at.r[0]), float(at.z[0])


def neck_s(design: MovingDesign, cone: Profile) -> float:
    """Where on the cone's line the former is glued: at its radius. Without a former a cone is driven at its inner edge, a dome at
    its outer one.
    """
    if design.former is not None:
        return nearest_s(cone, r=design.former.inner_radius_m + design.former.wall_m / 2)
    assert design.cone is not None
    return 1.0 if design.cone.inner_radius_m == 0.0 else 0.0


def neck(design: MovingDesign, cone: Profile | None) -> tuple[float, float]:
    """The place (r, z) in m where cone, former and spider are glued together."""
    if cone is not None:
        return place_at(cone, neck_s(design, cone))
    if design.former is not None:
        return design.former.inner_radius_m + design.former.wall_m / 2, design.former.high_m
    holder = design.spider or design.surround
    return (holder.inner_radius_m, holder.height_over_gap_m) if holder is not None else (0.0, 0.0)
