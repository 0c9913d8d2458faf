"""The static field of a motor: nonlinear magnetostatics in the half plane by finite elements.

The unknown is the azimuthal component A of the vector potential. Its field

    B_r = -dA/dz,   B_z = dA/dr + A/r

makes the energy

    W(A) = integral 2 pi r [ w(B) - J A ] dr dz,   w = integral of H(B) dB in steel,  (B - Br)^2 / (2 mu0 mu_rec) in magnets

smallest (Coulomb, "A methodology for the determination of global electromechanical quantities from a finite element
analysis", IEEE Trans. Magn. 19, 2514, 1983, for energy and force). Newton's method with a line search on W finds it: w is
convex, so there is one field only. Elements of third order; NGSolve (J. Schoeberl) differentiates the energy.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.errors import HalfrollError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.materials.steel import MU_0, curve
from halfroll.motor.mesh import MotorMesh
from halfroll.motor.types import FieldCoil, Magnet, SoftSteel, Winding

ORDER = 3
_MOST_STEPS = 60
_CONVERGED = 1e-10
_SMALLEST_STEP = 2.0**-20
_NO_FIELD_T2 = 1e-14
"""Keeps the root of B squared differentiable where there is no field (T²)."""


_AXIS = 1e-9
"""Field strengths on the axis, where A/r is 0/0, are taken this far off it, relative to the far boundary."""


class SolverError(HalfrollError):
    """The field was not found: a fault of ours, not of the motor."""


@dataclass(frozen=True, eq=False)
class StaticField:
    """The potential A over a mesh (an ``ngsolve.GridFunction``), its energy (J) and how it was found. Not to be pickled."""

    motor: MotorMesh
    potential: Any
    energy_j: float
    steps: int
    current_a: float = 0.0

    @property
    def unknowns(self) -> int:
        """Number of unknowns."""
        return int(self.potential.space.ndof)

    def flux(self, r_m: FloatArray, z_m: FloatArray) -> FloatArray:
        """Flux through the circles of radius `r_m` at height `z_m`, 2 pi r A (Wb); same shape as the inputs."""
        r, z = np.broadcast_arrays(np.asarray(r_m, dtype=float), np.asarray(z_m, dtype=float))
        a = np.asarray(self.potential(self.motor.mesh(r.ravel(), z.ravel()))).reshape(r.shape)
        return np.asarray(2.0 * np.pi * r * a)

    def flux_density(self, r_m: FloatArray, z_m: FloatArray) -> FloatArray:
        """(B_r, B_z) in T at points; shape of the inputs with a last axis of 2."""
        r, z = np.broadcast_arrays(np.asarray(r_m, dtype=float), np.asarray(z_m, dtype=float))
        r = np.maximum(r, _AXIS * self.motor.far_m)
        b = np.asarray(flux_density_of(self.potential)(self.motor.mesh(r.ravel(), z.ravel())))
        return b.reshape((*r.shape, 2))

    def force_factor(self, winding: Winding, x_m: FloatArray) -> FloatArray:
        """Bl (T m) of a winding at displacements `x_m` (n,): 2 pi N/S times the integral of r B_r over its section.

        Over the height B_r = -dA/dz integrates exactly, so only the fluxes at the two ends remain.
        """
        x = np.asarray(x_m, dtype=float)
        node, weight = np.polynomial.legendre.leggauss(8)
        width = winding.r_outer - winding.r_inner
        r = winding.r_inner + 0.5 * width * (node + 1.0)
        low = self.flux(r[None, :], (winding.z_low + x)[:, None])
        high = self.flux(r[None, :], (winding.z_high + x)[:, None])
        return np.asarray(winding.turns / winding.height_m * ((low - high) @ (0.5 * weight)))


def flux_density_of(potential: Any) -> Any:
    """(B_r, B_z) of a potential or trial function as NGSolve writes it."""
    import ngsolve as ng

    slope = ng.grad(potential)
    return ng.CF((-slope[1], slope[0] + potential / ng.x))


def solve(
    motor: MotorMesh,
    *,
    current_a: float = 0.0,
    start: StaticField | None = None,
    temperature_c: float | None = None,
    progress: Progress = silent,
) -> StaticField:
    """Find the static field of a motor.

    Parameters
    ----------
    motor
        The mesh; with `current_a` not zero its winding must be cut out.
    current_a
        Current of the moving coil (A).
    start
        A field on the same mesh to start from.
    temperature_c
        Temperature of all magnets (°C) instead of their own.

    Raises
    ------
    SolverError
        When Newton's method does not come to rest.
    """
    import ngsolve as ng

    ng.SetNumThreads(1)
    space = ng.H1(motor.mesh, order=ORDER, dirichlet="axis")
    energy = _energy(motor, space, current_a, temperature_c)
    potential = ng.GridFunction(space)
    if start is not None:
        potential.vec.data = start.potential.vec
    steps, total = _newton(energy, potential, space, progress)
    return StaticField(motor, potential, total, steps, current_a)


def _energy(motor: MotorMesh, space: Any, current_a: float, temperature_c: float | None) -> Any:
    """The energy W(A) as a form that NGSolve differentiates."""
    import ngsolve as ng

    a = space.TrialFunction()
    b = flux_density_of(a)
    round_ = 2.0 * math.pi * ng.x
    linear = "air|gap|winding"
    form = ng.BilinearForm(space, symmetric=True)
    for i, body in enumerate(motor.assembly.bodies):
        region, matter = ng.dx(f"body{i}"), body.matter
        if isinstance(matter, SoftSteel):
            law = curve(matter.steel)
            density = ng.BSpline(2, [0.0, *law.b_t], list(law.h_a_m)).Integrate()
            form += ng.Variation((density(ng.sqrt(b * b + _NO_FIELD_T2)) * round_).Compile() * region)
        elif isinstance(matter, Magnet):
            grade = matter.grade
            br = grade.br_at(matter.temperature_c if temperature_c is None else temperature_c)
            size = math.hypot(*matter.direction)
            br_r, br_z = (br * part / size for part in matter.direction)
            rest = b - ng.CF((br_r, br_z))
            form += ng.Variation((0.5 / (MU_0 * grade.mu_rec) * (rest * rest) * round_).Compile() * region)
        else:
            linear += f"|body{i}"
            if isinstance(matter, FieldCoil):
                density_a_m2 = matter.turns * matter.current_a / _area(motor, f"body{i}")
                form += ng.Variation((-density_a_m2 * a * round_).Compile() * region)
    form += ng.Variation((0.5 / MU_0 * (b * b) * round_).Compile() * ng.dx(linear))
    # A dipole's field goes on for ever beyond the far sphere: its energy out there is that of A^2 / R on the sphere.
    form += ng.Variation((0.5 / (MU_0 * motor.far_m) * a * a * round_).Compile() * ng.ds("far"))
    if current_a and motor.assembly.winding is not None:
        density_a_m2 = motor.assembly.winding.turns * current_a / _area(motor, "winding")
        form += ng.Variation((-density_a_m2 * a * round_).Compile() * ng.dx("winding"))
    return form


def _area(motor: MotorMesh, region: str) -> float:
    import ngsolve as ng

    return float(ng.Integrate(ng.CF(1.0), motor.mesh, definedon=motor.mesh.Materials(region)))


def _newton(form: Any, potential: Any, space: Any, progress: Progress) -> tuple[int, float]:
    """Newton's steps until the energy no longer falls: number of steps and energy (J)."""
    vector = potential.vec
    residual, old = vector.CreateVector(), vector.CreateVector()
    energy = form.Energy(vector)
    for step in range(1, _MOST_STEPS + 1):
        progress(min(0.95, step / 15), f"field, step {step}")
        form.AssembleLinearization(vector)
        form.Apply(vector, residual)
        inverse = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
        move = (-inverse * residual).Evaluate()
        promised = -move.InnerProduct(residual)
        old.data = vector
        share, before = 1.0, energy
        while True:
            vector.data = old + share * move
            energy = form.Energy(vector)
            if energy <= before - 1e-4 * share * promised + 1e-14 * abs(before):
                break
            share /= 2.0
            if share < _SMALLEST_STEP:
                raise SolverError("The field of the motor was not found: no step makes its energy smaller")
        if promised < _CONVERGED * max(abs(energy), 1e-12):
            return step, float(energy)
    raise SolverError(f"The field of the motor was not found in {_MOST_STEPS} steps")
