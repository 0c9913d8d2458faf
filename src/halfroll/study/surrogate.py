"""An estimate of a changed design without solving it: the packed model and the figures to second order in each dimension.

Every dimension was solved one step up and one step down. In between, and some steps beyond, the packed model (`driver.predicted.packing`)
follows the parabola through the three; several changes add up. The model that comes out is read like any other; what reading it at the solved
steps misses (a cone's resonances that moved, terms that do not scale) is added to each figure by a parabola of its own. So the estimate
is exact at the design and at each solved step, right to second order near it along one dimension, and to first order for changes together.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.cone import ConeMode
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import unpack
from halfroll.study.dimensions import Dimension
from halfroll.study.reading import Reader


@dataclass(frozen=True, kw_only=True, eq=False)
class Solved:
    """A design and its neighbours, solved.

    Parameters
    ----------
    dimensions
        What was changed, (d,).
    model
        The driver of the design itself; its curves have as many coefficients as any neighbour's.
    packed, packed_up, packed_down
        Packed models of the design, (p,), and one step up and down, (d, p); NaN where no driver is like that.
    figures
        Keys of the figures, (f,).
    values, values_up, values_down
        Figures as solved, (f,) and (d, f); NaN where there is none.
    read_up, read_down
        What reading the packed neighbours alone gives, (d, f).
    u
        Standard uncertainty of the figures of the design itself, (f,); NaN where it is not known.
    faults
        Why a dimension could not be changed one way or the other; empty where it could.
    """

    dimensions: tuple[Dimension, ...]
    model: DriverModel
    packed: FloatArray
    packed_up: FloatArray
    packed_down: FloatArray
    figures: tuple[str, ...]
    values: FloatArray
    values_up: FloatArray
    values_down: FloatArray
    read_up: FloatArray
    read_down: FloatArray
    u: FloatArray
    faults: tuple[str, ...]

    def place(self, key: str) -> int:
        """Which dimension a key is."""
        return next(i for i, one in enumerate(self.dimensions) if one.key == key)

    def per_step(self) -> tuple[FloatArray, FloatArray]:
        """Change of every figure per step of every dimension, and by how much it bends, (d, f): by central differences; where only one
        side could be solved the change to that side, and NaN for the bend.
        """
        up, down = self.values_up - self.values, self.values - self.values_down
        slope = np.where(
            np.isfinite(up) & np.isfinite(down), 0.5 * (up + down), np.where(np.isfinite(up), up, down)
        )
        return slope, 0.5 * (up - down)

    def only_way(self, i: int, j: int) -> float:
        """The one way in which figure j could be solved for dimension i, 1 up or −1 down; 0 where both ways could, or neither."""
        return float(np.isfinite(self.values_up[i, j])) - float(np.isfinite(self.values_down[i, j]))


@dataclass(frozen=True, kw_only=True, eq=False)
class Estimate:
    """An estimated design: its model, its figures by key, and whether every change lies within the steps that were solved."""

    model: DriverModel
    figures: dict[str, float]
    within: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Surrogate:
    """The estimates of one design; figures are read as `reader` reads them, with the cone's resonances of the design itself."""

    solved: Solved
    reader: Reader
    modes: tuple[ConeMode, ...] = ()

    def estimate(self, values: Mapping[str, float]) -> Estimate:
        """The driver with some dimensions at other values, by key.

        Raises
        ------
        InputError
            So far out that no driver is like that.
        """
        solved = self.solved
        steps = {solved.place(key): (value - solved.dimensions[solved.place(key)].value) / solved.dimensions[solved.place(key)].step
                 for key, value in values.items()}  # fmt: skip
        moved = {i: t for i, t in steps.items() if t != 0.0}
        model = unpack(
            solved.packed + _sum(moved, solved.packed, solved.packed_up, solved.packed_down), solved.model
        )
        read = self.reader.figures(model, self.modes)
        left = _sum(
            moved,
            np.zeros(len(solved.figures)),
            solved.values_up - solved.read_up,
            solved.values_down - solved.read_down,
        )
        figures = {
            key: read[key] + (0.0 if not np.isfinite(more) else float(more))
            for key, more in zip(solved.figures, left, strict=True)
            if key in read
        }
        return Estimate(
            model=model, figures=figures, within=all(abs(t) <= 1.0 + 1e-9 for t in moved.values())
        )


def _sum(moved: Mapping[int, float], at: FloatArray, up: FloatArray, down: FloatArray) -> FloatArray:
    """The parabolas of all moved dimensions together; a straight line where one side is not known."""
    total = np.zeros_like(at)
    for i, t in moved.items():
        above, below = up[i] - at, at - down[i]
        one_sided = np.where(np.isfinite(above), above, below)
        bent = 0.5 * (above + below) * t + 0.5 * (above - below) * t * t
        total = total + np.where(np.isfinite(bent), bent, one_sided * t)
    return total
