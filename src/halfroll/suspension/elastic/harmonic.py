"""Small motions of a strip that are not symmetric about the axis, about any bent state: n waves around.

Displacements U cos(n a) along r, V sin(n a) around, W cos(n a) along z, a the angle around. The tangent of the very law that bent
the strip is integrated over the angle in closed form, so prestress and large rotations of the bent state are in it. Written as
K(n) = K0 + n K1 + n² K2, three assemblies serve every n. (O. C. Zienkiewicz and R. L. Taylor, "The Finite Element Method", on
axisymmetric bodies under loads that are not: the semi-analytical method.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.equilibrium import factor, multiply
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import IntArray

_EVEN = np.array([0, 1, 3, 4, 8])
"""rr, rz, zr, zz, hoop over axes (r, z, hoop): these vary as the cosine."""
_ODD = np.array([2, 5, 6, 7])
"""r-hoop, z-hoop, hoop-r, hoop-z: these vary as the sine."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Waves:
    """Tangents of all numbers of waves about one bent state; degrees of freedom are U, V, W of each node in turn.

    Each of `terms` (3, band + 1, size) is a lower band (N/m); `mass` a lower band (kg) for one or more waves, half of that without.
    """

    ring: Ring
    terms: FloatArray
    mass: FloatArray

    @property
    def size(self) -> int:
        """Degrees of freedom."""
        return int(self.terms.shape[2])

    def tangent(self, waves: int) -> FloatArray:
        """Lower band (band + 1, size) (N/m) for `waves` around; without any, of the whole turn."""
        twice = 2.0 if waves == 0 else 1.0
        return np.asarray(twice * (self.terms[0] + waves * self.terms[1] + waves**2 * self.terms[2]))

    @property
    def clamped(self) -> IntArray:
        """Degrees of freedom of both edges."""
        nodes = np.concatenate([self.ring.mesh.inner, self.ring.mesh.outer])
        return np.asarray((3 * nodes[:, None] + np.arange(3)).ravel())


def waves_about(ring: Ring, u: FloatArray) -> Waves:
    """Linearise a ring about a displacement u (as `Ring` numbers it)."""
    mesh = ring.mesh
    count, points, nodes = mesh.shape.shape
    law = ring.material.tangent(ring.gradient(u)).reshape(count, points, 9, 9)
    law = law * (0.5 * mesh.weight)[..., None, None]
    even, odd = law[..., _EVEN[:, None], _EVEN], law[..., _ODD[:, None], _ODD]
    by_r, by_z = mesh.slope[:, :, 0], mesh.slope[:, :, 1]
    over_r = mesh.shape / mesh.at_r[..., None]
    e0, e1 = (np.zeros((count, points, 5, 3 * nodes)) for _ in range(2))
    o0, o1 = (np.zeros((count, points, 4, 3 * nodes)) for _ in range(2))
    e0[:, :, 0, 0::3] = e0[:, :, 2, 2::3] = by_r
    e0[:, :, 1, 0::3] = e0[:, :, 3, 2::3] = by_z
    e0[:, :, 4, 0::3] = e1[:, :, 4, 1::3] = over_r
    o0[:, :, 0, 1::3] = o1[:, :, 0, 0::3] = o1[:, :, 1, 2::3] = -over_r
    o0[:, :, 2, 1::3], o0[:, :, 3, 1::3] = by_r, by_z
    sums = [_between(e0, even, e0) + _between(o0, odd, o0)]
    mixed = _between(e0, even, e1) + _between(o0, odd, o1)
    sums += [mixed + mixed.transpose(0, 2, 1), _between(e1, even, e1) + _between(o1, odd, o1)]
    dofs = (3 * mesh.elements[:, :, None] + np.arange(3)).reshape(count, -1)
    size = 3 * len(mesh.r)
    inertia = np.zeros_like(sums[0])
    each = (mesh.shape * (0.5 * ring.material.density_kg_m3 * mesh.weight)[..., None]).transpose(
        0, 2, 1
    ) @ mesh.shape
    for axis in range(3):
        inertia[:, axis::3, axis::3] = each
    *terms, mass = _banded([*sums, inertia], dofs, size)
    return Waves(ring=ring, terms=np.array(terms), mass=mass)


