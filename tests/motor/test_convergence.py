"""How fast the field's error falls with the elements' size: as the theory of finite elements promises where the field is
smooth, slower at the corners of a motor (P. Ciarlet, The Finite Element Method for Elliptic Problems, 1978, ch. 3 and 4.4).

Third order: A to the fourth power of the size, B to the third, the energy to the sixth.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from halfroll.materials.steel import MU_0
from halfroll.motor.field.discrete import flux_density_of
from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.field.mesh import MeshSettings, MotorMesh, mesh_of
from halfroll.motor.types import Assembly, Gap
from tests.motor.bodies import ring, up
from tests.motor.eddy_motors import reference

BR_T, RADIUS_M, FAR_M = 1.2, 10e-3, 25e-3


def magnetised_sphere(refined: int) -> StaticField:
    """A sphere magnetised along its axis, with a truly round face, its mesh halved some times."""
    import ngsolve as ng
    from netgen.occ import Circle, Glue, MoveTo, OCCGeometry

    half = MoveTo(0, -2 * FAR_M).Rectangle(2 * FAR_M, 4 * FAR_M).Face()
    ball = Circle((0, 0), RADIUS_M).Face() * half
    air = Circle((0, 0), FAR_M).Face() * half - ball
    ball.faces.name, air.faces.name = "body0", "air"
    shape = Glue([ball, air])
    for edge in shape.edges:
        if abs(edge.center.x) < 1e-9:
            edge.name = "axis"
        elif math.hypot(edge.center.x, edge.center.y) > 0.5 * (RADIUS_M + FAR_M):
            edge.name = "far"
    mesh = ng.Mesh(OCCGeometry(shape, dim=2).GenerateMesh(maxh=0.8 * RADIUS_M))
    for _ in range(refined):
        mesh.ngmesh.Refine()
    mesh = ng.Mesh(mesh.ngmesh)
    mesh.Curve(3)
    gap = Gap(inner="", outer="", r_inner=0.0, r_outer=0.0, z_low=0.0, z_high=0.0)
    assembly = Assembly(bodies=(ring("sphere", up(BR_T), 0, 10, -10, 10),), gap=gap)
    return solve(MotorMesh(mesh, assembly, MeshSettings(), FAR_M))


def errors(field: StaticField) -> tuple[float, float, float]:
    """Errors of A and B (root of the mean square over the volume, relative) and of the energy (relative).

    Inside A = Br r/3, outside that of a dipole, Br R^3 r/(3 rho^3); the energy is Br^2 V/(6 mu0), because the integral of
    B.H over all space is zero. V is that of the meshed sphere: cubic edges miss the round face at fourth order, which is
    geometry and not the field.
    """
    import ngsolve as ng

    mesh, rho = field.motor.mesh, ng.sqrt(ng.x**2 + ng.y**2)
    inside = mesh.MaterialCF({"body0": 1.0}, default=0.0)
    outside = BR_T * RADIUS_M**3 / 3 * ng.x / rho**3
    a = inside * BR_T * ng.x / 3 + (1 - inside) * outside
    b = inside * ng.CF((0, 2 * BR_T / 3)) + (1 - inside) * BR_T * RADIUS_M**3 / 3 / rho**3 * ng.CF(
        (3 * ng.x * ng.y / rho**2, 3 * ng.y**2 / rho**2 - 1)
    )

    def relative(wrong: Any, right: Any) -> float:
        over = [ng.Integrate(2 * math.pi * ng.x * (v * v), mesh, order=12) for v in (wrong - right, right)]
        return math.sqrt(over[0] / over[1])

    volume = ng.Integrate(2 * math.pi * ng.x, mesh, definedon=mesh.Materials("body0"), order=12)
    energy = BR_T**2 * volume / (6 * MU_0)
    return (
        relative(field.potential, a),
        relative(flux_density_of(field.potential), b),
        abs(field.energy_j / energy - 1),
    )


def test_smooth_field_at_the_promised_order() -> None:
    """Halving the elements twice: observed orders of A, B and energy beside 4, 3 and 6."""
    found = np.log(np.asarray([errors(magnetised_sphere(k)) for k in (0, 1, 2)])) / math.log(2)
    orders = found[:-1] - found[1:]
    assert orders[-1, 0] == pytest.approx(4.0, abs=0.4)
    assert orders[-1, 1] == pytest.approx(3.0, abs=0.3)
    assert orders[-1, 2] == pytest.approx(6.0, abs=0.5)


def test_motor_at_a_lower_order() -> None:
    """Corners of steel hold the order of Bl below six; it still falls faster than the size of the elements.

    Against the finest stored solution of another program: at least three times smaller for each halving.
    """
    stored, assembly = reference("A1")
    want = np.asarray(stored["results"]["Bl_Tm"])
    assert assembly.winding is not None
    x = 1e-3 * np.asarray(stored["results"]["x_mm"])
    wrong = []
    for refinement in (2.0, 1.0, 0.5):
        field = solve(mesh_of(assembly, MeshSettings(refinement=refinement, travel_m=8e-3)))
        wrong.append(np.abs(field.force_factor(assembly.winding, x) - want).max() / want.max())
    assert wrong[1] < wrong[0] / 3
    assert wrong[2] < wrong[1] / 3
    assert wrong[2] < 5e-5
