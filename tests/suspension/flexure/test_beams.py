"""Arms slender enough to be beams, against beam theory: stiffness, large deflection, resonances, the hub's stiffness, moving mass.

Formulas: W. C. Young and R. G. Budynas, "Roark's Formulas for Stress and Strain", table 8.1 (from memory); eigenvalues: R. D. Blevins,
"Formulas for Natural Frequency and Mode Shape" (recomputed); shear: S. Timoshenko's beam; the elastica by elliptic integrals
(rows 1, 2, 5 and 10 of K. Mattiasson, Int. J. Num. Meth. Eng. 17, 145-153, 1981, read in another's rendering).
"""

import math

import numpy as np
import pytest

from halfroll.suspension.elastic.equilibrium import Hold, settle, walk
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.turning import end_held
from halfroll.suspension.flexure.hub import ArmAtRest, moving_share
from tests.suspension.flexure.arms import bar, design, studied

E, DENSITY = 2e9, 1240.0


def plain(poisson):
    """The plastic of these beams."""
    return Elastic(modulus_pa=E, poisson=poisson, law="st-venant", density_kg_m3=DENSITY)


def guided(length, width, thickness, poisson=0.35):
    """Stiffness (N/m) of a leg clamped at one end and guided at the other, over 12 E I / L³."""
    solid = bar(length, width, thickness, material=plain(poisson), elements=8)
    found = settle(solid, end_held(solid), 0.0, np.zeros(solid.size))
    assert found is not None
    return found.stiffness_n_per_m / (12 * E * width * thickness**3 / 12 / length**3)


@pytest.mark.parametrize(("poisson", "within"), [(0.0, 1e-3), (0.35, 4e-3)])
def test_a_slender_leg_comes_to_twelve_ei_over_length_cubed(poisson, within):
    """Square legs of 10, 20, 40, 80 thicknesses beside 12EI/L³ less its shear, 1/(1 + 12EI/(5/6 G A L²)).

    A clamp that hinders contraction across shortens the leg by a tenth of its thickness or so: that share halves as the length doubles.
    """
    misses, h = [], 1e-3
    for ratio in (10, 20, 40, 80):
        shear = 12 * E * h**4 / 12 / (5 / 6 * E / (2 * (1 + poisson)) * h**2 * (ratio * h) ** 2)
        misses.append(guided(ratio * h, h, h, poisson) * (1 + shear) - 1)
    assert abs(misses[-1]) < within
    assert np.all(np.abs(misses[1:]) < 0.6 * np.abs(misses[:-1]))


def test_a_wide_leg_is_stiffer_by_what_is_known():
    """S3: 0.8889 N/mm for three legs as beams, 4.6 % more as solids; never more than a plate's 1/(1 - nu²)."""
    beam = 3 * 12 * E * 4e-3 * 0.6e-3**3 / 12 / 18e-3**3
    assert beam == pytest.approx(888.9, rel=1e-4)
    assert studied("S3").curve.at_rest() / beam == pytest.approx(1.046, abs=0.003)
    for width in (1e-3, 2e-3, 6e-3, 12e-3):
        assert 0.995 < guided(24e-3, width, 0.6e-3) < 1 / (1 - 0.35**2)


def test_the_elastica_of_a_cantilever():
    """A tip load that bends it up to 81 % of its length: load and shortening within 0.3 %."""
    length, h = 100e-3, 1e-3
    solid = bar(length, h, h, material=plain(0.0), elements=12, ends=False)
    mesh = solid.mesh
    tip = mesh.first[mesh.nodes[mesh.first, 2] == 0.0]
    fast = (3 * mesh.last[:, None] + np.arange(3)).ravel()
    hold = Hold(fixed=np.append(3 * tip + 2, fast), motion=np.append(np.ones(len(tip)), np.zeros(len(fast))))
    rows = ((1, 0.30172, 0.05643), (2, 0.49346, 0.16064), (5, 0.71379, 0.38763), (10, 0.81061, 0.55500))
    states = walk(solid, hold, [length * w for _, w, _ in rows])
    stiffness = E * h**4 / 12 / length**2
    for (load, _, short), state in zip(rows, states, strict=True):
        assert state.force_n / stiffness == pytest.approx(load, rel=3e-3)
        assert state.u[3 * tip].mean() / length == pytest.approx(short, rel=3e-3)


