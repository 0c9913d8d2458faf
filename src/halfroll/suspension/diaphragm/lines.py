"""Middle lines of cone, dome, dust cap and former: what a shell or a mass is computed from.

All run from the inner to the outer edge; the former from its lower to its upper end.
"""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import CapDesign, ConeDesign, FormerDesign
from halfroll.suspension.elastic.midline import MidLine, Profile

CURVE_BREAKS = (0.0, 0.5, 1.0)


def cone_line(cone: ConeDesign) -> Profile:
    """The middle line of a cone or dome with its thickness.

    A dome is part of a sphere whose centre is on the axis; its edge lies `depth_m` over (below, when negative) its inner end.

    Raises
    ------
    InputError
        A radius, depth or thickness that makes no cone.
    """
    _check_cone(cone)
    inner = (cone.inner_radius_m, cone.height_over_gap_m)
    outer = (cone.outer_radius_m, cone.height_over_gap_m + cone.depth_m)
    last = cone.thickness_m if cone.thickness_outer_m is None else cone.thickness_outer_m
    thickness = (cone.thickness_m, last)
    if cone.shape == "free":
        return free_line("free cone", cone.points, thickness)
    if cone.shape == "dome" and cone.depth_m != 0.0:
        return _dome(inner, outer, thickness)
    if cone.shape == "flared" and cone.flare_m != 0.0:
        return _flared(inner, outer, cone.flare_m, thickness)
    return straight_line(f"{cone.shape} cone", inner, outer, thickness)


def cap_line(cap: CapDesign, rim_z_m: float) -> Profile:
    """The middle line of a dust cap from the axis to its rim at a height over the gap (m)."""
    if not (cap.radius_m > 0 and cap.thickness_m > 0):
        raise InputError("A dust cap needs a diameter and a thickness above zero", key="cap",
                         found=f"{2e3 * cap.radius_m:g} mm, {1e3 * cap.thickness_m:g} mm thick")  # fmt: skip
    if abs(cap.height_m) > cap.radius_m * 1.0000001:
        raise InputError(
            "A dust cap is at most half a sphere", key="cap.height_mm", found=f"{1e3 * cap.height_m:g} mm",
            allowed=f"-{1e3 * cap.radius_m:g} to {1e3 * cap.radius_m:g} mm, the radius of its rim",
        )  # fmt: skip
    thickness = (cap.thickness_m, cap.thickness_m)
    inner, outer = (0.0, rim_z_m + cap.height_m), (cap.radius_m, rim_z_m)
    if abs(cap.height_m) < 1e-3 * cap.radius_m:
        return straight_line("flat dust cap", inner, outer, thickness)
    return _dome(inner, outer, thickness)


def former_line(former: FormerDesign) -> Profile:
    """The middle line of a former as a tube, from its lower end up."""
    if not (former.inner_radius_m > 0 and former.wall_m > 0 and former.high_m > former.low_m):
        raise InputError("A former needs a diameter, a wall and a length above zero", key="former",
                         found=f"{2e3 * former.inner_radius_m:g} mm inside, wall {1e3 * former.wall_m:g} mm")  # fmt: skip
    r = former.inner_radius_m + former.wall_m / 2
    return straight_line("former", (r, former.low_m), (r, former.high_m), (former.wall_m, former.wall_m))


def straight_line(
    title: str, start: tuple[float, float], end: tuple[float, float], thickness: tuple[float, float]
) -> Profile:
    """A straight line between two places (r, z) in m, its thickness running from one value (m) to another."""
    dr, dz = end[0] - start[0], end[1] - start[1]

    def curve(s: FloatArray) -> MidLine:
        flat = np.zeros_like(s)
        return MidLine(
            r=start[0] + dr * s, z=start[1] + dz * s, r1=flat + dr, z1=flat + dz, r2=flat, z2=flat.copy()
        )

    return Profile(title=title, curve=curve, thickness=tapered(thickness))


def arc_line(
    title: str, centre: tuple[float, float], radius: float, angles: tuple[float, float], thickness: tuple[float, float]
) -> Profile:
    """An arc about a centre (r, z) from one angle (rad, from the r axis) to another."""
    first, sweep = angles[0], angles[1] - angles[0]

    def curve(s: FloatArray) -> MidLine:
        c, d = np.cos(first + sweep * s), np.sin(first + sweep * s)
        return MidLine(
            r=centre[0] + radius * c, z=centre[1] + radius * d, r1=-radius * sweep * d, z1=radius * sweep * c,
            r2=-radius * sweep**2 * c, z2=-radius * sweep**2 * d,
        )  # fmt: skip

    return Profile(title=title, curve=curve, thickness=tapered(thickness), breaks=CURVE_BREAKS)


