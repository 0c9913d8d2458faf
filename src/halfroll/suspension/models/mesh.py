"""A closed surface of triangles, and what is measured on it. Lengths in metres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray

IntArray = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Mesh:
    """Corners (n, 3) in metres, each once, and triangles (m, 3) of them, anticlockwise seen from outside."""

    corners_m: FloatArray
    triangles: IntArray

    @property
    def area_vectors_m2(self) -> FloatArray:
        """Of each triangle (m, 3) half the cross product of its sides: its area, along the outward normal."""
        a, b, c = (self.corners_m[self.triangles[:, k]] for k in range(3))
        return 0.5 * np.cross(b - a, c - a)

    @property
    def volume_m3(self) -> float:
        """The volume inside, by the divergence theorem; negative when the surface is inside out."""
        centre = self.corners_m.mean(axis=0)  # the sum then loses no digits to a far origin
        a, b, c = (self.corners_m[self.triangles[:, k]] - centre for k in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)

    @property
    def low_m(self) -> FloatArray:
        """Least x, y and z."""
        low: FloatArray = self.corners_m.min(axis=0)
        return low

    @property
    def size_m(self) -> FloatArray:
        """Extent in x, y and z."""
        size: FloatArray = self.corners_m.max(axis=0) - self.low_m
        return size

    def moved(self, by_m: FloatArray) -> Mesh:
        """The same, shifted by (x, y, z)."""
        return Mesh(corners_m=self.corners_m + by_m, triangles=self.triangles)

    def upside_down(self) -> Mesh:
        """Turned by half a turn about the x axis: no mirror image, so arms of a spiral run as they did."""
        return Mesh(corners_m=self.corners_m * np.array([1.0, -1.0, -1.0]), triangles=self.triangles)


@dataclass(frozen=True, kw_only=True)
class Faults:
    """What is wrong with a surface: edges with one triangle, edges with more than two, edges along which two triangles face
    opposite ways; and whether it is inside out.
    """

    open_edges: int
    crowded_edges: int
    turned_edges: int
    inside_out: bool

    @property
    def none(self) -> bool:
        """Whether it bounds a body: closed, every edge in two triangles of one sense, outside out."""
        return not (self.open_edges or self.crowded_edges or self.turned_edges or self.inside_out)


def faults_of(mesh: Mesh) -> Faults:
    """Count the faults of a surface on its edges alone, whatever made it.

    In a closed, oriented surface every edge is run through once each way (3MF Core Specification 1.3, section 4.1).
    """
    start = mesh.triangles.ravel()
    end = np.roll(mesh.triangles, -1, axis=1).ravel()
    n = len(mesh.corners_m)
    low, high = np.minimum(start, end), np.maximum(start, end)
    _, place, uses = np.unique(low * n + high, return_inverse=True, return_counts=True)
    ways = np.zeros(len(uses))
    np.add.at(ways, place, np.where(start < end, 1.0, -1.0))
    return Faults(
        open_edges=int(np.sum(uses == 1)), crowded_edges=int(np.sum(uses > 2)),
        turned_edges=int(np.sum((uses == 2) & (ways != 0.0))),
        inside_out=mesh.volume_m3 <= 0.0,
    )  # fmt: skip


def slice_area_m2(mesh: Mesh, z_m: float) -> float:
    """Area cut by the plane at height `z_m`: what a slicer would fill of a layer there.

    Green's theorem over the cuts through the triangles, each with the body on its left.
    """
    z = mesh.corners_m[:, 2][mesh.triangles] - z_m
    z = np.where(z == 0.0, 1e-15, z)  # a corner in the plane counts as above it
    above = z > 0.0
    cut = above.any(axis=1) & ~above.all(axis=1)
    faces, z, above = mesh.triangles[cut], z[cut], above[cut]
    lone_above = above.sum(axis=1) == 1
    lone = np.where(lone_above, np.argmax(above, axis=1), np.argmin(above, axis=1))
    rows = np.arange(len(faces))
    ends = []
    for step in (1, 2):
        other = (lone + step) % 3
        share = z[rows, lone] / (z[rows, lone] - z[rows, other])
        a, b = mesh.corners_m[faces[rows, lone], :2], mesh.corners_m[faces[rows, other], :2]
        ends.append(a + share[:, None] * (b - a))
    first, second = ends
    turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return abs(float(0.5 * np.sum(np.where(lone_above, turn, -turn))))
