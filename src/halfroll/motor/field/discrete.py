"""The field problem of a motor over finite elements, as arrays: energy, residual and tangent matrix, element by element.

NGSolve gives the elements: an operator that makes (B_r, B_z) at the integration points from an element's unknowns. All laws of
matter are then array operations over all points at once, only steel is done again in each of Newton's steps, and the matrix is
factorised by NGSolve's sparse Cholesky with its ordering kept. That is several times faster than having an energy
differentiated as symbols in every step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.materials.steel import MU_0
from halfroll.motor.field.laws import Law, Linear, Steel, laws_of
from halfroll.motor.field.mesh import MotorMesh
from halfroll.motor.types import FieldCoil

_TRIANGLE = 10
"""Netgen's number for triangles in its table of elements."""


def flux_density_of(potential: Any) -> Any:
    """(B_r, B_z) of a potential or trial function as NGSolve writes it."""
    import ngsolve as ng

    slope = ng.grad(potential)
    return ng.CF((-slope[1], slope[0] + potential / ng.x))


@dataclass(frozen=True, eq=False)
class Elements:
    """Elements of one shape with n unknowns and q integration points each.

    `unknowns` (e, n) numbers; `operator` (e, 2q, n): all B_r, then all B_z at an element's points from its unknowns;
    `weight` (e, q): 2 pi r times area, so that a sum is an integral over the volume; `region` (e,) index of the material.
    """

    unknowns: FloatArray
    operator: FloatArray
    weight: FloatArray
    region: FloatArray

    def chosen(self, which: NDArray[np.bool_]) -> Elements:
        """Some of them."""
        return Elements(self.unknowns[which], self.operator[which], self.weight[which], self.region[which])

    def flux_density(self, a: FloatArray) -> FloatArray:
        """(e, q, 2) in T from all unknowns."""
        both = np.matmul(self.operator, a[self.unknowns][:, :, None])[..., 0]
        return np.stack(np.split(both, 2, axis=1), axis=-1)

    def forces(self, h: FloatArray) -> FloatArray:
        """(e, n): derivative of the energy by each element's unknowns, from field strengths (e, q, 2)."""
        load = np.concatenate([self.weight * h[..., 0], self.weight * h[..., 1]], axis=1)
        return np.asarray(np.matmul(load[:, None, :], self.operator)[:, 0])

    def stiffness(self, rr: FloatArray, rz: FloatArray, zz: FloatArray) -> FloatArray:
        """(e, n, n): second derivative, from the symmetric tangent dH/dB (e, q) in its three components."""
        q = self.weight.shape[1]
        on_r, on_z = self.operator[:, :q], self.operator[:, q:]
        w_rr, w_rz, w_zz = ((self.weight * part)[..., None] for part in (rr, rz, zz))
        loaded = np.concatenate([w_rr * on_r + w_rz * on_z, w_rz * on_r + w_zz * on_z], axis=1)
        return np.asarray(np.matmul(self.operator.transpose(0, 2, 1), loaded))


def elements_of(motor: MotorMesh, space: Any, order: int) -> tuple[Elements, ...]:
    """The elements of a space over a motor's mesh, one entry for triangles and one for quadrilaterals where there are any."""
    import ngsolve as ng
    from ngsolve.comp import IntegrationRuleSpace

    points = IntegrationRuleSpace(motor.mesh, order=order)
    rules = points.GetIntegrationRules()
    at, b = points.TestFunction(), flux_density_of(space.TrialFunction())
    operators = []
    for component in b:
        form = ng.BilinearForm(trialspace=space, testspace=points)
        form += component * at * ng.dx(intrules=rules)
        values, columns, starts = form.Assemble().mat.CSR()
        operators.append((np.array(values), np.array(columns, dtype=int), np.array(starts, dtype=int)))
    area, volume = (_loads(points, rules, part) for part in (ng.CF(1.0), 2.0 * math.pi * ng.x))
    table = motor.mesh.ngmesh.Elements2D().NumPy()
    shapes, index = np.where(table["type"] == _TRIANGLE, 0, 1), table["index"]
    sizes = np.asarray([len(rules[ng.TRIG]), len(rules[ng.QUAD])])[shapes]
    first = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    return tuple(
        _group(
            operators,
            area,
            volume,
            first[shapes == shape],
            int(sizes[shapes == shape][0]),
            index[shapes == shape] - 1,
        )
        for shape in np.unique(shapes)
    )


