"""One arm of a planar flexure as a bar: `profile.arms` says where it runs, `profile.flexure` how thick it is printed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.printed import in_print
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.solid import Place
from halfroll.suspension.profile.arms import arm_place, centre_line
from halfroll.suspension.profile.flexure import thickness_of

_FINE = 2001
"""Places along a centre line at which its length and turning are summed."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Arm:
    """The first arm of a flexure, from the hub (s = 0, on the x axis) to the rim (s = 1); the others are turned copies.

    Both ends are cut square to the centre line and clamped there. `s` are places along it, `length_m` and `turned_rad` (without sign)
    what it has run and turned through up to there, (n,) each.
    """

    place: Place
    width_m: float
    thickness_m: float
    s: FloatArray
    length_m: FloatArray
    turned_rad: FloatArray

    @property
    def whole_m(self) -> float:
        """Length of the centre line."""
        return float(self.length_m[-1])

    def at_length(self, length_m: FloatArray) -> FloatArray:
        """The s at so much length from the hub."""
        return np.interp(length_m, self.length_m, self.s)

    def from_clamp(self, s: FloatArray) -> FloatArray:
        """Length (m) of centre line between each s and the nearer clamp."""
        run = np.interp(s, self.s, self.length_m)
        return np.minimum(run, self.whole_m - run)


def arm_of(design: FlexureDesign, thicker: float = 1.0) -> Arm:
    """The arm of a design, its printed thickness times a factor."""
    h = thicker * thickness_of(design)

    def place(s: FloatArray, v: FloatArray, t: FloatArray) -> FloatArray:
        x, y = arm_place(design, s, v)
        return np.stack([x, y, h * t], axis=1)

    s = np.linspace(0.0, 1.0, _FINE)
    _, _, x1, y1 = centre_line(design, s)
    speed, heading = np.hypot(x1, y1), np.unwrap(np.arctan2(y1, x1))
    length = np.append(0.0, np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(s)))
    turned = np.append(0.0, np.cumsum(np.abs(np.diff(heading))))
    return Arm(place=place, width_m=design.width_m, thickness_m=h, s=s, length_m=length, turned_rad=turned)


def plastic_of(design: FlexureDesign) -> tuple[Elastic, float]:
    """The printed plastic as an arm is loaded, along itself, and the relative standard uncertainty of its modulus.

    An arm that runs more around the axis than outwards counts as loaded around it.
    """
    mean = 0.5 * (design.inner_radius_m + design.outer_radius_m)
    around = (
        design.family == "spiral-arms"
        and mean * design.sweep_rad > design.outer_radius_m - design.inner_radius_m
    )
    settings = design.print
    found = in_print(
        design.material,
        raster=settings.raster,
        infill=settings.infill,
        direction="around" if around else "radial",
    )
    material = Elastic(
        modulus_pa=found.modulus_pa, poisson=found.poisson, law=found.law, density_kg_m3=found.density_kg_m3
    )
    return material, found.modulus_u_pa / found.modulus_pa
