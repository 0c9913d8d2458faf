"""Motions of a strip that are not symmetric about the axis, against closed forms of plates and of plane elasticity.

Plates: A. W. Leissa, "Vibration of Plates" (NASA SP-160, 1969), annular plates with both edges clamped, whose frequency equation of
Bessel functions is solved here by SciPy (its table's 89.2, 90.2 and 93.3 at half the radius were remembered and agree). Buckling: S. P.
Timoshenko and J. M. Gere, "Theory of Elastic Stability" (1961), plates under equal pressure all around, again from the equation.
In the plane: J. H. Michell's general solution (1899; Timoshenko and Goodier, "Theory of Elasticity"), as the boundary-value
problem of plane stress with one wave around, solved by SciPy. The clamps here hold the whole end face, which a plate's do not: 0.3 %.
"""

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.optimize import brentq
from scipy.special import iv, ivp, jv, jvp, kv, kvp, yv, yvp

from halfroll.suspension.elastic.equilibrium import multiply
from halfroll.suspension.elastic.harmonic import (
    edge_stiffness,
    first_unstable,
    own_resonances,
    waves_about,
)
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip

A, B, T = 50e-3, 25e-3, 0.25e-3
E, NU, RHO = 3e9, 0.3, 1200.0
STIFFNESS = E * T**3 / 12 / (1 - NU**2)


def flat(thickness=T, height=0.0):
    """A flat annular strip."""

    def curve(s):
        return MidLine(r=B + (A - B) * s, z=height + 0 * s, r1=0 * s + A - B, z1=0 * s, r2=0 * s, z2=0 * s)

    return Profile(
        title="flat", curve=curve, thickness=lambda s: (np.full_like(s, thickness), np.zeros_like(s))
    )


@pytest.fixture(scope="module")
def ring():
    """The plate, meshed."""
    mesh = mesh_strip(flat(), np.linspace(0, 1, 13))
    return Ring(mesh, Elastic(modulus_pa=E, poisson=NU, law="st-venant", density_kg_m3=RHO))


def first_root(function, low, high, *args):
    """The lowest root between two values."""
    grid = np.linspace(low, high, 400)
    seen = [function(x, *args) for x in grid]
    at = next(i for i in range(len(grid) - 1) if seen[i] * seen[i + 1] < 0)
    return brentq(function, grid[at], grid[at + 1], args=args)


def vibration(lam, n):
    """Determinant whose roots are the frequencies of an annular plate, both edges clamped."""
    k = lam / A

    def rows(r, slope):
        j, y, i, m = (jvp, yvp, ivp, kvp) if slope else (jv, yv, iv, kv)
        return [j(n, k * r), y(n, k * r), i(n, k * r) / iv(n, k * A), m(n, k * r) / kv(n, k * B)]

    return np.linalg.det(np.array([rows(A, False), rows(A, True), rows(B, False), rows(B, True)]))


def buckling(k, n):
    """Determinant whose roots are the buckling loads N = D k² of the same plate pressed equally from all sides."""

    def value(r):
        return [jv(n, k * r), yv(n, k * r), *([(r / A) ** n, (B / r) ** n] if n else [1.0, np.log(r / B)])]

    def slope(r):
        own = [n * (r / A) ** n / r, -n * (B / r) ** n / r] if n else [0.0, 1 / r]
        return [k * jvp(n, k * r), k * yvp(n, k * r), *own]

    matrix = np.array([value(A), slope(A), value(B), slope(B)])
    return np.linalg.det(matrix / np.abs(matrix).max(axis=0))


@pytest.mark.parametrize("n", [0, 1, 2, 3, 5])
def test_an_annular_plate_vibrates_as_its_bessel_functions_say(ring, n):
    """Within 0.3 %."""
    lam = first_root(vibration, 8.0, 12.0, n)
    exact = lam**2 / (2 * np.pi * A**2) * np.sqrt(STIFFNESS / RHO / T)
    found, shapes = own_resonances(waves_about(ring, np.zeros(ring.size)), n)
    assert found[0] == pytest.approx(exact, rel=3e-3)
    assert np.abs(shapes[waves_about(ring, np.zeros(ring.size)).clamped]).max() == 0


