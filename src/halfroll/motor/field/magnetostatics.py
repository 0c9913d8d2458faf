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

from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.motor.field.cutting import not_solved
from halfroll.motor.field.discrete import Problem
from halfroll.motor.field.discrete import flux_density_of as flux_density_of
from halfroll.motor.field.mesh import MotorMesh
from halfroll.motor.types import Winding

ORDER = 3
_MOST_STEPS = 60
_CONVERGED = 1e-10
_ROUGHLY = 1e-6
"""Share of the energy that Newton's next step may still promise: of the result, and of the first approximation."""
_SMALLEST_STEP = 2.0**-20


_AXIS = 1e-9
"""Field strengths on the axis, where A/r is 0/0, are taken this far off it, relative to the far boundary."""


@dataclass(frozen=True, eq=False)
class StaticField:
    """The potential A over a mesh (an ``ngsolve.GridFunction``), its energy (J) and how it was found. Not to be pickled."""

    motor: MotorMesh
    potential: Any
    energy_j: float
    steps: int
    current_a: float = 0.0
    problem: Problem | None = None
    """What was solved, kept for another current on the same mesh."""

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
    known = None if start is None else _values(start.potential)
    if known is None:
        rough = ng.H1(motor.mesh, order=1, dirichlet="axis")
        coarse = Problem(motor, rough, 2, current_a, temperature_c)
        known, _, _ = _newton(coarse, np.zeros(rough.ndof), _ROUGHLY, part(progress, 0.0, 0.3))
    problem = _problem(motor, current_a, temperature_c, start)
    space = problem.space
    first = np.zeros(space.ndof)
    first[: len(known)] = known
    a, steps, energy = _newton(problem, first, _CONVERGED, part(progress, 0.3, 1.0))
    potential = ng.GridFunction(space)
    potential.vec.FV().NumPy()[:] = a
    return StaticField(motor, potential, energy, steps, current_a, problem)


def _problem(
    motor: MotorMesh, current_a: float, temperature_c: float | None, start: StaticField | None
) -> Problem:
    """The discrete problem: that of the start, if it is of the same motor on the same mesh, or a new one."""
    import ngsolve as ng

    kept = None if start is None or start.motor is not motor else start.problem
    if kept is not None and kept.temperature_c == temperature_c:
        kept.take_current(current_a)
        return kept
    return Problem(motor, ng.H1(motor.mesh, order=ORDER, dirichlet="axis"), ORDER, current_a, temperature_c)


def _values(potential: Any) -> FloatArray:
    return np.array(potential.vec.FV().NumPy())


def _newton(
    problem: Problem, a: FloatArray, converged: float, progress: Progress
) -> tuple[FloatArray, int, float]:
    """Newton's steps until the energy no longer falls: unknowns, number of steps and energy (J)."""
    energy = problem.energy(a)
    for step in range(1, _MOST_STEPS + 1):
        progress(min(0.95, step / 12), f"field, step {step}")
        residual = problem.residual(a)
        move = problem.step(a, residual)
        promised = -float(move @ residual)
        share, before = 1.0, energy
        while True:
            energy = problem.energy(a + share * move)
            if energy <= before - 1e-4 * share * promised + 1e-14 * abs(before):
                break
            share /= 2.0
            if not share > _SMALLEST_STEP:
                raise not_solved("The field of the motor was not found: no step makes its energy smaller")
        a = a + share * move
        if promised < converged * max(abs(energy), 1e-12):
            return a, step, energy
    raise not_solved(f"The field of the motor was not found in {_MOST_STEPS} steps")
