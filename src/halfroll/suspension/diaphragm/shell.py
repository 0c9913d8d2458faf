"""Shells of revolution as finite elements on lines of the half-section, moving with symmetry about the axis.

Each node has u_r, u_z and a turn b, positive from the r axis towards the z axis. Across the wall straight fibres stay straight
(Reissner and Mindlin; for shells Naghdi), with plane stress and the shear factor 5/6. With tangent t, normal n, curvature c of the
line and z the place across the wall, a fibre's point moves by u - z b t, so that

    e_s = (t·u' - z b')/(1 - z c)    g = (n·u' - b)/(1 - z c)    e_hoop = (u_r - z b t_r)/(r + z n_r)

integrated across the real wall, no thin-shell terms left out. Polynomials of order 6 on the exact line lock neither in shear nor in
membrane action (I. Babuska and M. Suri, Numerische Mathematik 62, 1992; P. M. Naghdi, "The theory of shells and plates", 1972).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.midline import Profile

IntArray = NDArray[np.int64]

ORDER = 6
ELEMENTS = 5
"""On a line: against 14 of them, resonances up to 20 kHz of cones and domes of the tests change by less than 1e-5."""

SHEAR_FACTOR = 5.0 / 6.0
_ON_AXIS = 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class ShellLine:
    """One line of the half-section and what it is made of.

    `seats` are places s on it where another line, a mass or a spring sits, or where something begins: elements end there.
    """

    name: str
    profile: Profile
    modulus_pa: float
    poisson: float
    density_kg_m3: float
    loss_factor: float = 0.0
    seats: tuple[float, ...] = ()
    elements: int = ELEMENTS


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place on a line: number of the line, s."""

    line: int
    s: float


@dataclass(frozen=True, kw_only=True)
class Joint:
    """A line's place held by another's as if by a rigid arm between them; the holder must not itself be held at that place."""

    held: Spot
    by: Spot


@dataclass(frozen=True, kw_only=True, eq=False)
class LineMesh:
    """A line's elements: boundaries `cuts` and nodes `s` along it, its first node's number, places of nodes (m)."""

    cuts: FloatArray
    s: FloatArray
    first: int
    r: FloatArray
    z: FloatArray

    @property
    def dofs(self) -> IntArray:
        """Degrees of freedom of each element (elements, 3 (order + 1)): u_r, u_z, turn of each node in turn."""
        nodes = self.first + ORDER * np.arange(len(self.cuts) - 1)[:, None] + np.arange(ORDER + 1)
        return np.asarray((3 * nodes[:, :, None] + np.arange(3)).reshape(len(nodes), -1))


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """Gauss points on a stretch of a line: r, z (q,), rows (q, size) of u_r and u_z from the free degrees of freedom, and
    weights: `along` ds times the circle 2 pi r (m²), `up` and `out` that times the normal's z and r components.
    """

    r: FloatArray
    z: FloatArray
    u_r: FloatArray
    u_z: FloatArray
    along: FloatArray
    up: FloatArray
    out: FloatArray


def line_mesh(line: ShellLine, first: int) -> LineMesh:
    """Even elements within each smooth piece, ending at breaks and seats."""
    marks = np.unique(np.round(np.concatenate([line.profile.breaks, line.seats, [0.0, 1.0]]), 9))
    each = np.maximum(1, np.ceil(np.diff(marks) * line.elements - 1e-6)).astype(int)
    cuts = np.concatenate(
        [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(marks, marks[1:], each, strict=False)]
    )
    cuts = np.append(cuts, 1.0)
    s = np.append((cuts[:-1, None] + np.diff(cuts)[:, None] * basis.nodes(ORDER)[:-1]).ravel(), 1.0)
    at = line.profile.curve(s)
    return LineMesh(cuts=cuts, s=s, first=first, r=at.r, z=at.z)


