"""Elements, band solver and Newton's method: patch test, locking, orders of convergence, energy balance."""

import json

import numpy as np
import pytest
from scipy.interpolate import make_interp_spline
from scipy.linalg import eigvalsh

from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.equilibrium import Hold, NoEquilibriumError, factor, multiply, settle, walk
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip
from halfroll.suspension.study.cuts import MeshSettings, cuts_of
from tests.suspension.strips import FOLDER, part, reference, roll, slope, waves

SOFT = Elastic(modulus_pa=26e6, poisson=0.45)
UNEVEN = np.array([0.0, 0.07, 0.3, 0.38, 0.8, 1.0])


def ring(profile, material=SOFT, cuts=UNEVEN, order=4, layers=1):
    """A strip, meshed."""
    return Ring(mesh_strip(profile, cuts, order, layers), material)


def wedge():
    """A wavy strip whose thickness changes: every element is distorted."""
    line = waves(12e-3, 28e-3, 1, 1.5e-3, 2.5e-3, 1e-3)
    return Profile(title="wedge", curve=line.curve, thickness=taper)


def taper(s):
    """From 1 to 1.8 mm."""
    return 1e-3 + 0.8e-3 * s, np.full_like(s, 0.8e-3)


@pytest.mark.parametrize("layers", [1, 2])
@pytest.mark.parametrize("law", ["neo-hooke", "st-venant"])
def test_patch(law, layers):
    """Homogeneous deformation r -> 1.1 r, z -> 0.85 z, held at the whole surface of a sloping wedge cut unevenly: inside, the same to
    rounding from a wrong start.
    """
    straight = slope(12e-3, 28e-3, 5e-3, 1e-3)
    wedge_of_it = Profile(title="wedge", curve=straight.curve, thickness=taper)
    body = ring(wedge_of_it, Elastic(modulus_pa=2e6, poisson=0.45, law=law), order=2, layers=layers)
    found, exact = squeezed(body, 0.95)
    assert found.u == pytest.approx(exact, abs=1e-11 * np.abs(exact).max())
    gradient = body.gradient(found.u)
    assert gradient == pytest.approx(np.broadcast_to(SQUEEZE, gradient.shape), abs=1e-9)
    volume = body.mesh.weight.sum()
    assert body.energy(found.u) == pytest.approx(volume * float(body.material.energy(SQUEEZE)), rel=1e-10)


def test_patch_on_curved_elements():
    """Elements follow the curved strip exactly, so a straight field is only approached: strain to 2e-4 at order 4, 1e-5 at order 6."""
    for order, allowed in ((4, 2e-4), (6, 1e-5)):
        body = ring(wedge(), order=order, cuts=cuts_of(wedge()))
        gradient = body.gradient(squeezed(body, 1.0)[0].u)
        assert np.abs(gradient - SQUEEZE).max() < allowed


SQUEEZE = np.diag([1.1, 0.85, 1.1])


def squeezed(body, start):
    """The state with the surface held where `SQUEEZE` puts it, and all nodes' displacements if it went there."""
    exact = np.stack([0.1 * body.mesh.r, -0.15 * body.mesh.z], axis=1).ravel()
    count = body.mesh.across
    faces = np.flatnonzero(np.isin(np.arange(len(body.mesh.r)) % count, [0, count - 1]))
    surface = np.union1d(faces, np.union1d(body.mesh.inner, body.mesh.outer))
    fixed = np.sort(np.concatenate([2 * surface, 2 * surface + 1]))
    return settle(body, Hold(fixed=fixed, motion=exact[fixed]), 1.0, start * exact), exact