def free_line(title: str, points: tuple[tuple[float, float], ...], thickness: tuple[float, float]) -> Profile:
    """A smooth line through points (r, z) in m: a cubic spline over the way along their chords."""
    from scipy.interpolate import CubicSpline

    places = np.asarray(points, dtype=np.float64)
    if len(places) < 3:
        raise InputError("A free line needs three points or more", key="points", found=len(places))
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    if not (np.diff(way) > 0).all():
        raise InputError("Two neighbouring points of a free line are the same", key="points")
    spline = CubicSpline(way / way[-1], places)
    first, second = spline.derivative(1), spline.derivative(2)

    def curve(s: FloatArray) -> MidLine:
        (r, z), (r1, z1), (r2, z2) = (np.moveaxis(f(s), -1, 0) for f in (spline, first, second))
        return MidLine(r=r, z=z, r1=r1, z1=z1, r2=r2, z2=z2)

    return Profile(
        title=title, curve=curve, thickness=tapered(thickness), breaks=tuple(float(s) for s in way / way[-1])
    )


def tapered(thickness: tuple[float, float]):  # type: ignore[no-untyped-def]
    """A thickness (m) that runs evenly from one end to the other."""
    first, change = thickness[0], thickness[1] - thickness[0]

    def of(s: FloatArray) -> tuple[FloatArray, FloatArray]:
        return first + change * s, np.full_like(s, change)

    return of


def _dome(inner: tuple[float, float], outer: tuple[float, float], thickness: tuple[float, float]) -> Profile:
    """Part of a sphere centred on the axis between two places."""
    depth = outer[1] - inner[1]
    total = (outer[0] ** 2 - inner[0] ** 2) / abs(depth)
    to_inner, to_outer = 0.5 * (total + abs(depth)), 0.5 * (total - abs(depth))
    if to_outer < -1e-9 * to_inner:
        raise InputError(
            "A dome is at most half a sphere", key="cone.depth_mm", found=f"{1e3 * depth:g} mm deep",
            allowed=f"up to {1e3 * math.sqrt(outer[0] ** 2 - inner[0] ** 2):.3g} mm",
        )  # fmt: skip
    up = -math.copysign(1.0, depth)
    centre = (0.0, inner[1] - up * to_inner)
    angles = (math.atan2(up * to_inner, inner[0]), math.atan2(up * max(to_outer, 0.0), outer[0]))
    return arc_line("dome", centre, math.hypot(inner[0], to_inner), angles, thickness)


def _flared(
    inner: tuple[float, float], outer: tuple[float, float], flare: float, thickness: tuple[float, float]
) -> Profile:
    """An arc of a given sagitta over the chord, bulging to the axis when positive."""
    dr, dz = outer[0] - inner[0], outer[1] - inner[1]
    chord = math.hypot(dr, dz)
    if abs(flare) >= chord / 2:
        raise InputError(
            "The flare must be less than half the cone's slant", key="cone.flare_mm", found=f"{1e3 * flare:g} mm",
            allowed=f"less than {500 * chord:.3g} mm",
        )  # fmt: skip
    side = math.copysign(1.0, dz) if dz else 1.0
    normal = (-side * dz / chord, side * dr / chord)
    radius = (chord**2 / 4 + flare**2) / (2 * flare)
    middle = ((inner[0] + outer[0]) / 2, (inner[1] + outer[1]) / 2)
    centre = (middle[0] + (flare - radius) * normal[0], middle[1] + (flare - radius) * normal[1])
    first = math.atan2(inner[1] - centre[1], inner[0] - centre[0])
    last = math.atan2(outer[1] - centre[1], outer[0] - centre[0])
    sweep = (last - first + math.pi) % (2 * math.pi) - math.pi
    return arc_line("flared cone", centre, abs(radius), (first, first + sweep), thickness)


def _check_cone(cone: ConeDesign) -> None:
    if not (cone.thickness_m > 0 and (cone.thickness_outer_m is None or cone.thickness_outer_m > 0)):
        raise InputError("A cone's thickness must be above zero", key="cone.thickness_mm",
                         found=f"{1e3 * cone.thickness_m:g} mm", allowed="more than 0")  # fmt: skip
    if cone.shape == "free":
        return
    if not 0 <= cone.inner_radius_m < cone.outer_radius_m:
        raise InputError(
            "A cone's inner diameter must be smaller than its outer one", key="cone.inner_mm",
            found=f"{2e3 * cone.inner_radius_m:g} and {2e3 * cone.outer_radius_m:g} mm", allowed="0 or more, below the outer",
        )  # fmt: skip
    if not math.isfinite(cone.depth_m) or abs(cone.depth_m) > 10 * cone.outer_radius_m:
        raise InputError("A cone's depth must be a length like its diameter", key="cone.depth_mm",
                         found=f"{1e3 * cone.depth_m:g} mm")  # fmt: skip
