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

    Its first and last pieces are parabolas: the curvature at a clamp is that of the points nearest to it, and few or uneven
    points do not make it swing there. C. de Boor, "A Practical Guide to Splines" (revised ed., 2001), chapter IV; chord lengths as parameter: M. P. Epstein,
    "On the influence of parametrization in parametric interpolation", SIAM Journal on Numerical Analysis 13, 1976.
    """
    if len(points) == 2:
        return straight(points[0], points[1])
    from scipy.interpolate import make_interp_spline

    at = np.asarray(points, dtype=np.float64)
    chords = np.hypot(*np.diff(at, axis=0).T)
    knots = np.append(0.0, np.cumsum(chords))
    parabolic = [(3, np.zeros(2))]  # no third derivative
    spline = make_interp_spline(knots / knots[-1], at, k=3, bc_type=(parabolic, parabolic))
    slopes = spline, spline.derivative(1), spline.derivative(2)

    def curve(s: FloatArray) -> MidLine:
        (r, z), (r1, z1), (r2, z2) = (np.moveaxis(one(s), -1, 0) for one in slopes)
        return MidLine(r=r, z=z, r1=r1, z1=z1, r2=r2, z2=z2)

    return curve
