"""High-order elements on a strip of revolution: one or two across the thickness, many along.

The strip is the exact map of a rectangle (s, t), so a mesh is a list of places along it. Order 4 with full integration needs no
mixed method up to a Poisson's ratio of 0.4995 (I. Babuska and M. Suri, "Locking effects in the finite element approximation
of elasticity problems", Numerische Mathematik 62, 1992: the p-version is free of it from order 4 on).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.midline import Profile

IntArray = NDArray[np.int64]

AXISYMMETRIC = np.array([0, 1, 3, 4, 8])
"""The components rr, rz, zr, zz and hoop of a gradient over axes (r, z, hoop), as places in the flattened 3 by 3."""


@dataclass(frozen=True, kw_only=True, eq=False)
class StripMesh:
    """A meshed strip. Nodes are numbered along s, across the thickness first, so that a matrix over them has a narrow band.

    r, z (nodes,) places (m); elements (n, k) nodes of each; gradient (n, q, 5, 2k) from an element's displacements
    (r and z of each node in turn) to the `AXISYMMETRIC` components; weight (n, q) volume of a quadrature point over the
    whole turn (m³); shape (n, q, k) values of the shape functions; at_s, at_t (n, q) and at_r, at_z (n, q) places of the points;
    cuts, layers, order as they were meshed; across nodes in a row through the thickness.
    """

    r: FloatArray
    z: FloatArray
    elements: IntArray
    gradient: FloatArray
    weight: FloatArray
    shape: FloatArray
    slope: FloatArray
    at_s: FloatArray
    at_t: FloatArray
    at_r: FloatArray
    at_z: FloatArray
    across: int
    order: int
    cuts: FloatArray
    layers: int

    @property
    def inner(self) -> IntArray:
        """Nodes of the inner edge."""
        return np.arange(self.across)

    @property
    def outer(self) -> IntArray:
        """Nodes of the outer edge."""
        return np.arange(len(self.r) - self.across, len(self.r))


@dataclass(frozen=True, kw_only=True, eq=False)
class Sample:
    """Places in every element of a strip: shape (q, k), slope (n, q, 2, k) by r and z, gradient (n, q, 5, 2k); area (n, q) of the
    half-section per unit square of each element; at_s, at_t, at_r, at_z (n, q).
    """

    shape: FloatArray
    slope: FloatArray
    gradient: FloatArray
    area: FloatArray
    at_s: FloatArray
    at_t: FloatArray
    at_r: FloatArray
    at_z: FloatArray


def mesh_strip(profile: Profile, cuts: FloatArray, order: int = 4, layers: int = 1) -> StripMesh:
    """Mesh a profile with element boundaries at `cuts` (rising, from 0 to 1) along s, `layers` of elements across."""
    local = basis.nodes(order)
    s_nodes = _joined(cuts, local)
    t_nodes = _joined(np.linspace(-0.5, 0.5, layers + 1), local)
    across = len(t_nodes)
    r, z, *_ = place(profile, np.repeat(s_nodes, across), np.tile(t_nodes, len(s_nodes)))
    elements = _elements(len(cuts) - 1, layers, order, across)
    points, weights = basis.gauss(order + 1)
    at = sample_strip(profile, cuts, points, points, order=order, layers=layers)
    return StripMesh(
        r=r, z=z, elements=elements, gradient=at.gradient,
        weight=np.outer(weights, weights).ravel() * at.area * 2 * np.pi * at.at_r,
        shape=np.broadcast_to(at.shape, (len(elements), *at.shape.shape)), slope=at.slope,
        at_s=at.at_s, at_t=at.at_t, at_r=at.at_r, at_z=at.at_z, across=across, order=order,
        cuts=cuts, layers=layers,
    )  # fmt: skip


def sample_strip(
    profile: Profile, cuts: FloatArray, along: FloatArray, across: FloatArray, *, order: int, layers: int = 1
) -> Sample:
    """What is needed of the shape functions at local places `along` x `across` (each 0 to 1) of every element, across first."""
    values_s, slopes_s = basis.values(order, along)
    values_t, slopes_t = basis.values(order, across)
    count = len(along) * len(across)
    shape = np.einsum("qa,pb->qpab", values_s, values_t).reshape(count, -1)
    by_s = np.einsum("qa,pb->qpab", slopes_s, values_t).reshape(count, -1)
    by_t = np.einsum("qa,pb->qpab", values_s, slopes_t).reshape(count, -1)
    size_s = np.repeat(np.diff(cuts), layers)[:, None]
    first_t = np.tile(np.linspace(-0.5, 0.5, layers + 1)[:-1], len(cuts) - 1)
    at_s = np.repeat(cuts[:-1], layers)[:, None] + size_s * np.repeat(along, len(across))
    at_t = first_t[:, None] + np.tile(across, len(along)) / layers
    at_r, at_z, rs, rt, zs, zt = place(profile, at_s, at_t)
    area = rs * zt - rt * zs
    local_s, local_t = by_s / size_s[..., None], by_t[None] * layers
    by_r = (zt / area)[..., None] * local_s - (zs / area)[..., None] * local_t
    by_z = -(rt / area)[..., None] * local_s + (rs / area)[..., None] * local_t
    gradient = np.zeros((*by_r.shape[:2], 5, 2 * by_r.shape[2]))
    gradient[:, :, 0, 0::2] = gradient[:, :, 2, 1::2] = by_r
    gradient[:, :, 1, 0::2] = gradient[:, :, 3, 1::2] = by_z
    gradient[:, :, 4, 0::2] = shape / at_r[..., None]
    return Sample(
        shape=shape, slope=np.stack([by_r, by_z], axis=2), gradient=gradient,
        area=np.abs(area) * size_s / layers, at_s=at_s, at_t=at_t, at_r=at_r, at_z=at_z,
    )  # fmt: skip


def place(profile: Profile, s: FloatArray, t: FloatArray) -> tuple[FloatArray, ...]:
    """r, z, dr/ds, dr/dt, dz/ds, dz/dt of points of a strip; the thickness is laid off along the middle line's normal."""
    line = profile.curve(s)
    h, h1 = profile.thickness(s)
    length = np.hypot(line.r1, line.z1)
    normal_r, normal_z = -line.z1 / length, line.r1 / length
    bend = (line.r1 * line.z2 - line.z1 * line.r2) / length**3
    stretch = 1 - h * t * bend
    return (
        line.r + h * t * normal_r,
        line.z + h * t * normal_z,
        stretch * line.r1 + h1 * t * normal_r,
        h * normal_r,
        stretch * line.z1 + h1 * t * normal_z,
        h * normal_z,
    )


def _joined(cuts: FloatArray, local: FloatArray) -> FloatArray:
    inside = cuts[:-1, None] + np.diff(cuts)[:, None] * local[None, :-1]
    return np.append(inside.ravel(), cuts[-1])


def _elements(along: int, layers: int, order: int, across: int) -> IntArray:
    first_s, first_t = np.repeat(np.arange(along), layers) * order, np.tile(np.arange(layers), along) * order
    a, b = np.repeat(np.arange(order + 1), order + 1), np.tile(np.arange(order + 1), order + 1)
    return np.asarray((first_s[:, None] + a) * across + first_t[:, None] + b)