def _between(left: FloatArray, law: FloatArray, right: FloatArray) -> FloatArray:
    count, points, parts, columns = left.shape
    flat = np.ascontiguousarray(left.reshape(count, points * parts, columns).transpose(0, 2, 1))
    return np.asarray(flat @ (law @ right).reshape(count, points * parts, columns))


def _banded(matrices: Sequence[FloatArray], dofs: IntArray, size: int) -> list[FloatArray]:
    rows, columns = np.broadcast_arrays(dofs[:, :, None], dofs[:, None, :])
    lower = rows >= columns
    offset = (rows - columns)[lower]
    band = int(offset.max())
    place = offset * size + columns[lower]
    sums = (np.bincount(place, one[lower], minlength=(band + 1) * size) for one in matrices)
    return [np.asarray(one, dtype=np.float64).reshape(band + 1, size) for one in sums]


def edge_stiffness(waves: Waves, about_z_m: float) -> FloatArray:
    """Stiffness (2, 2) of the inner edge, held rigid, against a sideways shift (N/m) and against tilting about the height
    `about_z_m` (N m/rad), with their coupling (N/rad) beside the diagonal; the outer edge is fast.

    A shift along the direction a = 0; a tilt that lifts nothing there but turns the axis towards it.
    """
    mesh = waves.ring.mesh
    tangent, clamped = waves.tangent(1), waves.clamped
    edge = np.zeros((waves.size, 2))
    inner = mesh.inner
    edge[3 * inner, 0], edge[3 * inner + 1, 0] = 1.0, -1.0
    lever = mesh.z[inner] - about_z_m
    edge[3 * inner, 1], edge[3 * inner + 1, 1], edge[3 * inner + 2, 1] = lever, -lever, -mesh.r[inner]
    solver = factor(tangent, clamped)
    if solver is None:
        return np.full((2, 2), np.nan)
    load = np.stack([multiply(tangent, column) for column in edge.T], axis=1)
    free = -load
    free[clamped] = 0.0
    follow = edge + solver.solve(free)
    return np.asarray(edge.T @ np.stack([multiply(tangent, column) for column in follow.T], axis=1))


def own_resonances(waves: Waves, around: int, count: int = 1) -> tuple[FloatArray, FloatArray]:
    """The lowest `count` resonances (Hz) of the strip with both edges fast and `around` waves around it, and their shapes
    (size, count). Where the bent state is unstable the frequency is 0. Without waves, turning about the axis is left out.
    """
    from scipy.sparse.linalg import eigsh

    clamped = waves.clamped
    if around == 0:
        clamped = np.union1d(clamped, np.arange(1, waves.size, 3))
    free = np.setdiff1d(np.arange(waves.size), clamped)
    stiffness = as_sparse(waves.tangent(around))[free][:, free]
    mass = as_sparse(waves.mass * (2.0 if around == 0 else 1.0))[free][:, free]
    squared, shapes = eigsh(stiffness.tocsc(), k=count, M=mass.tocsc(), sigma=0.0, v0=np.ones(len(free)))
    whole = np.zeros((waves.size, count))
    whole[free] = shapes
    return np.sqrt(np.maximum(squared, 0.0)) / (2 * np.pi), whole


def first_unstable(waves: Waves, around: Sequence[int]) -> int | None:
    """The first number of waves in `around` into which the bent strip would buckle with its edges held; None when it is stable."""
    for number in around:
        solver = factor(waves.tangent(number), waves.clamped)
        if solver is None or not solver.definite:
            return number
    return None


def as_sparse(band: FloatArray) -> Any:
    """The full symmetric matrix of a lower band, as a sparse one of SciPy's."""
    from scipy.sparse import dia_array

    size = band.shape[1]
    width = len(band) - 1
    data, offsets = [band[0]], [0]
    for k in range(1, width + 1):
        data += [band[k], np.concatenate([np.zeros(k), band[k, : size - k]])]
        offsets += [-k, k]
    return dia_array((np.array(data), offsets), shape=(size, size)).tocsr()