@pytest.mark.parametrize("n", [0, 1, 2, 3])
def test_a_pressed_plate_wrinkles_at_its_buckling_load(ring, n):
    """Squeezed in its plane by a strain 0.5 % below the critical one it is stable, 0.9 % above it is not."""
    k = first_root(buckling, 60.0, 280.0, n)
    critical = STIFFNESS * k**2 * (1 - NU) / (E * T)
    for factor, waves in ((0.995, None), (1.009, n)):
        u = np.zeros(ring.size)
        u[0::2] = -factor * critical * ring.mesh.r
        u[1::2] = factor * critical * 2 * NU / (1 - NU) * ring.mesh.z
        assert first_unstable(waves_about(ring, u), [n]) == waves


def shifted_plane_ring():
    """Force per displacement (N/m) of a sheet in plane stress whose inner edge is shifted sideways, the outer one fast."""
    c = E / (1 - NU**2)
    shear = E / (2 * (1 + NU))

    def rates(r, y):
        u, v, n_r, n_t = y  # u cos, v sin; radial stress and shear
        hoop = (u + v) / r
        u1 = n_r / c - NU * hoop
        v1 = n_t / shear + (u + v) / r
        n_h = c * (hoop + NU * u1)
        return np.array([u1, v1, (n_h - n_r - n_t) / r, (n_h - 2 * n_t) / r])

    def ends(inner, outer):
        return np.array([inner[0] - 1, inner[1] + 1, outer[0], outer[1]])

    grid = np.linspace(B, A, 200)
    done = solve_bvp(rates, ends, grid, np.zeros((4, 200)), tol=1e-8)
    assert done.success
    _, _, radial, tangential = done.sol(B)
    return -np.pi * B * T * (radial - tangential)


def test_a_sideways_shift_meets_plane_elasticity(ring):
    """Within 0.5 %; and a flat strip does not couple shift and tilt."""
    found = edge_stiffness(waves_about(ring, np.zeros(ring.size)), 0.0)
    assert found[0, 0] == pytest.approx(shifted_plane_ring(), rel=5e-3)
    assert abs(found[0, 1]) < 1e-9 * found[0, 0]


def test_stiffness_is_carried_to_another_height_as_a_rigid_body_is(ring):
    """Tilt about a point a lever away is tilt and shift together."""
    waves = waves_about(ring, np.zeros(ring.size))
    here, lever = edge_stiffness(waves, 0.0), 7e-3
    carry = np.array([[1.0, -lever], [0.0, 1.0]])
    assert edge_stiffness(waves, lever) == pytest.approx(carry.T @ here @ carry, rel=1e-9, abs=1e-6)


def tilting_plate():
    """Moment per angle (N m/rad) of a thin annular plate, outer edge clamped, about a rigid inner edge that is tilted.

    w = (C1 r + C2 / r + C3 r³ + C4 r ln r) cos a solves the plate's equation with one wave around. Only C4 carries moment through a circle:
    its shear is 2 D C4 / r² cos a, whose lever gives 2 pi D C4, and its bending and twisting give as much again.
    """
    rows, right = [], []
    for r, w, w1 in ((A, 0.0, 0.0), (B, B, 1.0)):
        rows += [[r, 1 / r, r**3, r * np.log(r)], [1, -1 / r**2, 3 * r**2, np.log(r) + 1]]
        right += [w, w1]
    return 4 * np.pi * STIFFNESS * abs(np.linalg.solve(np.array(rows), np.array(right))[3])


def test_tilting_the_inner_edge_bends_a_plate(ring):
    """Within 0.6 %."""
    found = edge_stiffness(waves_about(ring, np.zeros(ring.size)), 0.0)
    assert found[1, 1] == pytest.approx(tilting_plate(), rel=6e-3)


def test_a_shift_of_the_whole_strip_costs_nothing(ring):
    """Rigid shift and rigid tilt give no force."""
    waves, mesh = waves_about(ring, np.zeros(ring.size)), ring.mesh
    shift, tilt = np.zeros(waves.size), np.zeros(waves.size)
    shift[0::3], shift[1::3] = 1.0, -1.0
    tilt[0::3], tilt[1::3], tilt[2::3] = mesh.z, -mesh.z, -mesh.r
    scale = np.abs(waves.tangent(1)).max()
    assert np.abs(multiply(waves.tangent(1), shift)).max() < 1e-10 * scale
    assert np.abs(multiply(waves.tangent(1), tilt)).max() < 1e-10 * scale
