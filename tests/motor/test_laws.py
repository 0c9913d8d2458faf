"""The solver's parts fit together: fields are slopes of energies, tangents slopes of fields, as finite differences say."""

from __future__ import annotations

import numpy as np
import pytest

from halfroll.materials.steel import MU_0, curve
from halfroll.motor.field.discrete import Problem
from halfroll.motor.field.laws import Linear, Steel
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.types import SoftSteel
from tests.motor.eddy_motors import reference


def steel_of_reference() -> SoftSteel:
    """The steel of the reference motors."""
    matter = reference("A1")[1].body("pole").matter
    assert isinstance(matter, SoftSteel)
    return matter


def test_energy_of_steel_is_the_integral_of_h() -> None:
    """Against SciPy's quadrature, from the first point of the table to far beyond its last."""
    from scipy.integrate import quad

    law = curve(steel_of_reference().steel)
    for b in (0.01, 0.7, 1.5, 2.1, 3.0):
        knots = [float(k) for k in law.b_t if 0 < k < b]
        want, _ = quad(lambda x: float(law.h(x)), 0.0, b, points=knots, limit=500)
        assert float(law.energy(b)) == pytest.approx(want, rel=1e-8)
        assert float(law.energy(-b)) == float(law.energy(b))


def test_slope_beyond_the_table_is_that_of_vacuum() -> None:
    """Full steel adds nothing more to the flux than air does."""
    law = curve(steel_of_reference().steel)
    assert float(law.slope(law.table_end_t + 0.5)) == pytest.approx(1.0 / MU_0)
    assert float(law.h(5.0) - law.h(4.0)) == pytest.approx(1.0 / MU_0)


@pytest.mark.parametrize("law", [Linear(1.0 / MU_0, (0.3, -1.1)), Steel(curve(steel_of_reference().steel))])
def test_field_is_the_slope_of_the_energy(law: Linear | Steel) -> None:
    """dw/dB = H in both directions, at fields of all sizes."""
    b = np.random.default_rng(1).normal(0.0, 0.9, (200, 1, 2))
    h, tiny = law.field(b), 1e-6
    for k in range(2):
        step = tiny * np.eye(2)[k]
        slope = (law.density(b + step) - law.density(b - step)) / (2 * tiny)
        assert slope == pytest.approx(h[..., k], rel=1e-4, abs=1.0)


def test_tangent_of_steel() -> None:
    """A change of B times the tangent is that of H, where the table has no corner between."""
    law = Steel(curve(steel_of_reference().steel))
    b = np.random.default_rng(2).normal(0.0, 0.9, (200, 1, 2))
    rr, rz, zz = law.tangent(b)
    tiny = 1e-7
    for k, column in enumerate(((rr, rz), (rz, zz))):
        slope = (law.field(b + tiny * np.eye(2)[k]) - law.field(b - tiny * np.eye(2)[k])) / (2 * tiny)
        assert np.median(np.abs(slope - np.stack(column, axis=-1)) / rr[..., None]) < 1e-5
    determinant = rr * zz - rz**2
    assert (determinant > 0).all()
    assert (rr > 0).all()


def test_steel_without_field() -> None:
    """At no field the reluctivity is the first slope of the curve."""
    law = Steel(curve(steel_of_reference().steel))
    rr, rz, zz = law.tangent(np.zeros((1, 1, 2)))
    first = float(law.law.slope(0.0))
    assert [float(part[0, 0]) for part in (rr, rz, zz)] == pytest.approx([first, 0.0, first])


@pytest.mark.parametrize("order", [1, 3])
def test_residual_and_step_of_a_whole_motor(order: int) -> None:
    """Residual = slope of the energy along any change; after Newton's step the residual changes by its opposite."""
    import ngsolve as ng

    motor = mesh_of(reference("A1")[1], MeshSettings(refinement=3.0))
    space = ng.H1(motor.mesh, order=order, dirichlet="axis")
    problem = Problem(motor, space, max(order, 2), 0.0, None)
    free = np.array(space.FreeDofs(), dtype=bool)
    rng = np.random.default_rng(3)
    a, change = (np.where(free, scale * rng.normal(size=space.ndof), 0.0) for scale in (1e-4, 1.0))
    residual, tiny = problem.residual(a), 1e-8
    slope = (problem.energy(a + tiny * change) - problem.energy(a - tiny * change)) / (2 * tiny)
    assert residual @ change == pytest.approx(slope, rel=1e-6)
    step = problem.step(a, residual)
    moved = (problem.residual(a + 1e-7 * step) - problem.residual(a - 1e-7 * step)) / 2e-7
    assert moved == pytest.approx(-residual, abs=1e-4 * np.abs(residual).max())