def test_moving_along_the_axis_costs_nothing():
    """A rigid shift gives no force; a sideways one does not exist in this symmetry."""
    body = ring(wedge())
    forces, largest = body.forces(np.tile([0.0, 3e-3], body.size // 2))
    assert np.abs(forces).max() < 1e-6
    assert largest < 1e-6


def test_forces_are_the_slope_of_the_energy_and_the_tangent_that_of_the_forces():
    """Along a random direction about a bent state, by central differences."""
    body = ring(wedge())
    state = walk(body, body.clamps(), [1e-3])[0]
    way = 1e-9 * np.random.default_rng(3).standard_normal(body.size)
    slope_of_energy = (body.energy(state.u + way) - body.energy(state.u - way)) / 2
    assert body.forces(state.u)[0] @ way == pytest.approx(slope_of_energy, rel=1e-5)
    change = (body.forces(state.u + way)[0] - body.forces(state.u - way)[0]) / 2
    told = multiply(body.tangent(state.u), way)
    assert told == pytest.approx(change, abs=1e-4 * np.abs(change).max())


@pytest.mark.parametrize("sign", [1, -1])
def test_band_solver_against_a_dense_one(sign):
    """Positive definite by Cholesky and indefinite by Gauss, both against NumPy; definite as the eigenvalues say."""
    body = ring(roll(30e-3, 40e-3, 5e-3, 1e-3), cuts=np.linspace(0, 1, 5), order=3)
    hold, band = body.clamps(), body.tangent(np.zeros(body.size))
    if sign < 0:  # push the lowest eigenvalues below zero
        band[0] -= 1e-3 * band[0].max()
    dense = sum(np.diag(band[k, : body.size - k], -k) for k in range(len(band)))
    dense = dense + np.tril(dense, -1).T
    free = np.setdiff1d(np.arange(body.size), hold.fixed)
    load = np.random.default_rng(1).standard_normal(body.size)
    assert multiply(band, load) == pytest.approx(dense @ load, rel=1e-9, abs=1e-6 * np.abs(dense).max())
    load[hold.fixed] = 0.0
    solver = factor(band, hold.fixed)
    wanted = np.linalg.solve(dense[np.ix_(free, free)], load[free])
    assert solver.solve(load)[free] == pytest.approx(wanted, rel=1e-6, abs=1e-8 * np.abs(wanted).max())
    assert solver.definite == (eigvalsh(dense[np.ix_(free, free)])[0] > 0) == (sign > 0)


@pytest.mark.parametrize("poisson", [0.45, 0.48, 0.495])
def test_locking_against_the_stored_elements(poisson):
    """K(0) of S1 within 0.05 % of the finest stored mesh (CalculiX CAX8R 60 x 3, scikit-fem order 4 24 x 2), F(±6) within 0.5 %."""
    stored = json.loads((FOLDER / "S1_elements.json").read_text(encoding="utf-8"))
    peer = next(
        row for row in stored if row[0] == poisson and row[1].startswith("ccx CAX8R") and row[2] == [60, 3]
    )
    fine = next(row for row in stored if row[0] == poisson and row[2] == [24, 2, 4])
    strip, _ = reference("S1")
    body = ring(strip.profile, Elastic(modulus_pa=26e6, poisson=poisson), cuts_of(strip.profile))
    rest = settle(body, body.clamps(), 0.0, np.zeros(body.size))
    assert 1e-3 * rest.stiffness_n_per_m == pytest.approx(peer[3], rel=5e-4)
    for side, column in ((1, 4), (-1, 5)):
        force = walk(body, body.clamps(), side * np.arange(1, 4) * 2e-3, rest)[-1].force_n
        assert force == pytest.approx(fine[column], rel=5e-3)


def test_no_locking_at_0_499():
    """Refining from 13 to 40 elements, and to order 6, changes K(0) by less than 0.05 %; it goes on from 0.495 as 0.48 went to it."""
    strip, _ = reference("S1")
    matter = Elastic(modulus_pa=26e6, poisson=0.499)
    settings = (MeshSettings(), MeshSettings(turn_rad=0.15, stretch=0.3), MeshSettings(order=6))
    found = []
    for one in settings:
        body = ring(strip.profile, matter, cuts_of(strip.profile, one), one.order)
        found.append(1e-3 * settle(body, body.clamps(), 0.0, np.zeros(body.size)).stiffness_n_per_m)
    assert found[1:] == pytest.approx([found[0]] * 2, rel=5e-4)
    # Per unit of Poisson's ratio the guide's elements give 2.63 N/mm from 0.48 to 0.495.
    assert found[-1] - 3.3725 == pytest.approx(2.63 * 0.004, rel=0.15)


@pytest.mark.parametrize("order", [1, 2, 3])
def test_order_of_convergence_on_lames_ring(order):
    """A flat ring pulled in at its inner edge, free to thin: u = A r + B / r (Lamé; Timoshenko and Goodier, "Theory of Elasticity", thick
    tubes) with plane stress is exact in three dimensions. The energy's error falls with h^(2p) (Strang and Fix).
    """
    a, b, h, e, nu = 20e-3, 40e-3, 3e-3, 26e6, 0.3
    # u(a) = 1, u(b) = 0; radial stress E/(1-nu²) (u' + nu u/r) on the inner face 2 pi a h.
    big, small = -1 / (b**2 / a - a), 1 / (b**2 / a - a) * b**2
    stress = e / (1 - nu**2) * ((big - small / a**2) + nu * (big + small / a**2))
    exact = abs(stress) * 2 * np.pi * a * h

    def error(count):
        body = ring(
            slope(a, b, 0.0, h), Elastic(modulus_pa=e, poisson=nu), np.linspace(0, 1, count + 1), order
        )
        inner, outer = body.mesh.inner, body.mesh.outer
        middle = inner[len(inner) // 2] if order > 1 else inner[0]
        hold = Hold(fixed=np.concatenate([2 * inner, 2 * outer, [2 * middle + 1]]),
                    motion=np.concatenate([np.ones(len(inner)), np.zeros(len(outer) + 1)]))  # fmt: skip
        return abs(settle(body, hold, 0.0, np.zeros(body.size)).stiffness_n_per_m / exact - 1)

    coarse, fine = error(4), error(8)
    assert fine < coarse < 0.1
    assert np.log2(coarse / fine) == pytest.approx(2 * order, abs=0.5)


def test_energy_is_the_integral_of_the_force():
    """S1 to 6 mm in 12 steps: the spline through F, integrated, against the elastic energy, within 0.01 %."""
    strip, _ = reference("S1")
    body = ring(strip.profile, strip.material, cuts_of(strip.profile))
    states = walk(body, body.clamps(), 0.5e-3 * np.arange(1, 13))
    spline = make_interp_spline([0, *(one.x_m for one in states)], [0, *(one.force_n for one in states)], k=5)
    assert body.energy(states[-1].u) == pytest.approx(float(spline.integrate(0, 6e-3)), rel=1e-4)


def test_exact_slope_against_differences():
    """dF/dx of every state against central differences of F over 2 micrometres, to six digits."""
    strip, _ = reference("S2")
    body = ring(strip.profile, strip.material, cuts_of(strip.profile))
    for state in walk(body, body.clamps(), [1e-3, 3e-3, 5e-3]):
        around = [walk(body, body.clamps(), [state.x_m + step], state)[0].force_n for step in (-1e-6, 1e-6)]
        assert state.stiffness_n_per_m == pytest.approx((around[1] - around[0]) / 2e-6, rel=1e-6)


def test_large_steps_find_the_same_equilibrium():
    """6 mm in one step, halved where needed, or in twelve: the same force to nine digits."""
    strip, _ = reference("S1")
    body = ring(strip.profile, strip.material, cuts_of(strip.profile))
    once, many = (
        walk(body, body.clamps(), [6e-3])[-1],
        walk(body, body.clamps(), 0.5e-3 * np.arange(1, 13))[-1],
    )
    assert once.force_n == pytest.approx(many.force_n, rel=1e-9)


def test_a_step_onto_another_shape_is_taken_back():
    """A stiff cone pushed inwards buckles to several shapes; from rest the force follows one, whether in 5 steps or in 40."""
    strip = part(slope(20e-3, 30e-3, 3e-3, 0.4e-3), Elastic(modulus_pa=2e9, poisson=0.35, law="st-venant"))
    body = ring(strip.profile, strip.material, cuts_of(strip.profile))
    few = walk(body, body.clamps(), [-1.4e-3])[-1]
    many = walk(body, body.clamps(), -1.4e-3 * np.arange(1, 41) / 40)[-1]
    assert few.force_n == pytest.approx(many.force_n, rel=1e-6)


def test_where_there_is_no_equilibrium_the_last_one_is_told():
    """A half roll pulled to nearly twice its length."""
    strip, _ = reference("S1")
    body = ring(strip.profile, strip.material, cuts_of(strip.profile))
    with pytest.raises(NoEquilibriumError, match="No equilibrium was found beyond") as error:
        walk(body, body.clamps(), -1e-3 * np.arange(2, 28, 2))
    assert error.value.states[-1].x_m == pytest.approx(error.value.last_m)
    assert -27e-3 < error.value.last_m < -10e-3


def test_basis_reproduces_polynomials():
    """Shape functions of order 5 give a quintic and its slope exactly, Gauss with 5 points integrates the ninth power."""
    at = np.linspace(0, 1, 11)
    value, slope_there = basis.values(5, at)
    nodes = basis.nodes(5)
    assert value @ nodes**5 == pytest.approx(at**5, abs=1e-12)
    assert slope_there @ nodes**5 == pytest.approx(5 * at**4, abs=1e-11)
    points, weights = basis.gauss(5)
    assert weights @ points**9 == pytest.approx(0.1, rel=1e-13)


def test_cuts_keep_breaks_and_shrink_towards_clamps():
    """A profile's breaks are among the boundaries even beside a clamp; the first boundary is 0.12 thicknesses from each clamp, and no
    element is a sliver.
    """
    line = roll(30e-3, 40e-3, 5e-3, 0.8e-3)
    for breaks in ((0.0, 1.0), (0.0, 0.5, 1.0), (0.0, 0.02, 0.5, 0.99, 1.0)):
        cuts = cuts_of(Profile(title="roll", curve=line.curve, thickness=line.thickness, breaks=breaks))
        assert set(breaks) <= set(cuts.tolist())
        assert cuts[[0, -1]].tolist() == [0.0, 1.0]
        # Arc lengths, as a circle of 5 mm radius has them.
        along = np.pi * 5e-3 * cuts
        assert (np.diff(along) > 0.02 * 0.8e-3).all()
        assert along[1] == pytest.approx(0.12 * 0.8e-3, rel=1e-3)
        assert np.diff(along).max() < 3.0e-3


@pytest.mark.parametrize("factor", [0.1, 0.5, 3.0])
def test_cuts_follow_the_thickness(factor):
    """Thin walls take more elements, and K(0) stays within 0.1 % of four times as many."""
    profile = roll(30e-3, 40e-3, 5e-3, factor * 0.8e-3)
    found = []
    for settings in (MeshSettings(), MeshSettings(turn_rad=0.15, stretch=0.3)):
        body = ring(profile, cuts=cuts_of(profile, settings))
        found.append(settle(body, body.clamps(), 0.0, np.zeros(body.size)).stiffness_n_per_m)
    assert found[0] == pytest.approx(found[1], rel=1e-3)
