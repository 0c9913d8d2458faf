"""Magnets in air against magpylib's closed forms (M. Ortner and L. G. Coliado Bandeira, SoftwareX 11, 100466, 2020)."""

import magpylib
import numpy as np
import pytest

from tests.motor.bodies import down, field_of, ring, up


def cylinder(br_t, radius_mm, z0_mm, z1_mm):
    """A disc on the axis."""
    return magpylib.magnet.Cylinder(
        polarization=(0, 0, br_t),
        dimension=(2e-3 * radius_mm, 1e-3 * (z1_mm - z0_mm)),
        position=(0, 0, 0.5e-3 * (z0_mm + z1_mm)),
    )


def grid(r_mm, z_mm):
    """All pairs of radii and heights (m)."""
    r, z = np.meshgrid(1e-3 * np.asarray(r_mm), 1e-3 * np.asarray(z_mm), indexing="ij")
    return r.ravel(), z.ravel()


def peer(magnets, r, z):
    """(B_r, B_z) of magpylib's magnets (T)."""
    points = np.column_stack([r, np.zeros_like(r), z])
    return sum(np.atleast_2d(magnet.getB(points)) for magnet in magnets)[:, [0, 2]]


def check(field, magnets, r, z):
    """Within 0.3 % of the largest flux density among the points."""
    got, want = field.flux_density(r, z), peer(magnets, r, z)
    away = np.hypot(*(got - want).T)
    assert away.max() < 0.003 * np.hypot(*want.T).max()


def test_disc_in_and_around():
    """D 20, L 5 mm: within 0.3 % of the largest flux density of the region, half a millimetre from the edges and beyond."""
    field = field_of(ring("disc", up(1.28), 0, 10, 0, 5), refinement=0.5)
    magnets = [cylinder(1.28, 10, 0, 5)]
    check(field, magnets, *grid([0.5, 3, 6, 9.5], [0.5, 2.5, 4.5]))
    check(field, magnets, *grid([0.5, 4, 8, 12, 16], [5.5, 7, 10]))
    check(field, magnets, *grid([10.5, 12, 15], [0.2, 2.5, 4.6]))
    check(field, magnets, *grid([1, 20, 40], [30, 50, 80]))


def test_ring_in_its_hole_and_around():
    """A ferrite ring as the difference of two discs."""
    field = field_of(ring("ring", down(0.38), 16, 30, -12, -2), refinement=0.5)
    magnets = [cylinder(-0.38, 30, -12, -2), cylinder(0.38, 16, -12, -2)]
    check(field, magnets, *grid([16.5, 20, 25, 29.5], [-11.5, -7, -2.5]))
    check(field, magnets, *grid([0.5, 5, 10, 15.5], [-12, -7, -2, 4]))
    check(field, magnets, *grid([17, 25, 35, 50], [-1.5, 3, 10]))


def test_two_magnets_against_each_other():
    """Opposed discs: their fields add."""
    field = field_of(ring("low", up(1.2), 0, 8, 0, 4), ring("high", down(1.0), 0, 6, 7, 12), refinement=0.5)
    magnets = [cylinder(1.2, 8, 0, 4), cylinder(-1.0, 6, 7, 12)]
    check(field, magnets, *grid([0.5, 3, 5.5, 7.5, 11], [4.5, 5.5, 6.5]))
    check(field, magnets, *grid([0.5, 3, 5.5], [0.5, 2, 3.5, 7.5, 9, 11.5]))


def test_stray_field_far_away():
    """The open boundary shows far away, where people and watches are: within 1.5 % at 3 and 4.5 magnet diameters."""
    field = field_of(ring("disc", up(1.28), 0, 8, -5, 0))
    r, z = 1e-3 * np.array([0.0, 10.0, 40.0, 0.0]), 1e-3 * np.array([50.0, 45.0, 10.0, 72.0])
    got, want = field.flux_density(r, z), peer([cylinder(1.28, 8, -5, 0)], r, z)
    assert np.hypot(*(got - want).T) / np.hypot(*want.T) == pytest.approx(0.0, abs=0.015)
