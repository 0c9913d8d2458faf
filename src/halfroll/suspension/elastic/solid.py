"""A bar in three dimensions as a body of high-order elements: brick-shaped in its own coordinates, of its own order each way.

The bar is the image of a box: s runs along it from 0 to 1, v across its width and t across its thickness, both from -1/2 to 1/2.
Nodes lie on the exact map and carry the geometry as well as the displacement, so that moving and turning the bar as one piece
strains nothing. They are numbered slice by slice along s, which keeps the band of the tangent narrow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.strip import IntArray

Place = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]
"""Places (n, 3) in metres of bar coordinates s, v, t, (n,) each."""

Three = tuple[FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, kw_only=True, eq=False)
class BarMesh:
    """A meshed bar.

    nodes (n, 3) places (m); elements (e, k) nodes of each; gradient (e, q, 3, k) from nodal values to their gradient by place;
    weight (e, q) volume of a quadrature point (m³); shape (q, k) values of the shape functions; cuts are the element boundaries
    along s, v, t and orders the polynomial orders; slice_size is how many nodes share an s.
    """

    nodes: FloatArray
    elements: IntArray
    gradient: FloatArray
    weight: FloatArray
    shape: FloatArray
    cuts: Three
    orders: tuple[int, int, int]
    slice_size: int

    @property
    def first(self) -> IntArray:
        """Nodes of the face s = 0."""
        return np.arange(self.slice_size)

    @property
    def last(self) -> IntArray:
        """Nodes of the face s = 1."""
        return np.arange(len(self.nodes) - self.slice_size, len(self.nodes))

    def sample(self, at: Three) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Every element's shape functions at local points: values (q, k), gradient by place (e, q, 3, k) and the bar
        coordinates (e, q, 3). `at` holds points on 0..1 along s, v, t; q counts their tensor product, t fastest.
        """
        values, slopes = _products(self.orders, at)
        gradient, _ = _by_place(self.nodes[self.elements], slopes)
        local = np.stack(np.meshgrid(*at, indexing="ij"), axis=-1).reshape(-1, 3)
        low, size = _boxes(self.cuts)
        return values, gradient, low[:, None] + size[:, None] * local


def mesh_bar(place: Place, cuts: Three, orders: tuple[int, int, int]) -> BarMesh:
    """Mesh the bar that `place` describes with element boundaries at `cuts` along s (0 to 1), v and t (-1/2 to 1/2)."""
    lines = [_joined(cut, basis.nodes(order)) for cut, order in zip(cuts, orders, strict=True)]
    grid = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 3)
    nodes = place(grid[:, 0], grid[:, 1], grid[:, 2])
    elements = _elements(cuts, orders)
    rules = [basis.gauss(order + 1) for order in orders]
    values, slopes = _products(orders, (rules[0][0], rules[1][0], rules[2][0]))
    gradient, volume = _by_place(nodes[elements], slopes)
    share = np.einsum("a,b,c->abc", *(weights for _, weights in rules)).ravel()
    return BarMesh(
        nodes=nodes, elements=elements, gradient=gradient, weight=volume * share, shape=values, cuts=cuts,
        orders=orders, slice_size=len(lines[1]) * len(lines[2]),
    )  # fmt: skip