def element_matrices(line: ShellLine, mesh: LineMesh) -> tuple[FloatArray, FloatArray]:
    """Stiffness and mass matrices of a line's elements, each (elements, 3 (order + 1), 3 (order + 1)), over the whole turn."""
    points, weights = basis.gauss(ORDER + 2)
    values, slopes = basis.values(ORDER, points)
    across, across_weights = basis.gauss(3)
    size = np.diff(mesh.cuts)[:, None]
    s = mesh.cuts[:-1, None] + size * points
    at = line.profile.curve(s)
    wall, _ = line.profile.thickness(s)
    length = np.hypot(at.r1, at.z1)
    cos, sin = at.r1 / length, at.z1 / length
    curvature = (at.r1 * at.z2 - at.z1 * at.r2) / length**3
    by_way = slopes[None] / (size * length)[..., None]
    stiffness = np.zeros((len(s), 3 * (ORDER + 1), 3 * (ORDER + 1)))
    mass = np.zeros_like(stiffness)
    law = (
        line.modulus_pa
        / (1 - line.poisson**2)
        * np.array([[1, line.poisson, 0], [line.poisson, 1, 0], [0, 0, 0]])
    )
    law[2, 2] = SHEAR_FACTOR * line.modulus_pa / (2 * (1 + line.poisson))
    for t, share in zip(across - 0.5, across_weights, strict=True):
        depth = t * wall
        stretch, radius = 1 - depth * curvature, at.r - depth * sin
        strain = np.zeros((*s.shape, 3, 3 * (ORDER + 1)))
        strain[..., 0, 0::3] = (cos / stretch)[..., None] * by_way
        strain[..., 0, 1::3] = (sin / stretch)[..., None] * by_way
        strain[..., 0, 2::3] = -(depth / stretch)[..., None] * by_way
        strain[..., 1, 0::3] = values / radius[..., None]
        strain[..., 1, 2::3] = -(depth * cos / radius)[..., None] * values
        strain[..., 2, 0::3] = -(sin / stretch)[..., None] * by_way
        strain[..., 2, 1::3] = (cos / stretch)[..., None] * by_way
        strain[..., 2, 2::3] = -values / stretch[..., None]
        weight = 2 * math.pi * radius * stretch * wall * share * length * size * weights
        stiffness += np.einsum("eqai,ab,eqbj,eq->eij", strain, law, strain, weight, optimize=True)
        moved = np.zeros((*s.shape, 2, 3 * (ORDER + 1)))
        moved[..., 0, 0::3] = moved[..., 1, 1::3] = values
        moved[..., 0, 2::3] = -(depth * cos)[..., None] * values
        moved[..., 1, 2::3] = -(depth * sin)[..., None] * values
        mass += line.density_kg_m3 * np.einsum("eqai,eqaj,eq->eij", moved, moved, weight, optimize=True)
    return stiffness, mass


