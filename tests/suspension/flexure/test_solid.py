"""The elements of a bar: patch test, rigid motion, exact tangent, volume, and no locking up to a Poisson's ratio of 0.499."""

from functools import cache

import numpy as np
import pytest

from halfroll.suspension.elastic.equilibrium import multiply, settle
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.solid import Solid, deformation, mesh_bar
from halfroll.suspension.elastic.turning import TurningEnd, end_held
from halfroll.suspension.flexure.arm import arm_of
from halfroll.suspension.flexure.cuts import mesh_arm
from tests.suspension.flexure.arms import design

LAWS = [
    Elastic(modulus_pa=26e6, poisson=0.45, law="neo-hooke"),
    Elastic(modulus_pa=2e9, poisson=0.35, law="st-venant"),
]


def crooked(material, orders=(3, 2, 2)):
    """A bar of 3 x 2 x 2 elements with no right angle and no two alike: trilinear, so that Gauss's rule is exact in it."""

    def place(s, v, t):
        return 1e-3 * np.stack(
            [10 * s + 1.5 * v * t + 0.8 * s * v, 3 * v + 0.4 * s * t + 0.5 * s, 2 * t + 0.7 * s * v], 1
        )

    cuts = (np.array([0, 0.2, 0.7, 1]), np.array([-0.5, 0.1, 0.5]), np.array([-0.5, -0.2, 0.5]))
    return Solid(mesh_bar(place, cuts, orders), material)


@pytest.mark.parametrize("material", LAWS, ids=lambda one: one.law)
def test_patch_test_passes_on_crooked_elements(material):
    """Ends moved as in a uniform deformation: every node follows it, and stress is the same everywhere (R. L. Taylor,
    O. C. Zienkiewicz, J. C. Simo, A. H. C. Chan, Int. J. Num. Meth. Eng. 22, 1986).
    """
    solid = crooked(material)
    nodes = solid.mesh.nodes
    wanted = np.array([[1.06, 0.05, -0.02], [0.03, 0.97, 0.04], [0.01, -0.06, 0.98]])
    u = (nodes @ wanted.T - nodes).ravel()
    gradient = solid.gradient(u)
    np.testing.assert_allclose(gradient, np.broadcast_to(wanted, gradient.shape), atol=1e-12)
    forces, largest = solid.forces(u)
    inner = np.arange(len(nodes)).reshape(10, 5, 5)[1:-1, 1:-1, 1:-1].ravel()
    assert np.abs(forces.reshape(-1, 3)[inner]).max() < 1e-12 * largest


@pytest.mark.parametrize("material", LAWS, ids=lambda one: one.law)
def test_moving_and_turning_as_one_piece_strains_nothing(material):
    """A spiral arm turned by 70° about a slanting axis and shifted: no force anywhere."""
    solid = Solid(mesh_arm(arm_of(design("S4"))), material)
    axis = np.array([1.0, 2.0, 2.0]) / 3
    cross = np.cross(np.eye(3), axis)
    turn = np.eye(3) + np.sin(1.2) * cross + (1 - np.cos(1.2)) * cross @ cross
    u = (solid.mesh.nodes @ turn + np.array([1e-3, -2e-3, 3e-3]) - solid.mesh.nodes).ravel()
    as_much = 1e-2 * solid.mesh.nodes.ravel()  # stretched by 1 %
    assert np.abs(solid.forces(u)[0]).max() < 1e-9 * np.abs(solid.forces(as_much)[0]).max()
    assert solid.energy(u) < 1e-20


@pytest.mark.parametrize("turning", [False, True])
@pytest.mark.parametrize("material", LAWS, ids=lambda one: one.law)
def test_tangent_is_the_derivative_of_the_forces_and_they_of_the_energy(material, turning):
    """Central differences, about a bent state, with the end's finite turn among the unknowns."""
    solid = crooked(material)
    body = TurningEnd(solid, 2e-3) if turning else solid
    random = np.random.default_rng(5)
    u = 2e-5 * random.standard_normal(body.size)
    if turning:
        u[0] = 1e-3  # half a radian
        u[1:] += carried_along(solid, 0.5)
    way, step = random.standard_normal(body.size), 1e-9
    by_difference = (body.forces(u + step * way)[0] - body.forces(u - step * way)[0]) / (2 * step)
    exact = multiply(body.tangent(u), way)
    np.testing.assert_allclose(by_difference, exact, atol=2e-7 * np.abs(exact).max())
    work = (body.energy(u + step * way) - body.energy(u - step * way)) / (2 * step)
    assert work == pytest.approx(float(body.forces(u)[0] @ way), rel=1e-5)


def carried_along(solid, angle):
    """What the nodes beyond the end do when the bar turns with it; the end's own are counted without the turn."""
    c, s = np.cos(angle), np.sin(angle)
    turned = solid.mesh.nodes @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1.0]]) - solid.mesh.nodes
    turned[solid.mesh.first] = 0.0
    return turned.ravel()


