"""A strip of revolution as a body of finite elements, deformed without losing its symmetry about the axis."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.equilibrium import Hold
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.strip import AXISYMMETRIC, IntArray, Sample, StripMesh


class Ring:
    """Forces and tangent of a meshed strip of one material; degrees of freedom are r and z of each node in turn."""

    def __init__(self, mesh: StripMesh, material: Elastic) -> None:
        self.mesh = mesh
        self.material = material
        self.size = 2 * len(mesh.r)
        nodes = mesh.elements
        self._dofs: IntArray = np.stack([2 * nodes, 2 * nodes + 1], axis=2).reshape(len(nodes), -1)
        rows, columns = self._dofs[:, :, None], self._dofs[:, None, :]
        rows, columns = np.broadcast_arrays(rows, columns)
        self._lower = rows >= columns
        offset = (rows - columns)[self._lower]
        self.band = int(offset.max())
        self._place = offset * self.size + columns[self._lower]
        count, points = mesh.weight.shape
        self._flat = np.ascontiguousarray(mesh.gradient.reshape(count, points * 5, -1))
        self._flat_t = np.ascontiguousarray(self._flat.transpose(0, 2, 1))

    def gradient(self, u: FloatArray) -> FloatArray:
        """Deformation gradient (n, q, 3, 3) over axes (r, z, hoop) at the quadrature points."""
        return self._deformed(u, self._flat)

    def gradient_at(self, sample: Sample, u: FloatArray) -> FloatArray:
        """The same at the places of a sample of this mesh's cuts and order."""
        return self._deformed(u, sample.gradient.reshape(len(self._dofs), -1, self._dofs.shape[1]))

    def moved(self, shape: FloatArray, u: FloatArray) -> FloatArray:
        """Displacement (n, q, 2) by r and z where the shape functions are (q, k)."""
        return np.asarray(shape @ u.reshape(-1, 2)[self.mesh.elements])

    def _deformed(self, u: FloatArray, by_dofs: FloatArray) -> FloatArray:
        moved = np.einsum("nij,nj->ni", by_dofs, u[self._dofs])
        out = np.zeros((len(moved), moved.shape[1] // 5, 9))
        out[..., [0, 4, 8]] = 1.0
        out[..., AXISYMMETRIC] += moved.reshape(*out.shape[:2], 5)
        return out.reshape(*out.shape[:2], 3, 3)

    def forces(self, u: FloatArray) -> tuple[FloatArray, float]:
        """See `Body.forces`."""
        stress = self.material.stress(self.gradient(u)).reshape(*self.mesh.weight.shape, 9)[..., AXISYMMETRIC]
        stress = stress * self.mesh.weight[..., None]
        each = np.einsum("nij,nj->ni", self._flat_t, stress.reshape(len(stress), -1))
        largest = float(np.abs(each).max())
        forces = np.bincount(self._dofs.ravel(), each.ravel(), minlength=self.size)
        return np.asarray(forces, dtype=np.float64), largest

    def tangent(self, u: FloatArray) -> FloatArray:
        """See `Body.tangent`."""
        law = self.material.tangent_of(self.gradient(u), AXISYMMETRIC) * self.mesh.weight[..., None, None]
        right = (law @ self.mesh.gradient).reshape(self._flat.shape)
        each = self._flat_t @ right
        band = np.bincount(self._place, each[self._lower], minlength=(self.band + 1) * self.size)
        return np.asarray(band.reshape(self.band + 1, self.size))

    def energy(self, u: FloatArray) -> float:
        """Elastic energy (J)."""
        return float((self.material.energy(self.gradient(u)) * self.mesh.weight).sum())

    def clamps(self) -> Hold:
        """Outer edge fast, inner edge moved along the axis without turning or shrinking."""
        inner, outer = self.mesh.inner, self.mesh.outer
        fixed = np.concatenate([2 * inner, 2 * inner + 1, 2 * outer, 2 * outer + 1])
        motion = np.concatenate([np.zeros(len(inner)), np.ones(len(inner)), np.zeros(2 * len(outer))])
        return Hold(fixed=fixed, motion=motion)
