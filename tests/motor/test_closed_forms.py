"""The field solver without steel, or with steel of constant permeability, against closed forms.

Sources: axial fields of disc, ring, loop and solenoid from the potential of uniformly magnetised cylinders and the law of Biot
and Savart (any textbook, e.g. J. D. Jackson, "Classical Electrodynamics", ch. 5); spheres: Jackson, section 5.10 and 5.11; D.-X. Chen,
J. A. Brug, R. B. Goldfarb, "Demagnetizing factors for cylinders", IEEE Trans. Magn. 27, 3601 (1991); H. Nagaoka 1909.
"""

import math

import numpy as np
import pytest
from scipy.special import ellipe, ellipk

from halfroll.materials.steel import MU_0
from halfroll.motor.field.discrete import flux_density_of
from halfroll.motor.types import FieldCoil
from tests.motor.bodies import field_of, linear, linkage, mean_over, ring, sphere, up


def on_axis(field, z_mm):
    """B_z (T) at heights in mm."""
    return field.flux_density(np.zeros(len(z_mm)), 1e-3 * np.asarray(z_mm))[:, 1]


def test_disc_magnet_on_its_axis():
    """D 20, L 5 mm, Br 1.2 T: the closed form's values from the face to 20 mm, within 0.3 % of the largest."""
    field = field_of(ring("disc", up(1.2), 0, 10, -5, 0))
    z = [0.0, 1.0, 5.0, 10.0, 20.0]
    want = [0.268328, 0.248995, 0.155936, 0.074966, 0.020430]
    got = on_axis(field, z)
    assert got == pytest.approx(want, abs=0.003 * 0.268328)
    assert got[1:] == pytest.approx(want[1:], rel=0.003)


def test_ring_magnet_on_its_axis_changes_sign():
    """OD 40, ID 20, L 10 mm, Br 0.40 T: against the field at the face, to +14.5 mT at 10 mm."""
    field = field_of(ring("ring", up(0.4), 10, 20, -10, 0))
    want = [-0.051979, -0.031423, -0.005474, 0.014515]
    assert on_axis(field, [0.0, 2.0, 5.0, 10.0]) == pytest.approx(want, abs=0.003 * 0.051979)


def test_recoil_permeability_lowers_the_field_as_magnetometry_says():
    """A sphere of recoil permeability mu in its own field: B = 2 Br / (mu + 2)."""
    field = field_of(sphere("ball", up(1.2, 1.1), 10, 48))
    assert on_axis(field, [-4.0, 0.0, 4.0]) == pytest.approx(2.0 * 1.2 / 3.1, rel=1e-3)


def test_magnetised_sphere_is_uniform_inside():
    """B = 2/3 mu0 M. The polygon of 48 chords lies 0.11 % inside the sphere at most, which shifts the field at its middle by less."""
    field = field_of(sphere("ball", up(1.2), 10, 48))
    inside = field.flux_density(1e-3 * np.array([0.0, 5.0, 0.0, 6.0]), 1e-3 * np.array([0.0, 0.0, 6.0, -5.0]))
    assert inside[:, 1] == pytest.approx(0.8, rel=1e-3)
    assert inside[:, 0] == pytest.approx(0.0, abs=1e-3)


def test_permeable_sphere_in_a_uniform_field():
    """B inside = 3 mu/(mu + 2) B0. The field is that of a Helmholtz pair of ten times the radius: (4/5)^1.5 mu0 N I / R, which
    falls by 1.15 (a/R)^4 = 1e-4 to the sphere's poles.
    """
    radius, turns = 100.0, 1000.0
    pair = [
        ring(name, FieldCoil(turns=turns, current_a=10.0), radius - 1, radius + 1, z - 1, z + 1)
        for name, z in (("lower", -radius / 2), ("upper", radius / 2))
    ]
    b0 = 0.8**1.5 * MU_0 * turns * 10.0 / (1e-3 * radius)
    for mu_r in (5.0, 1000.0):
        field = field_of(sphere("ball", linear(mu_r), 10, 48), *pair)
        b = mean_over(field, 0, flux_density_of(field.potential)[1])
        assert b == pytest.approx(3.0 * mu_r / (mu_r + 2.0) * b0, rel=0.003)


@pytest.mark.parametrize(
    ("ratio", "factor"), [(0.1, 0.79668), (0.25, 0.63457), (0.5, 0.47449), (1.0, 0.31158), (2.0, 0.18186)]
)
def test_demagnetising_factor_of_a_cylinder(ratio, factor):
    """Magnetometric factor N = 1 - mean B / (mu0 M) at length over diameter; N(1) and N(0.5) are those of Chen and others."""
    field = field_of(ring("rod", up(1.0), 0, 10, 0, 20 * ratio))
    b = mean_over(field, 0, flux_density_of(field.potential)[1])
    assert 1.0 - b == pytest.approx(factor, abs=5e-4)


def test_current_loop_on_and_off_its_axis():
    """R 50 mm, 1 A: 12.56637 uT in the middle, 4.442883 uT at z = R; r 25, z 20 mm: 3.402976 and 10.299506 uT (elliptic integrals).
    The wire is 0.5 mm thick.
    """
    field = field_of(ring("loop", FieldCoil(turns=1.0, current_a=1.0), 49.75, 50.25, -0.25, 0.25))
    assert on_axis(field, [0.0, 50.0]) == pytest.approx([12.56637e-6, 4.442883e-6], rel=1e-3)
    off = field.flux_density(np.array([0.025]), np.array([0.020]))[0]
    assert off == pytest.approx([3.402976e-6, 10.299506e-6], rel=1e-3)


def test_mutual_inductance_of_two_loops():
    """Both of 50 mm, 20 mm apart: 67.53694 nH (Maxwell's elliptic form)."""
    one = ring("one", FieldCoil(turns=1.0, current_a=1.0), 49.75, 50.25, -0.25, 0.25)
    other = ring("other", FieldCoil(turns=1.0, current_a=0.0), 49.75, 50.25, 19.75, 20.25)
    assert linkage(field_of(one, other), 1) == pytest.approx(67.53694e-9, rel=1e-3)


def test_solenoid_in_the_middle_and_its_inductance():
    """N 100, D 20, l 20 mm: 4.442883 mT per ampere in the middle; 135.8892 uH by Nagaoka's table. The table is for a sheet; a
    winding 0.2 and 0.1 mm thick is taken to thickness 0, the linear part being twice the thinner less the thicker.
    """
    found = []
    for thick in (0.2, 0.1):
        coil = ring("coil", FieldCoil(turns=100.0, current_a=1.0), 10 - thick / 2, 10 + thick / 2, -10, 10)
        field = field_of(coil, refinement=2.0)
        assert on_axis(field, [0.0])[0] == pytest.approx(4.442883e-3, rel=1e-3)
        found.append(linkage(field, 0))
    assert 2.0 * found[1] - found[0] == pytest.approx(135.8892e-6, rel=1e-3)


def test_off_axis_loop_formula_is_the_one_tabled():
    """The elliptic form behind the tabled point, so that the table is no number out of nowhere."""
    a, r, z = 0.05, 0.025, 0.020
    m = 4 * a * r / ((a + r) ** 2 + z**2)
    b_z = MU_0 / (2 * math.pi * math.hypot(a + r, z)) * (
        ellipk(m) + (a**2 - r**2 - z**2) / ((a - r) ** 2 + z**2) * ellipe(m)
    )  # fmt: skip
    assert b_z == pytest.approx(10.299506e-6, rel=1e-6)