def test_a_turned_end_pulls_on_nothing_when_the_bar_turns_with_it():
    """Half a radian of the end and of the whole bar: no force, no torque."""
    solid = crooked(LAWS[1])
    body = TurningEnd(solid, 2e-3)
    q = np.append(0.5 * 2e-3, carried_along(solid, 0.5))
    forces, _ = body.forces(q)
    assert np.abs(forces).max() < 1e-9 * np.abs(body.tangent(q)[0]).max() * 1e-3
    assert body.turn_rad(q) == pytest.approx(0.5)


def test_volume_is_width_times_thickness_times_length():
    """Pappus and Guldin for an arm of uniform section; the length by the closed form of Archimedes' spiral, r = a phi:
    a/2 (phi sqrt(1 + phi²) + arsinh phi).
    """
    solid = Solid(mesh_arm(arm_of(design("S4"))), LAWS[1])
    a = 16e-3 / np.pi
    phi = np.array([14e-3, 30e-3]) / a
    length = np.diff(a / 2 * (phi * np.sqrt(1 + phi**2) + np.arcsinh(phi)))[0]
    assert arm_of(design("S4")).whole_m == pytest.approx(length, rel=1e-6)
    assert solid.volume_m3 == pytest.approx(4e-3 * 0.8e-3 * length, rel=1e-6)
    density = solid.material.density_kg_m3
    unit = np.tile([1.0, 0.0, 0.0], solid.size // 3)
    assert unit @ multiply(solid.mass(), unit) == pytest.approx(density * solid.volume_m3, rel=1e-9)


@pytest.mark.parametrize("poisson", [0.3, 0.45, 0.49, 0.499])
def test_no_locking(poisson):
    """The wide leg S3 in an elastomer: stiffness at rest beside NGSolve's fifth order on the same box of elements.

    At 0.499 the singular corners of the clamps make up 0.6 %; elements that lock are several times too stiff there.
    """
    assert at_rest(poisson) == pytest.approx(by_ngsolve(poisson), rel=7e-3)


@cache
def leg_cuts():
    """Element boundaries of S3's leg."""
    return mesh_arm(arm_of(design("S3"))).cuts


def at_rest(poisson):
    """Our stiffness (N/m) of one leg of S3."""
    solid = Solid(mesh_arm(arm_of(design("S3"))), Elastic(modulus_pa=26e6, poisson=poisson))
    found = settle(solid, end_held(solid), 0.0, np.zeros(solid.size))
    assert found is not None
    return found.stiffness_n_per_m


def by_ngsolve(poisson):
    """The same by linear elasticity of the general-purpose library, in mm and N."""
    import ngsolve as ng
    from ngsolve.meshes import MakeHexMesh

    size = (18.0, 4.0, 0.6)
    cuts = leg_cuts()
    counts = [len(cut) - 1 for cut in cuts]
    shift = (0.0, 0.5, 0.5)

    def graded(x, y, z):
        at = [
            np.interp(c * n, np.arange(n + 1), cut + d)
            for c, n, cut, d in zip((x, y, z), counts, cuts, shift, strict=True)
        ]
        return tuple(float(a * length) for a, length in zip(at, size, strict=True))

    mesh = MakeHexMesh(nx=counts[0], ny=counts[1], nz=counts[2], mapping=graded)
    space = ng.VectorH1(mesh, order=5, dirichlet="back|front")
    u, v = space.TnT()
    mu, lam = 26 / (2 * (1 + poisson)), 26 * poisson / ((1 + poisson) * (1 - 2 * poisson))
    strain = ng.Sym(ng.Grad(u))
    form = ng.BilinearForm(space, symmetric=True)
    form += (
        2 * mu * ng.InnerProduct(strain, ng.Sym(ng.Grad(v))) + lam * ng.Trace(strain) * ng.div(v)
    ) * ng.dx
    field = ng.GridFunction(space)
    with ng.TaskManager():
        form.Assemble()
        field.Set((0, 0, 1), definedon=mesh.Boundaries("back"))
        load = (-form.mat * field.vec).Evaluate()
        field.vec.data += form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky") * load
    return 1e3 * ng.InnerProduct(field.vec, (form.mat * field.vec).Evaluate())


def test_sampled_gradients_are_those_of_the_nodes():
    """A quadratic field's gradient, sampled anywhere, is its closed form."""
    solid = crooked(LAWS[0], (2, 2, 2))
    values, gradient, at = solid.mesh.sample((np.array([0.0, 0.3]), np.array([0.5]), np.array([0.1, 1.0])))
    assert at.shape == (12, 4, 3)
    nodes = solid.mesh.nodes
    places = values @ nodes[solid.mesh.elements]
    moved = (nodes @ np.diag([0.1, 0.2, 0.3])).ravel()
    np.testing.assert_allclose(
        deformation(solid.mesh, gradient, moved),
        np.broadcast_to(np.diag([1.1, 1.2, 1.3]), (12, 4, 3, 3)),
        atol=1e-12,
    )
    assert places.shape == (12, 4, 3)
