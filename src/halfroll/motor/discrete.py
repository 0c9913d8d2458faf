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

from halfroll.core.levels import FloatArray
from halfroll.materials.steel import MU_0, Curve, curve
from halfroll.motor.mesh import MotorMesh
from halfroll.motor.types import FieldCoil, Magnet, SoftSteel

_NO_FIELD_T = 1e-9


def flux_density_of(potential: Any) -> Any:
    """(B_r, B_z) of a potential or trial function as NGSolve writes it."""
    import ngsolve as ng

    slope = ng.grad(potential)
    return ng.CF((-slope[1], slope[0] + potential / ng.x))


@dataclass(frozen=True, eq=False)
class Linear:
    """H = nu (B - Br): air, and magnets above their knee."""

    nu: float
    br: tuple[float, float] = (0.0, 0.0)

    def density(self, b: FloatArray) -> FloatArray:
        """Energy density (J/m³)."""
        return np.asarray(0.5 * self.nu * ((b[..., 0] - self.br[0]) ** 2 + (b[..., 1] - self.br[1]) ** 2))

    def field(self, b: FloatArray) -> FloatArray:
        """Field strength (A/m), shape of `b`."""
        return np.asarray(self.nu * (b - np.asarray(self.br)))


@dataclass(frozen=True, eq=False)
class Steel:
    """H along B, as the curve says: densities, fields and tangents for flux densities (e, q, 2)."""

    law: Curve

    def density(self, b: FloatArray) -> FloatArray:
        """Energy density (J/m³), the integral of H dB."""
        return self.law.energy(np.hypot(b[..., 0], b[..., 1]))

    def field(self, b: FloatArray) -> FloatArray:
        """Field strength (A/m), shape of `b`."""
        return np.asarray(self._reluctivity(np.hypot(b[..., 0], b[..., 1]))[..., None] * b)

    def tangent(self, b: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """dH/dB as (rr, rz, zz): its slope along B, H/B across."""
        size = np.hypot(b[..., 0], b[..., 1])
        across, along = self._reluctivity(size), self.law.slope(size)
        r, z = (b[..., k] / np.maximum(size, _NO_FIELD_T) for k in range(2))
        more = along - across
        return across + more * r * r, more * r * z, across + more * z * z

    def _reluctivity(self, size: FloatArray) -> FloatArray:
        small = size < _NO_FIELD_T
        return np.where(small, self.law.slope(0.0 * size), self.law.h(size) / np.where(small, 1.0, size))


Law = Linear | Steel


@dataclass(frozen=True, eq=False)
class Elements:
    """Triangles with n unknowns and q integration points each.

    `unknowns` (e, n) numbers; `operator` (e, 2q, n): all B_r, then all B_z at an element's points from its unknowns;
    `weight` (e, q): 2 pi r times area, so that a sum is an integral over the volume; `region` (e,) index of the material.
    """

    unknowns: FloatArray
    operator: FloatArray
    weight: FloatArray
    region: FloatArray

    def chosen(self, which: FloatArray) -> Elements:
        """Some of them."""
        return Elements(self.unknowns[which], self.operator[which], self.weight[which], self.region[which])

    def flux_density(self, a: FloatArray) -> FloatArray:
        """(e, q, 2) in T from all unknowns."""
        both = np.matmul(self.operator, a[self.unknowns][:, :, None])[..., 0]
        return np.stack(np.split(both, 2, axis=1), axis=-1)

    def forces(self, h: FloatArray) -> FloatArray:
        """(e, n): derivative of the energy by each element's unknowns, from field strengths (e, q, 2)."""
        load = np.concatenate([self.weight * h[..., 0], self.weight * h[..., 1]], axis=1)
        return np.matmul(load[:, None, :], self.operator)[:, 0]

    def stiffness(self, rr: FloatArray, rz: FloatArray, zz: FloatArray) -> FloatArray:
        """(e, n, n): second derivative, from the symmetric tangent dH/dB (e, q) in its three components."""
        q = self.weight.shape[1]
        on_r, on_z = self.operator[:, :q], self.operator[:, q:]
        w_rr, w_rz, w_zz = ((self.weight * part)[..., None] for part in (rr, rz, zz))
        loaded = np.concatenate([w_rr * on_r + w_rz * on_z, w_rz * on_r + w_zz * on_z], axis=1)
        return np.matmul(self.operator.transpose(0, 2, 1), loaded)


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
        values, columns, starts = (part.NumPy() for part in form.Assemble().mat.CSR())
        operators.append((np.array(values), np.array(columns), np.array(starts)))
    area, volume = (_loads(points, rules, part) for part in (ng.CF(1.0), 2.0 * math.pi * ng.x))
    shapes = np.asarray([int(element.type == ng.QUAD) for element in motor.mesh.Elements(ng.VOL)])
    index = np.asarray([element.index for element in motor.mesh.Elements(ng.VOL)])
    sizes = np.asarray([len(rules[ng.TRIG]), len(rules[ng.QUAD])])[shapes]
    first = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    return tuple(
        _group(operators, area, volume, first[shapes == shape], int(sizes[shapes == shape][0]), index[shapes == shape])
        for shape in np.unique(shapes)
    )


def _loads(points: Any, rules: Any, density: Any) -> FloatArray:
    """Integral of a density over the part of the plane that each integration point stands for."""
    import ngsolve as ng

    form = ng.LinearForm(points)
    form += density * points.TestFunction() * ng.dx(intrules=rules)
    return np.array(form.Assemble().vec.FV().NumPy())


def _group(operators: Any, area: FloatArray, volume: FloatArray, first: FloatArray, points: int, region: FloatArray) -> Elements:
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
        laws = _laws(motor, temperature_c)
        groups = elements_of(motor, space, order)
        self._load = _current_load(motor, space, current_a)
        self._free = space.FreeDofs()
        self._fixed = ~np.array(self._free, dtype=bool)
        self._pattern = _Pattern(space)
        self._base = np.zeros(self._pattern.size)
        self._parts: list[tuple[Elements, Law]] = []
        self._steel: list[tuple[Elements, Steel, FloatArray]] = []
        for group in groups:
            for law in set(laws):
                regions = [i for i, other in enumerate(laws) if other is law]
                self._take(group.chosen(np.isin(group.region, regions)), law)
        self._inverse: Any = None

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
        total = -float(self._load @ a)
        for elements, law in self._parts:
            total += float((elements.weight * law.density(elements.flux_density(a))).sum())
        return total

    def residual(self, a: FloatArray) -> FloatArray:
        """dW/dA; zero where A is fixed."""
        out = -self._load
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
        middle = {ng.TRIG: ng.IntegrationRule([(1 / 3, 1 / 3)], [0.5]), ng.QUAD: ng.IntegrationRule([(0.5, 0.5)], [1.0])}
        form += a * b * ng.dx(intrules=middle)
        self._form = form.Assemble()
        self.matrix = self._form.mat
        self.values = self.matrix.AsVector().FV().NumPy()
        self.size = len(self.values)
        _, columns, starts = (np.array(part.NumPy()) for part in self.matrix.CSR())
        self._unknowns = space.ndof
        rows = np.repeat(np.arange(space.ndof), np.diff(starts))
        self._keys = rows.astype(np.int64) * space.ndof + columns

    def places(self, unknowns: FloatArray) -> FloatArray:
        """Positions (e, n, n) of elements' entries; -1 above the diagonal."""
        row, column = unknowns[:, :, None].astype(np.int64), unknowns[:, None, :]
        keys = np.where(row >= column, row * self._unknowns + column, -1)
        return np.where(keys < 0, -1, np.searchsorted(self._keys, keys))

    def add(self, values: FloatArray, places: FloatArray, entries: FloatArray) -> None:
        """Add elements' matrices (e, n, n) to the matrix's values."""
        lower = places >= 0
        values += np.bincount(places[lower], entries[lower], self.size)


def _laws(motor: MotorMesh, temperature_c: float | None) -> list[Law]:
    """The law of every region of the mesh, one object for all of a kind."""
    air = Linear(1.0 / MU_0)
    found: dict[str, Law] = {}
    for i, body in enumerate(motor.assembly.bodies):
        matter = body.matter
        if isinstance(matter, SoftSteel):
            found[f"body{i}"] = Steel(curve(matter.steel))
        elif isinstance(matter, Magnet):
            temperature = matter.temperature_c if temperature_c is None else temperature_c
            br = matter.grade.br_at(temperature) * np.asarray(matter.direction) / math.hypot(*matter.direction)
            found[f"body{i}"] = Linear(1.0 / (MU_0 * matter.grade.mu_rec), (float(br[0]), float(br[1])))
    return [found.get(name, air) for name in motor.mesh.GetMaterials()]


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