def _loads(points: Any, rules: Any, density: Any) -> FloatArray:
    """Integral of a density over the part of the plane that each integration point stands for."""
    import ngsolve as ng

    form = ng.LinearForm(points)
    form += density * points.TestFunction() * ng.dx(intrules=rules)
    return np.array(form.Assemble().vec.FV().NumPy())


def _group(
    operators: Any, area: FloatArray, volume: FloatArray, first: FloatArray, points: int, region: FloatArray
) -> Elements:
    """Elements of one shape, with their first integration point each; rows of the operators are points times area."""
    rows = first[:, None] + np.arange(points)
    parts = []
    for values, columns, starts in operators:
        entries = starts[rows][..., None] + np.arange(starts[rows[0, 0] + 1] - starts[rows[0, 0]])
        parts.append(values[entries] / area[rows][..., None])
        unknowns = columns[entries[:, 0]]
    return Elements(unknowns, np.concatenate(parts, axis=1), volume[rows], np.array(region, dtype=int))


class Problem:
    """Energy, residual and tangent of one motor over one space.

    W(A) = integral of w(B) dV - load . A, where w is the integral of H dB in steel and (B - Br)^2/(2 mu0 mu_rec) elsewhere.
    """

    def __init__(
        self, motor: MotorMesh, space: Any, order: int, current_a: float, temperature_c: float | None
    ) -> None:
        laws = laws_of(motor, temperature_c)
        groups = elements_of(motor, space, order)
        self.space, self.temperature_c = space, temperature_c
        self._motor = motor
        self.take_current(current_a)
        self._free = space.FreeDofs()
        self._fixed = ~np.array(self._free, dtype=bool)
        self._pattern = _Pattern(space)
        self._base = np.zeros(self._pattern.size)
        self._outside = _outside(motor, space)
        self._pattern.add_matrix(self._base, self._outside)
        self._parts: list[tuple[Elements, Law]] = []
        self._steel: list[tuple[Elements, Steel, FloatArray]] = []
        for group in groups:
            for law in dict.fromkeys(laws):
                regions = [i for i, other in enumerate(laws) if other is law]
                self._take(group.chosen(np.isin(group.region, regions)), law)
        self._inverse: Any = None

    def take_current(self, current_a: float) -> None:
        """Let another current flow in the moving coil from now on (A)."""
        self._load = _current_load(self._motor, self.space, current_a)

    def _take(self, elements: Elements, law: Law) -> None:
        if not len(elements.region):
            return
        self._parts.append((elements, law))
        places = self._pattern.places(elements.unknowns)
        if isinstance(law, Linear):
            flat = np.full(elements.weight.shape, law.nu)
            self._pattern.add(self._base, places, elements.stiffness(flat, 0.0 * flat, flat))
        else:
            self._steel.append((elements, law, places))

    def energy(self, a: FloatArray) -> float:
        """W (J)."""
        total = float((0.5 * (self._outside @ a) - self._load) @ a)
        for elements, law in self._parts:
            total += float((elements.weight * law.density(elements.flux_density(a))).sum())
        return total

    def residual(self, a: FloatArray) -> FloatArray:
        """dW/dA; zero where A is fixed."""
        out: FloatArray = np.asarray(self._outside @ a) - self._load
        for elements, law in self._parts:
            forces = elements.forces(law.field(elements.flux_density(a)))
            out += np.bincount(elements.unknowns.ravel(), forces.ravel(), len(a))
        out[self._fixed] = 0.0
        return out

    def step(self, a: FloatArray, residual: FloatArray) -> FloatArray:
        """Newton's step from A, minus tangent matrix to the -1 times residual."""
        values = self._base.copy()
        for elements, law, places in self._steel:
            self._pattern.add(values, places, elements.stiffness(*law.tangent(elements.flux_density(a))))
        self._pattern.values[:] = values
        if self._inverse is None:
            self._inverse = self._pattern.matrix.Inverse(self._free, inverse="sparsecholesky")
        else:
            self._inverse.Update()
        right = self._pattern.matrix.CreateColVector()
        right.FV().NumPy()[:] = residual
        return -np.array((self._inverse * right).Evaluate().FV().NumPy())


