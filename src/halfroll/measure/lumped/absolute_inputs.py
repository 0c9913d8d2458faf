"""Every number the absolute parameters rest on as one vector with one covariance, and results differentiated by it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.core.levels import FloatArray
from halfroll.measure.lumped.absolute_methods import (
    RESONANCE_NAMES,
    MassLine,
    Mounting,
    Resonance,
    air_load,
    mass_by_volume,
    mass_line,
    resonance_of,
    volume_ratio,
)
from halfroll.measure.lumped.parameter_types import AddedMass, Fit, KnownVolume, Method, WeighedMass

AIR_LOAD_U = 0.1
"""Relative standard uncertainty of a computed air load: a cone is no flat disc (an estimate, no source)."""


@dataclass(frozen=True)
class Inputs:
    """What `absolute_parameters` was given, in one row.

    The vector holds the values of the free-air fit, then the resonance (5) and mass of each added-mass run, the resonance
    and volume of each box run, and last the mass weighed, the air load over the computed one, the area, and in standard
    deviations the shared deviation of the scale, that between added masses, and that between methods.
    """

    free: Fit
    area_m2: float
    area_u_m2: float
    air: Air
    mounting: Mounting
    added: tuple[AddedMass, ...]
    boxes: tuple[KnownVolume, ...]
    weighed: WeighedMass | None

    @property
    def free_slice(self) -> slice:
        """Place of the values of the free-air fit."""
        return slice(0, len(self.free.estimates.names))

    @property
    def excess_at(self) -> int:
        """Place of the deviation between methods."""
        return len(self.values) - 1

    @cached_property
    def _rows(self) -> tuple[FloatArray, FloatArray]:
        """Values and covariance of all numbers."""
        estimates = self.free.estimates
        scaled = np.array([n in ("re_ohm", "le_h", "l2_h", "r2_ohm", "semi_k") for n in estimates.names])
        shared = [np.where(scaled, self.free.scale_u * estimates.values, 0.0)]
        values, blocks = [estimates.values], [estimates.covariance - np.outer(shared[0], shared[0])]
        runs = [(a.fit, a.mass_kg, a.u_kg) for a in self.added] + [
            (b.fit, b.volume_m3, b.u_m3) for b in self.boxes
        ]
        for fit, size, u in runs:
            resonance, block, share = resonance_of(fit)
            values += [resonance, np.array([size])]
            blocks += [block, np.array([[u**2]])]
            shared += [share, np.zeros(1)]
        weighed = self.weighed or WeighedMass(mass_kg=0.0)
        values.append(np.array([weighed.mass_kg, 1.0, self.area_m2, 0.0, 0.0, 0.0]))
        blocks.append(np.diag([weighed.u_kg**2, AIR_LOAD_U**2, self.area_u_m2**2, 1.0, 1.0, 1.0]))
        shared.append(np.zeros(6))
        from scipy.linalg import block_diag

        covariance = block_diag(*blocks)
        # the scale deviates all curves of a rig together: one source with each number's share
        lift = np.eye(len(covariance))
        lift[:, -3] += np.concatenate(shared)
        return np.concatenate(values), np.asarray(lift @ covariance @ lift.T)

    @property
    def values(self) -> FloatArray:
        """All numbers, shape (n,)."""
        return self._rows[0]

    @property
    def covariance(self) -> FloatArray:
        """Their covariance, shape (n, n)."""
        return self._rows[1]

    def propagate(self, function: Callable[[FloatArray], FloatArray]) -> tuple[FloatArray, FloatArray]:
        """A result (m,) at the numbers as they are, and its derivatives by them (m, n), by central differences."""
        x, u = self.values, np.sqrt(np.diag(self.covariance))
        columns: list[FloatArray | None] = []
        for i in range(len(x)):
            step = max(0.01 * u[i], 1e-6 * abs(x[i])) if u[i] > 0.0 else 0.0
            step = min(step, 1e-3 * abs(x[i])) if x[i] else step
            if step == 0.0:
                columns.append(None)
                continue
            up, down = x.copy(), x.copy()
            up[i] += step
            down[i] -= step
            columns.append((function(up) - function(down)) / (2.0 * step))
        at = function(x)
        return at, np.array([np.zeros(len(at)) if c is None else c for c in columns], dtype=np.float64).T

    def free_at(self, x: FloatArray) -> Resonance:
        """The free-air resonance out of the vector."""
        names = self.free.estimates.names
        return Resonance(*(float(x[names.index(n)]) if n in names else 0.0 for n in RESONANCE_NAMES))

    def area_at(self, x: FloatArray) -> float:
        """The area (m²) out of the vector."""
        return float(x[-4])

    def run_at(self, x: FloatArray, index: int) -> tuple[Resonance, float]:
        """Resonance and mass or volume of a run out of the vector; runs with mass first, then those with a box."""
        begin = self.free_slice.stop + 6 * index
        return Resonance(*(float(v) for v in x[begin : begin + 5])), float(x[begin + 5])

    def mass_by_added(self, x: FloatArray) -> float:
        """Mms (kg) by the added masses."""
        return self._line(x, self._line_weights).mass_kg * math.exp(float(x[-2]) * self._line_excess)

    def _line(self, x: FloatArray, weights: FloatArray) -> MassLine:
        runs = [self.run_at(x, i) for i in range(len(self.added))]
        return mass_line(self.free_at(x), [r for r, _ in runs], [m for _, m in runs], weights)

    @cached_property
    def line(self) -> MassLine:
        """The line of the added masses."""
        return self._line(self.values, self._line_weights)

    @cached_property
    def _line_excess(self) -> float:
        """Relative standard uncertainty on top, where the masses scatter about their line by more than they should."""
        freedom = len(self.added) - 1
        if freedom < 1:
            return 0.0
        return self.line.u * math.sqrt(max(float(np.sum(self.line.off**2)) / freedom - 1.0, 0.0))

    @cached_property
    def _line_weights(self) -> FloatArray:
        """Weights of the points of the added-mass line from their uncertainties, (1 + number of masses,)."""
        free = self.free_at(self.values)
        runs = [self.run_at(self.values, i) for i in range(len(self.added))]
        rough = self._line(self.values, np.ones(len(runs) + 1)).mass_kg
        variance = [(2.0 * self.free.estimates.u("fs_hz") / free.fs) ** 2]
        for (run, mass), given in zip(runs, self.added, strict=True):
            line = (2.0 * given.fit.estimates.u("fs_hz") / run.fs) ** 2 + (given.u_kg / (rough + mass)) ** 2
            variance.append(line * (1.0 + mass / rough) ** 2)
        return np.asarray(1.0 / np.maximum(np.array(variance), 1e-14))

    def ratio_at(self, x: FloatArray, index: int) -> float:
        """Vas/Vb of one box."""
        return volume_ratio(self.free_at(x), self.run_at(x, len(self.added) + index)[0])

    def mass_by_volume(self, x: FloatArray) -> float:
        """Mms (kg) by the boxes; of several the mean of Vas with weights of the square of Vas/Vb over the volume's doubt."""
        free, total, weight = self.free_at(x), 0.0, 0.0
        for i, box in enumerate(self.boxes):
            volume = self.run_at(x, len(self.added) + i)[1]
            ratio = self.ratio_at(self.values, i)
            doubt = (box.u_m3 / box.volume_m3) ** 2 + (0.01 * (1.0 + 1.0 / ratio)) ** 2
            mass = mass_by_volume(free, self.ratio_at(x, i), volume, self.area_at(x), self.air)
            total, weight = total + math.log(mass) / doubt, weight + 1.0 / doubt
        return math.exp(total / weight)

    def mass_by_weight(self, x: FloatArray) -> float:
        """Mms (kg) by the scales, with the air load of the mounting."""
        return float(x[-6]) + float(x[-5]) * air_load(self.area_at(x), self.air, self.mounting)

    def dof(self, method: Method) -> float:
        """Degrees of freedom behind a method: the fewest of the fits it rests on."""
        fits = {"added mass": [a.fit for a in self.added], "known volume": [b.fit for b in self.boxes]}
        return min(f.estimates.dof for f in [self.free, *fits.get(method, [])])
