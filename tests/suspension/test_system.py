"""Surround and spider together, against the mechanics of a rigid body on springs (textbook, no source needed) and a Duffing spring."""

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.materials.catalogue import catalogue
from halfroll.suspension.design import MovingDesign, StripDesign
from halfroll.suspension.results import MovingMass, PartResult, StiffnessCurve, TravelRange
from halfroll.suspension.study.system import GRAVITY_M_S2, rocking, sag, together, total

TPU = catalogue().filaments["tpu-95a"]
PLA = catalogue().filaments["pla"]


def spring(k, cubic=0.0, square=0.0, u=0.1, reach=5e-3, name="spring", **more):
    """A part with F = k x + square x² + cubic x³ (SI)."""
    x = np.linspace(-reach, reach, 41)
    force = k * x + square * x**2 + cubic * x**3
    slope = k + 2 * square * x + 3 * cubic * x**2
    curve = StiffnessCurve(
        x_m=x,
        force_n=force,
        tangent_n_per_m=slope,
        kms_n_per_m=k + square * x + cubic * x**2,
        u_relative=u,
    )
    nothing = np.zeros_like(x)
    given = {
        "mass_kg": 1e-3,
        "moving_kg": 4e-4,
        "area_m2": 0.0,
        "radial_n_per_m": 0.0,
        "tilt_nm_per_rad": 0.0,
        "cross_n_per_rad": 0.0,
    }
    return PartResult(
        name=name, curve=curve, asymmetry=0.0, limit=TravelRange(low_m=-reach, high_m=reach, full_low=True, full_high=True),
        strain=nothing, stress_pa=nothing, hoop_strain=nothing, own_hz=((900.0, 0),), **{**given, **more},
    )  # fmt: skip


def strip(height, material=TPU):
    """A design at a height; only that and its material matter here."""
    return StripDesign(
        name="spider", family="flat", inner_radius_m=0.01, outer_radius_m=0.02, thickness_m=1e-3,
        height_over_gap_m=height, material=material,
    )  # fmt: skip


def moving(mass=10e-3, air=1e-3, centre=0.0, inertia=4e-6):
    """A rigid body."""
    return MovingMass(
        parts=(), mass_kg=mass, mass_u_kg=0.2e-3, centre_m=centre, diametral_kg_m2=inertia, air_kg=air,
        area_m2=5e-3, area_u_m2=1e-4, surround_area_m2=1e-3,
    )  # fmt: skip


def test_forces_and_stiffnesses_add_up():
    """Over the travel both reach; uncertainties add in squares, of one material straight."""
    one, other = spring(1000.0, cubic=2e7, u=0.1), spring(3000.0, square=4e4, u=0.2, reach=3e-3)
    curve = total((one, other), correlated=False)
    x = curve.x_m
    assert (x[0], x[-1]) == (-3e-3, 3e-3)
    assert curve.force_n == pytest.approx(4000 * x + 4e4 * x**2 + 2e7 * x**3, abs=1e-9)
    assert curve.kms_n_per_m == pytest.approx(4000 + 4e4 * x + 2e7 * x**2, rel=1e-9)
    assert curve.u_relative == pytest.approx(math.hypot(100, 600) / 4000)
    assert total((one, other), correlated=True).u_relative == pytest.approx(700 / 4000)


def test_resonance_and_its_uncertainty():
    """(1/2 pi) sqrt(K/Mms), half the relative uncertainties of both in squares."""
    design = MovingDesign(surround=strip(0.02), spider=strip(0.0, PLA))
    parts = (spring(1000.0, radial_n_per_m=1e5), spring(3000.0, radial_n_per_m=1e5))
    found = together(design, parts, moving())
    assert found.resonance_hz == pytest.approx(math.sqrt(4000 / 11e-3) / (2 * math.pi))
    u = 0.5 * math.hypot(math.hypot(100, 300) / 4000, 0.2 / 11)
    assert found.resonance_u_hz == pytest.approx(u * found.resonance_hz)
    assert together(design, parts).resonance_hz is None


def test_sag_of_a_linear_and_of_a_hardening_spring():
    """Weight over stiffness; and the root of k x + c x³ = W by Cardano."""
    k, c, weight = 1000.0, 4e8, 1.5
    assert sag(spring(k).curve, weight) == pytest.approx(1.5e-3, rel=1e-9)
    p, q = k / c, -weight / c
    root = np.cbrt(-q / 2 + math.sqrt(q**2 / 4 + p**3 / 27)) + np.cbrt(
        -q / 2 - math.sqrt(q**2 / 4 + p**3 / 27)
    )
    assert sag(spring(k, cubic=c).curve, weight) == pytest.approx(root, rel=1e-4)
    assert sag(spring(k).curve, 6.0) is None


def test_sag_grows_with_the_logarithm_of_time():
    """A year is 7.5 decades of seconds; each adds the plastic's creep."""
    stiff = replace(TPU, creep_per_decade=0.04)
    design = MovingDesign(surround=strip(0.02, stiff))
    found = together(design, (spring(1000.0, radial_n_per_m=1e5, tilt_nm_per_rad=1.0),), moving(mass=50e-3))
    first = 50e-3 * GRAVITY_M_S2 / 1000.0
    assert found.sag_m == pytest.approx(first, rel=1e-9)
    assert found.sag_later_m == pytest.approx(first * (1 + 0.04 * math.log10(365 * 86_400)), rel=1e-9)


def test_two_equal_springs_rock_about_the_middle():
    """Radial springs k at +d and -d of the centre of gravity: shift sqrt(2k/m), rocking sqrt(2 k d² / I)."""
    k, d = 2e5, 15e-3
    parts = (spring(1000.0, radial_n_per_m=k), spring(1000.0, radial_n_per_m=k))
    whole = together(MovingDesign(surround=strip(d), spider=strip(-d)), parts)
    found = rocking(whole, [strip(d), strip(-d)], moving())
    assert found is not None
    assert found.shift_hz == pytest.approx(math.sqrt(2 * k / 10e-3) / (2 * math.pi))
    assert found.rocking_hz == pytest.approx(math.sqrt(2 * k * d**2 / 4e-6) / (2 * math.pi))
    assert found.pivot_m == pytest.approx(0.0, abs=1e-9)


def test_one_stiff_end_is_the_pivot():
    """With one radial spring far stiffer than the other the body turns about its clamp: sqrt(k L² / (I + m a²))."""
    stiff, soft, a, b = 1e9, 2e4, -10e-3, 20e-3
    parts = (spring(1000.0, radial_n_per_m=soft), spring(1000.0, radial_n_per_m=stiff))
    heights = [strip(b), strip(a)]
    whole = together(MovingDesign(surround=heights[0], spider=heights[1]), parts)
    found = rocking(whole, heights, moving())
    assert found is not None
    about = 4e-6 + 10e-3 * a**2
    slow = min(found.rocking_hz, found.shift_hz)
    assert slow == pytest.approx(math.sqrt(soft * (b - a) ** 2 / about) / (2 * math.pi), rel=1e-3)
    if found.rocking_hz == slow:
        assert found.pivot_m == pytest.approx(a, abs=1e-4)


def test_nothing_that_holds_it_sideways_gives_no_rocking():
    """An unheld body has no rocking frequency."""
    parts = (spring(1000.0),)
    whole = together(MovingDesign(surround=strip(0.0)), parts)
    assert rocking(whole, [strip(0.0)], moving()) is None