class _Pattern:
    """NGSolve's matrix of a space (its lower half), and where the entries of elements lie in it."""

    def __init__(self, space: Any) -> None:
        import ngsolve as ng

        a, b = space.TnT()
        form = ng.BilinearForm(space, symmetric=True)
        middle = {
            ng.TRIG: ng.IntegrationRule([(1 / 3, 1 / 3)], [0.5]),
            ng.QUAD: ng.IntegrationRule([(0.5, 0.5)], [1.0]),
        }
        form += a * b * ng.dx(intrules=middle)
        self._form = form.Assemble()
        self.matrix = self._form.mat
        self.values = self.matrix.AsVector().FV().NumPy()
        self.size = len(self.values)
        _, columns, starts = (np.array(part, dtype=int) for part in self.matrix.CSR())
        self._unknowns = space.ndof
        rows = np.repeat(np.arange(space.ndof), np.diff(starts))
        self._keys = rows.astype(np.int64) * space.ndof + columns

    def places(self, unknowns: FloatArray) -> FloatArray:
        """Positions (e, n, n) of elements' entries; -1 above the diagonal."""
        row, column = unknowns[:, :, None].astype(np.int64), unknowns[:, None, :]
        keys = np.where(row >= column, row * self._unknowns + column, -1)
        return np.where(keys < 0, -1, np.searchsorted(self._keys, keys))

    def add_matrix(self, values: FloatArray, matrix: Any) -> None:
        """Add a sparse matrix whose entries all lie in the pattern."""
        entries = matrix.tocoo()
        lower = entries.row >= entries.col
        keys = entries.row[lower].astype(np.int64) * self._unknowns + entries.col[lower]
        np.add.at(values, np.searchsorted(self._keys, keys), entries.data[lower])

    def add(self, values: FloatArray, places: FloatArray, entries: FloatArray) -> None:
        """Add elements' matrices (e, n, n) to the matrix's values."""
        lower = places >= 0
        values += np.bincount(places[lower], entries[lower], self.size)


def _outside(motor: MotorMesh, space: Any) -> Any:
    """Second derivative of the energy beyond the far boundary, a SciPy matrix (unknowns, unknowns).

    There the field is a dipole's, A ~ sin(theta)/R^2, with the field strength A/(mu0 R) along the sphere of radius R, so the
    energy beyond is the integral of A^2/(2 mu0 R) over it: exact for a dipole. Of a quadrupole a quarter comes back, and that falls
    with the fifth power of the distance. With A = 0 instead, the boundary would press the field back as a superconductor does.
    """
    import ngsolve as ng
    from scipy.sparse import csr_matrix

    a, b = space.TnT()
    form = ng.BilinearForm(space)
    form += (2.0 * math.pi / (MU_0 * motor.far_m)) * ng.x * a * b * ng.ds("far")
    values, columns, starts = form.Assemble().mat.CSR()
    return csr_matrix((np.array(values), np.array(columns), np.array(starts)), shape=(space.ndof, space.ndof))


def _current_load(motor: MotorMesh, space: Any, current_a: float) -> FloatArray:
    """Integral of J times the test functions: field coils, and the winding when it carries a current."""
    import ngsolve as ng

    currents = {
        f"body{i}": body.matter.turns * body.matter.current_a
        for i, body in enumerate(motor.assembly.bodies)
        if isinstance(body.matter, FieldCoil)
    }
    if current_a and motor.assembly.winding is not None:
        currents["winding"] = motor.assembly.winding.turns * current_a
    form = ng.LinearForm(space)
    for region, turns_a in currents.items():
        area = ng.Integrate(ng.CF(1.0), motor.mesh, definedon=motor.mesh.Materials(region))
        form += (2.0 * math.pi * turns_a / area) * ng.x * space.TestFunction() * ng.dx(region)
    return np.array(form.Assemble().vec.FV().NumPy())
