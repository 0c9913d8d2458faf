"""How thick the walls of a solid are, measured on its outline from one side to the other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.suspension.models.model import Shape

BoolArray = NDArray[np.bool_]

FACING = np.cos(np.deg2rad(30.0))
"""Two places of an outline are the two sides of a wall when they face away from each other within 30°."""

THIN = 1.5
"""Walls up to so many times the thinnest one are asked for whole lines and layers; thicker ones are filled inside anyway."""

ENOUGH = 0.05
"""Share of the outline a kind of walls must make for its lines or layers to be counted."""

UPRIGHT, FLAT = np.sin(np.deg2rad(20.0)), np.cos(np.deg2rad(20.0))
"""How far a side's normal may point upwards on a wall that stands, and must on one that lies; what leans between them is of
stepped layers and has no whole number of either.
"""


@dataclass(frozen=True, kw_only=True)
class Wall:
    """Thickness (m) of walls as built of lines side by side (measured level) or of layers on each other (measured upright).

    The least anywhere; of those that really stand (or lie) the usual one, half of the outline has more, and how much it varies over
    the middle half of the outline. Both None where there is no such wall.
    """

    least_m: float
    usual_m: float | None
    spread_m: float | None

    def steps_of(self, step_m: float) -> float | None:
        """How many lines or layers of `step_m` it is thick; None when its thickness varies by more than a tenth of one."""
        if self.usual_m is None or self.spread_m is None or self.spread_m > 0.1 * step_m:
            return None
        return self.usual_m / step_m


@dataclass(frozen=True, kw_only=True)
class Walls:
    """Walls of a part; None where there are none of that kind."""

    standing: Wall | None
    lying: Wall | None


def walls_of(shape: Shape) -> Walls:
    """Measure the walls of a part on its half-section, or of a plate on its outline and its height.

    From the middle of each piece of the outline the distance to the other side is measured along the inward normal; pieces
    near a corner, where there is no other side, are left out.
    """
    loops = shape.sections_m or (*shape.outlines_m, *shape.holes_m)
    starts, ends = (np.vstack(one) for one in zip(*(_pieces(loop) for loop in loops), strict=True))
    middle, along = 0.5 * (starts + ends), ends - starts
    length = np.hypot(along[:, 0], along[:, 1])
    unit = along / length[:, None]
    inward = np.column_stack([-unit[:, 1], unit[:, 0]])
    inward[_first_of_holes(shape) :] *= -1.0
    through = np.array([_through(middle[i], inward[i], i, starts, along, inward) for i in range(len(middle))])
    good = np.isfinite(through)
    if not shape.is_round:
        flat = Wall(least_m=shape.height_m, usual_m=shape.height_m, spread_m=0.0)
        return Walls(standing=_wall(through, np.ones_like(through), length, good, good), lying=flat)
    up = np.abs(inward[:, 1])
    level, tall = 1.0 / np.sqrt(np.maximum(1.0 - up**2, 1e-12)), 1.0 / np.maximum(up, 1e-6)
    return Walls(
        standing=_wall(through, level, length, good & (up < FLAT), good & (up < UPRIGHT)),
        lying=_wall(through, tall, length, good & (up > UPRIGHT), good & (up > FLAT)),
    )


def _pieces(loop: FloatArray) -> tuple[FloatArray, FloatArray]:
    x, y = loop[:, 0], loop[:, 1]
    if np.dot(x, np.roll(y, -1)) < np.dot(y, np.roll(x, -1)):
        loop = loop[::-1]
    ends = np.roll(loop, -1, axis=0)
    kept = np.hypot(*(ends - loop).T) > 1e-9
    return loop[kept], ends[kept]


def _first_of_holes(shape: Shape) -> int:
    return sum(len(_pieces(one)[0]) for one in (*shape.sections_m, *shape.outlines_m))


def _through(
    place: FloatArray, normal: FloatArray, own: int, starts: FloatArray, along: FloatArray, inward: FloatArray
) -> float:
    """Distance along the normal to the nearest piece that is crossed; nan when that one does not face the other way."""
    cross = normal[0] * along[:, 1] - normal[1] * along[:, 0]
    to = starts - place
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = (to[:, 0] * along[:, 1] - to[:, 1] * along[:, 0]) / cross
        share = (to[:, 0] * normal[1] - to[:, 1] * normal[0]) / cross
    met = (distance > 1e-9) & (share >= -1e-9) & (share <= 1.0 + 1e-9)
    met[own] = False
    if not met.any():
        return float("nan")
    nearest = int(np.argmin(np.where(met, distance, np.inf)))
    return float(distance[nearest]) if float(normal @ inward[nearest]) <= -FACING else float("nan")


def _wall(
    through: FloatArray, stretch: FloatArray, length: FloatArray, anywhere: BoolArray, really: BoolArray
) -> Wall | None:
    """From the distances through: the least in the direction of lines or layers (`stretch` longer than straight through)
    `anywhere`, and the usual one where it is `really` upright or flat and thin.
    """
    if not anywhere.any():
        return None
    least = float((through * stretch)[anywhere].min())
    really = really & (through <= THIN * np.nanmin(through))
    if length[really].sum() < ENOUGH * length.sum():
        return Wall(least_m=least, usual_m=None, spread_m=None)
    thickness, length = through[really], length[really]
    order = np.argsort(thickness, kind="stable")
    thickness, share = thickness[order], np.cumsum(length[order]) / length.sum()
    low, usual, high = (
        float(thickness[min(int(np.searchsorted(share, q)), len(share) - 1)]) for q in (0.25, 0.5, 0.75)
    )
    return Wall(least_m=least, usual_m=usual, spread_m=high - low)
