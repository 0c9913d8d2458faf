"""The hub on its arms at rest: stiffness against every small motion of it as one piece, and the arms' own resonances."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.equilibrium import Factored, factor, multiply
from halfroll.suspension.elastic.solid import Solid
from halfroll.suspension.elastic.strip import IntArray
from halfroll.suspension.elastic.turning import end_held

OWN = 3
"""So many resonances of an arm are looked for."""


@dataclass(frozen=True, kw_only=True, eq=False)
class HubStiffness:
    """Stiffness (6, 6) of a hub on all its arms: shifts along x, y, z (N/m), turns about x, y, z through the hub's centre (N m/rad)."""

    matrix: FloatArray

    @property
    def radial_n_per_m(self) -> float:
        """Against a sideways shift without turning, in the direction in which it is least; with three arms or more all are alike."""
        return float(np.linalg.eigvalsh(self.matrix[:2, :2])[0])

    @property
    def tilt_nm_per_rad(self) -> float:
        """Against turning about a diameter, about the one for which it is least."""
        return float(np.linalg.eigvalsh(self.matrix[3:5, 3:5])[0])

    @property
    def unlike(self) -> float:
        """How many times the least sideways stiffness the largest is."""
        low, high = np.linalg.eigvalsh(self.matrix[:2, :2])
        return float(high / low)


class ArmAtRest:
    """One arm, unbent: its tangent, factored once for all that is asked of it. Both ends are held, or what `fixed` says."""

    def __init__(self, solid: Solid, fixed: IntArray | None = None) -> None:
        self.solid = solid
        self.tangent = solid.tangent(np.zeros(solid.size))
        self.fixed = end_held(solid).fixed if fixed is None else fixed
        found = factor(self.tangent, self.fixed)
        assert found is not None
        self.factored: Factored = found

    def hub_stiffness(self, arms: int) -> HubStiffness:
        """Of all arms, each a copy turned about the axis."""
        one = self._of_one()
        total = np.zeros((6, 6))
        for number in range(arms):
            turn = 2 * np.pi * number / arms
            c, s = np.cos(turn), np.sin(turn)
            way = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
            both = np.kron(np.eye(2), way)
            total += both @ one @ both.T
        return HubStiffness(matrix=total)

    def _of_one(self) -> FloatArray:
        hub = self.solid.mesh.first
        x, y, z = self.solid.mesh.nodes[hub].T
        edge = np.zeros((self.solid.size, 6))
        for axis in range(3):
            edge[3 * hub + axis, axis] = 1.0
        edge[3 * hub + 1, 3], edge[3 * hub + 2, 3] = -z, y
        edge[3 * hub, 4], edge[3 * hub + 2, 4] = z, -x
        edge[3 * hub, 5], edge[3 * hub + 1, 5] = -y, x
        load = np.stack([multiply(self.tangent, column) for column in edge.T], axis=1)
        free = -load
        free[self.fixed] = 0.0
        follow = edge + self.factored.solve(free)
        return np.asarray(load.T @ follow)

    def own_hz(self, count: int = OWN) -> FloatArray:
        """The lowest resonances (Hz) with what is fixed held: shift-invert Lanczos about zero."""
        from scipy.sparse.linalg import LinearOperator, eigsh

        size, mass = self.solid.size, self.solid.mass()

        def without_clamps(vector: FloatArray) -> FloatArray:
            out = np.array(vector, dtype=np.float64).ravel()
            out[self.fixed] = 0.0
            return out

        def operator(work: Callable[[FloatArray], FloatArray]) -> Any:
            return LinearOperator((size, size), matvec=work, dtype=np.float64)

        squared = eigsh(
            operator(lambda v: without_clamps(multiply(self.tangent, without_clamps(v)))), k=count, sigma=0.0,
            M=operator(lambda v: without_clamps(multiply(mass, without_clamps(v)))),
            OPinv=operator(lambda v: self.factored.solve(without_clamps(v))), v0=without_clamps(np.ones(size)),
            return_eigenvectors=False,
        )  # fmt: skip
        return np.asarray(np.sqrt(np.sort(squared)) / (2 * np.pi))


def moving_share(solid: Solid, velocity: FloatArray) -> tuple[float, float]:
    """Mass (kg) of an arm, and the part of it that counts as moving: the mass with its kinetic energy at the hub's velocity, for
    nodal velocities (size,) per unit of that.
    """
    at = solid.mesh.shape @ velocity.reshape(-1, 3)[solid.mesh.elements]
    density = solid.material.density_kg_m3
    return density * solid.volume_m3, density * float((solid.mesh.weight * (at**2).sum(axis=2)).sum())
