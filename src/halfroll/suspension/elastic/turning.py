"""A body whose moved end is stiff and free to turn about the z axis: it turns until no torque is left on it.

The turn is a finite rotation and one more unknown; the end's own degrees of freedom then count what it does besides turning. The
tangent holds the geometric term of the rotation, so the stiffness along z with the end left free is as exact as with it held.
"""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.equilibrium import Hold, multiply
from halfroll.suspension.elastic.solid import Solid
from halfroll.suspension.elastic.strip import IntArray


class TurningEnd:
    """A `Solid` whose face s = 0 turns as one piece. Degree of freedom 0 is the turn (rad) times `lever_m`; then those of the solid.

    A length instead of an angle keeps all unknowns of one size.
    """

    def __init__(self, solid: Solid, lever_m: float) -> None:
        self.solid = solid
        self.lever_m = lever_m
        self.size = solid.size + 1
        mesh = solid.mesh
        self.band = max(solid.band, 3 * mesh.slice_size * (mesh.orders[0] + 1))
        self._x: IntArray = 3 * mesh.first
        self._place = mesh.nodes[mesh.first, :2]

    def turn_rad(self, q: FloatArray) -> float:
        """The end's turn about +z (rad)."""
        return float(q[0] / self.lever_m)

    def displacement(self, q: FloatArray) -> FloatArray:
        """Displacements of the solid (size - 1,) with the turn in them."""
        u = q[1:].copy()
        turned = _turned(self._place, self.turn_rad(q), 0) - self._place
        u[self._x] += turned[:, 0]
        u[self._x + 1] += turned[:, 1]
        return u

    def velocity(self, q: FloatArray, rate: FloatArray) -> FloatArray:
        """What the solid's degrees of freedom do while the unknowns q change at a rate (size,)."""
        return np.asarray(rate[1:] + rate[0] / self.lever_m * self._by_turn(q, 1))

    def forces(self, q: FloatArray) -> tuple[FloatArray, float]:
        """See `Body.forces`; the first is the torque on the end over the lever."""
        inner, largest = self.solid.forces(self.displacement(q))
        torque = float(inner @ self._by_turn(q, 1))
        return np.concatenate([[torque / self.lever_m], inner]), largest

    def tangent(self, q: FloatArray) -> FloatArray:
        """See `Body.tangent`."""
        u = self.displacement(q)
        inner, _ = self.solid.forces(u)
        own = self.solid.tangent(u)
        turning = self._by_turn(q, 1)
        column = multiply(own, turning) / self.lever_m
        out = np.zeros((self.band + 1, self.size), order="F")
        out[: len(own), 1:] = own
        out[1:, 0] = column[: self.band]
        out[0, 0] = turning @ column / self.lever_m + inner @ self._by_turn(q, 2) / self.lever_m**2
        return out

    def energy(self, q: FloatArray) -> float:
        """Elastic energy (J)."""
        return self.solid.energy(self.displacement(q))

    def _by_turn(self, q: FloatArray, times: int) -> FloatArray:
        """First or second derivative of the displacements by the turn."""
        out = np.zeros(self.solid.size)
        moved = _turned(self._place, self.turn_rad(q), times)
        out[self._x], out[self._x + 1] = moved[:, 0], moved[:, 1]
        return out


def end_held(solid: Solid) -> Hold:
    """The face s = 1 fast, the face s = 0 moved along z and otherwise held."""
    first, last = solid.mesh.first, solid.mesh.last
    fixed = (3 * np.concatenate([first, last])[:, None] + np.arange(3)).ravel()
    motion = np.zeros(len(fixed))
    motion[2 : 3 * len(first) : 3] = 1.0
    return Hold(fixed=fixed, motion=motion)


def end_turning(body: TurningEnd) -> Hold:
    """The same for a body whose end may turn."""
    held = end_held(body.solid)
    return Hold(fixed=held.fixed + 1, motion=held.motion)


def _turned(places: FloatArray, angle: float, times: int) -> FloatArray:
    """Places (n, 2) turned by an angle about the origin, or that turn's `times`-th derivative: a quarter turn more each."""
    cosine, sine = np.cos(angle + times * np.pi / 2), np.sin(angle + times * np.pi / 2)
    return np.asarray(places @ np.array([[cosine, sine], [-sine, cosine]]))
