"""Lines and curves of a drawing, one after another: where they meet, and the points of a profile along them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import Point

TURN = math.radians(5.0)
"""A curve is sampled at least once for every so much it turns."""

KINK = math.radians(3.0)
"""Curves that meet at a larger angle make a corner, which a smooth middle line cannot have."""

FEWEST = 4
"""Pieces a curve is sampled in at least."""

MOST = 200
"""Pieces of a stretch at most."""

SHORT_MM = 1e-9
"""What is shorter has no direction."""

LIBRARY_FAULTS = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError)
"""What the libraries that read drawings stumble with over bad values."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Stretch:
    """A line or curve of a drawing: `at(t)` its places (n, 2) for t from 0 to 1, in mm."""

    at: Callable[[FloatArray], FloatArray]
    straight: bool

    @property
    def start(self) -> FloatArray:
        """Its first place (2,)."""
        return np.asarray(self.at(np.array([0.0]))[0])

    @property
    def stop(self) -> FloatArray:
        """Its last place (2,)."""
        return np.asarray(self.at(np.array([1.0]))[0])

    def turned(self) -> Stretch:
        """The same from its other end."""
        return replace(self, at=lambda t: self.at(1.0 - t))


def line(start: Sequence[float] | FloatArray, stop: Sequence[float] | FloatArray) -> Stretch:
    """A straight line between two places."""
    one, other = np.asarray(start, dtype=np.float64)[:2], np.asarray(stop, dtype=np.float64)[:2]
    return Stretch(at=lambda t: np.asarray(one + np.multiply.outer(t, other - one)), straight=True)


def closed_path(what: str) -> InputError:
    """What is said of a path that closes on itself; `what` names the shape."""
    return InputError(
        "The path must be open: one line from the inner to the outer clamp", found=f"a closed {what}",
        remedy="Draw the wall's middle line, not its outline",
    )  # fmt: skip


def points_along(stretches: Sequence[Stretch]) -> tuple[Point, ...]:
    """Points (r, z) in metres along stretches in mm that follow one another, from the end nearer to the axis.

    Corners of straight lines are points of a smooth line to be; curves are sampled so finely that a spline through the points
    follows them.

    Raises
    ------
    InputError
        Numbers that are not finite, or a corner where a curve meets something else.
    """
    stretches = [one for one in stretches if _length(one) > SHORT_MM]
    if not stretches:
        raise InputError("The path must have a length", found="a single place")
    _refuse_kinks(stretches)
    places = [stretches[0].start[None]]
    for stretch, pieces in zip(stretches, _pieces(stretches), strict=True):
        places.append(stretch.at(np.linspace(0.0, 1.0, pieces + 1)[1:]))
    along = np.concatenate(places)
    if not np.isfinite(along).all():
        raise InputError("Every place of the path must be two numbers", found="a place that is none")
    if along[0, 0] > along[-1, 0]:
        along = along[::-1]
    return tuple((1e-3 * float(r), 1e-3 * float(z)) for r, z in along)


def _length(stretch: Stretch) -> float:
    places = stretch.at(np.linspace(0.0, 1.0, 2 if stretch.straight else 129))
    return float(np.hypot(*np.diff(places, axis=0).T).sum())


def _pieces(stretches: Sequence[Stretch]) -> list[int]:
    """In how many pieces each is sampled. Beside curves straight lines get as close points as those, lest the spline swing there."""
    pieces = [1 if one.straight else _turns(one) for one in stretches]
    curved = [_length(one) / n for one, n in zip(stretches, pieces, strict=True) if not one.straight]
    if not curved:
        return pieces
    step = min(curved)
    return [
        min(MOST, max(n, math.ceil(_length(one) / step))) for one, n in zip(stretches, pieces, strict=True)
    ]


def _turns(stretch: Stretch) -> int:
    steps = np.diff(stretch.at(np.linspace(0.0, 1.0, 129)), axis=0)
    steps = steps[np.hypot(*steps.T) > 0]
    turn = float(np.abs(np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))).sum())
    return max(FEWEST, math.ceil(turn / TURN))


def _refuse_kinks(stretches: Sequence[Stretch]) -> None:
    """Among curves corners are faults; a path of straight lines alone is a row of points."""
    if all(stretch.straight for stretch in stretches):
        return
    for one, other in itertools.pairwise(stretches):
        angle = math.remainder(_heading(other, 0.0) - _heading(one, 1.0), 2 * math.pi)
        if abs(angle) > KINK:
            x, y = one.stop
            raise InputError(
                f"The path has a corner of {math.degrees(abs(angle)):.0f}° at x = {x:.3f} mm, y = {y:.3f} mm",
                found="a line and a curve that do not meet in one direction", allowed="stretches that run into one another smoothly",
                remedy="Round the corner with an arc, or draw the profile as a row of straight lines, which are taken for points",
            )  # fmt: skip


def _heading(stretch: Stretch, t: float) -> float:
    near = 1e-5 if t == 0.0 else 1.0 - 1e-5
    ends = stretch.at(np.array([t, near] if t == 0.0 else [near, t]))
    return math.atan2(float(ends[1, 1] - ends[0, 1]), float(ends[1, 0] - ends[0, 0]))
