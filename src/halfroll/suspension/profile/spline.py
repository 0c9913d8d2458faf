"""A smooth middle line through points: tangent and curvature are continuous."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.design import Point
from halfroll.suspension.elastic.midline import MidLine
from halfroll.suspension.profile.pieces import Curve, straight


def through(points: Sequence[Point]) -> Curve:
    """The cubic spline through points (r, z), s along their chords; two points give a straight line, three a parabola.

    Its ends are left to the points ("not a knot"): a clamp's angle is where the first points lead.
    C. de Boor, "A Practical Guide to Splines" (revised ed., 2001), chapter IV; chord lengths as parameter: M. P. Epstein,
    "On the influence of parametrization in parametric interpolation", SIAM Journal on Numerical Analysis 13, 1976.
    """
    if len(points) == 2:
        return straight(points[0], points[1])
    from scipy.interpolate import CubicSpline

    at = np.asarray(points, dtype=np.float64)
    chords = np.hypot(*np.diff(at, axis=0).T)
    knots = np.append(0.0, np.cumsum(chords))
    spline = CubicSpline(knots / knots[-1], at)

    def curve(s: FloatArray) -> MidLine:
        (r, z), (r1, z1), (r2, z2) = (np.moveaxis(spline(s, nu), -1, 0) for nu in (0, 1, 2))
        return MidLine(r=r, z=z, r1=r1, z1=z1, r2=r2, z2=z2)

    return curve