class Shell:
    """Lines joined to one body: matrices over the degrees of freedom left free.

    `basis` (full_size, size) gives all degrees of freedom of all nodes from the free ones, `kept` (size,) which of all those are.

    Parameters
    ----------
    lines, joints
        Lines, and which place of one is held by which place of another, holders first.
    clamped, held_axially
        Places held in every way, or in u_z alone.
    """

    def __init__(
        self, lines: Sequence[ShellLine], joints: Sequence[Joint] = (), clamped: Sequence[Spot] = (),
        held_axially: Sequence[Spot] = (),
    ) -> None:  # fmt: skip
        self.lines = tuple(lines)
        first = 0
        meshes: list[LineMesh] = []
        for line in self.lines:
            meshes.append(line_mesh(line, first))
            first += len(meshes[-1].s)
        self.meshes = tuple(meshes)
        self.full_size = 3 * first
        self.basis, self.kept = self._free(joints, clamped, held_axially)
        self.size = len(self.kept)
        pairs = [self.gathered(line, mesh) for line, mesh in zip(self.lines, self.meshes, strict=True)]
        self.line_stiffness = tuple(k for k, _ in pairs)
        self.line_mass = tuple(m for _, m in pairs)
        self.extra_stiffness = np.zeros((self.size, self.size))
        self.extra_loss = np.zeros((self.size, self.size))
        self.extra_mass = np.zeros((self.size, self.size))

    @property
    def stiffness(self) -> FloatArray:
        """K (size, size), lossless."""
        return np.asarray(sum(self.line_stiffness) + self.extra_stiffness)

    @property
    def loss(self) -> FloatArray:
        """Imaginary part of K: each line's stiffness times its loss factor."""
        lossy = sum(line.loss_factor * k for line, k in zip(self.lines, self.line_stiffness, strict=True))
        return np.asarray(lossy + self.extra_loss)

    @property
    def mass(self) -> FloatArray:
        """M (size, size)."""
        return np.asarray(sum(self.line_mass) + self.extra_mass)

    def node(self, spot: Spot) -> int:
        """Number of the node at a place: an end of an element."""
        mesh = self.meshes[spot.line]
        return mesh.first + int(np.argmin(np.abs(mesh.s - spot.s)))

    def row(self, spot: Spot, component: int) -> FloatArray:
        """How u_r (0), u_z (1) or the turn (2) at a place follows from the free degrees of freedom (size,)."""
        return np.asarray(self.basis[3 * self.node(spot) + component])

    def add_mass(self, spot: Spot, kg: float) -> None:
        """A ring of mass at a place."""
        for component in (0, 1):
            row = self.row(spot, component)
            self.extra_mass += kg * np.outer(row, row)

    def add_spring(self, spot: Spot, n_per_m: float, loss_factor: float = 0.0) -> None:
        """An axial spring to ground at a place."""
        row = self.row(spot, 1)
        self.extra_stiffness += n_per_m * np.outer(row, row)
        self.extra_loss += loss_factor * n_per_m * np.outer(row, row)

    def surface(self, line: int, low: float = 0.0, high: float = 1.0) -> Surface:
        """Gauss points on the stretch of a line between two of its seats."""
        mesh, profile = self.meshes[line], self.lines[line].profile
        points, weights = basis.gauss(ORDER + 2)
        values, _ = basis.values(ORDER, points)
        chosen = [
            e
            for e in range(len(mesh.cuts) - 1)
            if mesh.cuts[e] > low - 1e-9 and mesh.cuts[e + 1] < high + 1e-9
        ]
        size = np.diff(mesh.cuts)[chosen, None]
        at = profile.curve((mesh.cuts[chosen][:, None] + size * points).ravel())
        rows = self.basis[mesh.dofs[chosen]].reshape(len(chosen), ORDER + 1, 3, self.size)
        moved = np.einsum("qk,ekcs->eqcs", values, rows).reshape(-1, 3, self.size)
        circle = 2 * math.pi * at.r * (size * weights).ravel()
        return Surface(
            r=at.r, z=at.z, u_r=moved[:, 0], u_z=moved[:, 1], along=circle * np.hypot(at.r1, at.z1),
            up=circle * at.r1, out=-circle * at.z1,
        )  # fmt: skip

    def nodal(self, line: int, free: FloatArray) -> FloatArray:
        """Displacement (nodes, 3) of a line's nodes from free degrees of freedom (size,)."""
        mesh = self.meshes[line]
        first = 3 * mesh.first
        return np.asarray((self.basis[first : first + 3 * len(mesh.s)] @ free).reshape(-1, 3))

    def gathered(self, line: ShellLine, mesh: LineMesh) -> tuple[FloatArray, FloatArray]:
        """Stiffness and mass of a line on its mesh, over the free degrees of freedom."""
        first, count = 3 * mesh.first, 3 * len(mesh.s)
        rows = self.basis[first : first + count]
        dofs = mesh.dofs - first
        out = []
        used = np.flatnonzero(rows.any(axis=0))
        for each in element_matrices(line, mesh):
            local = np.zeros((count, count))
            np.add.at(local, (dofs[:, :, None], dofs[:, None, :]), each)
            whole = np.zeros((self.size, self.size))
            whole[np.ix_(used, used)] = rows[:, used].T @ local @ rows[:, used]
            out.append(whole)
        return out[0], out[1]

    def _free(
        self, joints: Sequence[Joint], clamped: Sequence[Spot], axially: Sequence[Spot]
    ) -> tuple[FloatArray, IntArray]:
        """Full degrees of freedom (full_size, size) from the free ones, and which of the full ones those are (size,)."""
        full = np.eye(self.full_size)
        gone: list[int] = []
        for spot in clamped:
            gone.extend(3 * self.node(spot) + np.arange(3))
        gone.extend(3 * self.node(spot) + 1 for spot in axially)
        for mesh in self.meshes:
            on_axis = mesh.first + np.flatnonzero(np.abs(mesh.r) < _ON_AXIS)
            gone.extend(np.concatenate([3 * on_axis, 3 * on_axis + 2]))
        for joint in joints:
            held, by = 3 * self.node(joint.held), 3 * self.node(joint.by)
            arm_r, arm_z = self._arm(joint)
            full[held], full[held + 1], full[held + 2] = (
                full[by] - arm_z * full[by + 2], full[by + 1] + arm_r * full[by + 2], full[by + 2],
            )  # fmt: skip
            gone.extend(range(held, held + 3))
        kept = np.setdiff1d(np.arange(self.full_size), np.asarray(gone, dtype=np.int64))
        return np.asarray(full[:, kept]), kept

    def _arm(self, joint: Joint) -> tuple[float, float]:
        held, by = self.meshes[joint.held.line], self.meshes[joint.by.line]
        a, b = self.node(joint.held) - held.first, self.node(joint.by) - by.first
        return float(held.r[a] - by.r[b]), float(held.z[a] - by.z[b])