class Solid:
    """Forces, tangent and mass of a meshed bar of one material; degrees of freedom are x, y, z of each node in turn."""

    def __init__(self, mesh: BarMesh, material: Elastic) -> None:
        self.mesh = mesh
        self.material = material
        self.size = 3 * len(mesh.nodes)
        count, points, _, k = mesh.gradient.shape
        self._dofs: IntArray = (3 * mesh.elements[:, None, :] + np.arange(3)[None, :, None]).reshape(
            count, 3 * k
        )
        rows, columns = np.broadcast_arrays(self._dofs[:, :, None], self._dofs[:, None, :])
        self._lower = rows >= columns
        offset = (rows - columns)[self._lower]
        self.band = int(offset.max())
        self._at = offset + columns[self._lower] * (self.band + 1)
        self._flat = np.ascontiguousarray(mesh.gradient.reshape(count, 3 * points, k))
        self._flat_t = np.ascontiguousarray(self._flat.transpose(0, 2, 1))

    def gradient(self, u: FloatArray) -> FloatArray:
        """Deformation gradient (e, q, 3, 3) at the quadrature points."""
        return deformation(self.mesh, self.mesh.gradient, u)

    def forces(self, u: FloatArray) -> tuple[FloatArray, float]:
        """See `Body.forces`."""
        stress = self.material.stress(self.gradient(u)) * self.mesh.weight[..., None, None]
        columns = np.swapaxes(stress, -1, -2).reshape(len(stress), -1, 3)
        each = np.swapaxes(self._flat_t @ columns, 1, 2).reshape(len(stress), -1)
        forces = np.bincount(self._dofs.ravel(), each.ravel(), minlength=self.size)
        return np.asarray(forces, dtype=np.float64), float(np.abs(each).max())

    def tangent(self, u: FloatArray) -> FloatArray:
        """See `Body.tangent`."""
        law = self.material.tangent(self.gradient(u)) * self.mesh.weight[..., None, None, None, None]
        count, points = self.mesh.weight.shape
        k = self.mesh.elements.shape[1]
        each = np.empty((count, 3, k, 3, k))
        for i in range(3):
            for j in range(i + 1):
                right = (np.ascontiguousarray(law[:, :, i, :, j, :]) @ self.mesh.gradient).reshape(
                    count, 3 * points, k
                )
                each[:, i, :, j] = self._flat_t @ right
                if i != j:
                    each[:, j, :, i] = each[:, i, :, j].transpose(0, 2, 1)
        return self._banded(each.reshape(count, 3 * k, 3 * k))

    def mass(self) -> FloatArray:
        """The consistent mass matrix's lower band (band + 1, size) (kg)."""
        weight = self.mesh.weight * self.material.density_kg_m3
        one = np.einsum("qa,eq,qb->eab", self.mesh.shape, weight, self.mesh.shape, optimize=True)
        count, k, _ = one.shape
        each = np.zeros((count, 3, k, 3, k))
        for i in range(3):
            each[:, i, :, i] = one
        return self._banded(each.reshape(count, 3 * k, 3 * k))

    def energy(self, u: FloatArray) -> float:
        """Elastic energy (J)."""
        return float((self.material.energy(self.gradient(u)) * self.mesh.weight).sum())

    @cached_property
    def volume_m3(self) -> float:
        """Volume (m³)."""
        return float(self.mesh.weight.sum())

    def _banded(self, each: FloatArray) -> FloatArray:
        """Column by column, as LAPACK takes it."""
        band = np.bincount(self._at, each[self._lower], minlength=(self.band + 1) * self.size)
        return np.asarray(band.reshape(self.size, self.band + 1).T)


def deformation(mesh: BarMesh, gradient: FloatArray, u: FloatArray) -> FloatArray:
    """Deformation gradient (e, q, 3, 3) of displacements (3 n,) where `gradient` (e, q, 3, k) was sampled."""
    moved = u.reshape(-1, 3)[mesh.elements]
    count, points, _, k = gradient.shape
    by = (gradient.reshape(count, points * 3, k) @ moved).reshape(count, points, 3, 3)
    return np.asarray(np.swapaxes(by, -1, -2) + np.eye(3))


def _products(orders: tuple[int, int, int], at: Three) -> tuple[FloatArray, FloatArray]:
    """Shape functions (q, k) of a unit brick and their slopes (q, 3, k)."""
    sets = [basis.values(order, points) for order, points in zip(orders, at, strict=True)]
    (s, s1), (v, v1), (t, t1) = sets

    def product(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
        full = np.einsum("pa,qb,rc->pqrabc", a, b, c)
        return np.asarray(full.reshape(len(a) * len(b) * len(c), -1))

    return product(s, v, t), np.stack([product(s1, v, t), product(s, v1, t), product(s, v, t1)], axis=1)


def _by_place(corners: FloatArray, slopes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Gradient by place (e, q, 3, k) and the local volume ratio (e, q) of bricks whose nodes are at (e, k, 3)."""
    jacobian = np.einsum("qdk,eki->eqdi", slopes, corners, optimize=True)
    return np.linalg.solve(jacobian, np.broadcast_to(slopes, (len(corners), *slopes.shape))), np.abs(
        np.linalg.det(jacobian)
    )


def _joined(cuts: FloatArray, local: FloatArray) -> FloatArray:
    inside = cuts[:-1, None] + np.diff(cuts)[:, None] * local[None, :-1]
    return np.append(inside.ravel(), cuts[-1])


def _boxes(cuts: Three) -> tuple[FloatArray, FloatArray]:
    """Lower corner and size (e, 3) of every element in bar coordinates."""
    low = np.stack(np.meshgrid(*(cut[:-1] for cut in cuts), indexing="ij"), axis=-1).reshape(-1, 3)
    size = np.stack(np.meshgrid(*(np.diff(cut) for cut in cuts), indexing="ij"), axis=-1).reshape(-1, 3)
    return low, size


def _elements(cuts: Three, orders: tuple[int, int, int]) -> IntArray:
    counts = [len(cut) - 1 for cut in cuts]
    sizes = [count * order + 1 for count, order in zip(counts, orders, strict=True)]
    numbers = np.arange(np.prod(sizes)).reshape(sizes)
    first = np.stack(
        np.meshgrid(*(np.arange(n) * p for n, p in zip(counts, orders, strict=True)), indexing="ij"), -1
    )
    inside = np.stack(np.meshgrid(*(np.arange(p + 1) for p in orders), indexing="ij"), -1).reshape(-1, 3)
    at = first.reshape(-1, 1, 3) + inside
    return np.asarray(numbers[at[..., 0], at[..., 1], at[..., 2]])