@pytest.mark.parametrize(
    ("hub", "eigenvalues"),
    [("clamped", (22.37329, 61.67282)), ("guided", (5.59332,)), ("free", (3.51602, 3 * 3.51602, 22.03449))],
)
def test_resonances_of_a_slender_arm(hub, eigenvalues):
    """lambda² sqrt(E I / (rho A L⁴)) for the hub's end clamped, guided and free, one of them sideways: within 0.2 %."""
    length, width, h = 120e-3, 3e-3, 1e-3
    solid = bar(length, width, h, material=plain(0.0), elements=10)
    first, last = solid.mesh.first, solid.mesh.last
    fast = (3 * last[:, None] + np.arange(3)).ravel()
    held = {"clamped": (0, 1, 2), "guided": (0, 1), "free": ()}[hub]
    fixed = np.concatenate([fast, *(3 * first + axis for axis in held)])
    unit = math.sqrt(E * h**2 / 12 / DENSITY / length**4) / (2 * math.pi)
    found = ArmAtRest(solid, fixed).own_hz(len(eigenvalues)) / unit
    np.testing.assert_allclose(found, eigenvalues, rtol=2e-3)


def test_the_hub_on_slender_legs():
    """Three legs from a hub of radius R. Shifted sideways: 3/2 (E A / L + 12 E I_y / L³). Tilted, each leg's end moves by R and turns
    by 1, or twists: 3/2 (12 E I R² / L³ + 12 E I R / L² + 4 E I / L + G J / L), J = 0.229 w h³ for w = 2 h (S. Timoshenko and
    J. N. Goodier, "Theory of Elasticity"). Within 1 %.
    """
    length, width, h, hub = 60e-3, 2e-3, 1e-3, 10e-3
    solid = bar(length, width, h, material=plain(0.35), elements=8, orders=(4, 4, 3))
    moved = solid.mesh.nodes + np.array([hub, 0, 0])
    object.__setattr__(
        solid.mesh, "nodes", moved
    )  # stiffness does not know where the bar is, the hub's lever does
    found = ArmAtRest(solid).hub_stiffness(3)
    flat, upright = E * width * h**3 / 12, E * h * width**3 / 12
    shift = 1.5 * (E * width * h / length + 12 * upright / length**3)
    twist = E / 2.7 * 0.229 * width * h**3 / length
    tilt = 1.5 * (12 * flat * hub**2 / length**3 + 12 * flat * hub / length**2 + 4 * flat / length + twist)
    assert found.radial_n_per_m == pytest.approx(shift, rel=0.01)
    assert found.tilt_nm_per_rad == pytest.approx(tilt, rel=0.01)
    assert found.matrix[2, 2] == pytest.approx(36 * flat / length**3, rel=0.01)
    np.testing.assert_allclose(found.matrix[:3, 3:][:2, :2], 0, atol=1e-6 * shift * hub)
    assert found.unlike == pytest.approx(1.0, abs=1e-6)


def test_two_legs_hold_the_hub_unlike():
    """Two legs in one line: stiff along them, soft across; the weaker one counts, and it is said."""
    result = studied_two()
    beam = 2 * 12 * E * 0.6e-3 * 2e-3**3 / 12 / 18e-3**3
    assert result.radial_n_per_m == pytest.approx(beam, rel=0.05)
    assert "sideways-uneven" in {verdict.code for verdict in result.verdicts}


def studied_two():
    """S3 with two narrow legs."""
    from halfroll.suspension.flexure import study_flexure

    return study_flexure(design("S3", arms=2, width_m=2e-3), 0.5e-3)


def test_thirteen_thirty_fifths_of_a_guided_leg_move():
    """The cubic 3 s² - 2 s³ of a fixed-guided beam: the integral of its square is 13/35."""
    solid = bar(60e-3, 1e-3, 1e-3, material=plain(0.0))
    rest = settle(solid, end_held(solid), 0.0, np.zeros(solid.size))
    assert rest is not None
    mass, moving = moving_share(solid, rest.follow)
    assert mass == pytest.approx(DENSITY * 60e-9, rel=1e-9)
    assert moving / mass == pytest.approx(13 / 35, rel=2e-3)
