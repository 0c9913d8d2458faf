"""Volume, centre of gravity and moments of inertia of walls of revolution.

Pappus and Guldin over the half-section: a wall laid off to both sides of its middle line, integrated by Gauss points along it
and across it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.strip import place

POINTS = 24
"""Gauss points on each smooth piece of a middle line; its integrands are polynomials or smooth."""


@dataclass(frozen=True, kw_only=True)
class Solid:
    """A body of revolution by volume or mass (`amount`, m³ or kg), centre height (m), polar moment and diametral moment
    about a diameter through that centre (amount times m²).
    """

    amount: float
    centre_m: float
    polar: float
    diametral: float

    def times(self, factor: float) -> Solid:
        """The same shape with all of its amount times a factor, as from volume to mass."""
        return Solid(
            amount=factor * self.amount, centre_m=self.centre_m, polar=factor * self.polar,
            diametral=factor * self.diametral,
        )  # fmt: skip


def of_points(amount: FloatArray, r: FloatArray, z: FloatArray) -> Solid:
    """Rings of given amounts at radii and heights (m), any one shape."""
    total = float(amount.sum())
    if total == 0.0:
        return Solid(amount=0.0, centre_m=float(np.mean(z)) if z.size else 0.0, polar=0.0, diametral=0.0)
    centre = float((amount * z).sum()) / total
    polar = float((amount * r**2).sum())
    return Solid(
        amount=total,
        centre_m=centre,
        polar=polar,
        diametral=polar / 2 + float((amount * (z - centre) ** 2).sum()),
    )


def of_wall(profile: Profile) -> Solid:
    """The wall about a middle line, by volume."""
    x, w = basis.gauss(POINTS)
    y, v = basis.gauss(3)
    cuts = np.asarray(profile.breaks)
    s = (cuts[:-1, None] + np.diff(cuts)[:, None] * x).ravel()
    ws = (np.diff(cuts)[:, None] * w).ravel()
    s2, t2 = np.repeat(s, len(y)), np.tile(y - 0.5, len(s))
    r, z, rs, rt, zs, zt = place(profile, s2, t2)
    volume = 2 * math.pi * r * np.abs(rs * zt - rt * zs) * np.repeat(ws, len(y)) * np.tile(v, len(s))
    return of_points(volume, r, z)


def of_tube(inner_m: float, outer_m: float, low_m: float, high_m: float) -> Solid:
    """A tube or a flat ring with its axis on ours, by volume."""
    volume = math.pi * (outer_m**2 - inner_m**2) * (high_m - low_m)
    polar = volume * (outer_m**2 + inner_m**2) / 2
    return Solid(
        amount=volume, centre_m=(low_m + high_m) / 2, polar=polar, diametral=polar / 2 + volume * (high_m - low_m) ** 2 / 12
    )  # fmt: skip


def of_ring(amount: float, radius_m: float, height_m: float) -> Solid:
    """A thin ring."""
    polar = amount * radius_m**2
    return Solid(amount=amount, centre_m=height_m, polar=polar, diametral=polar / 2)


def together(bodies: tuple[Solid, ...] | list[Solid]) -> Solid:
    """Several bodies as one (Steiner's theorem for the diametral moments)."""
    total = sum(b.amount for b in bodies)
    centre = sum(b.amount * b.centre_m for b in bodies) / total if total else 0.0
    return Solid(
        amount=total, centre_m=centre, polar=sum(b.polar for b in bodies),
        diametral=sum(b.diametral + b.amount * (b.centre_m - centre) ** 2 for b in bodies),
    )  # fmt: skip
