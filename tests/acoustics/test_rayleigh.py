"""Rayleigh's integral against the flat piston (2 J1(x)/x; L. E. Kinsler and A. R. Frey, "Fundamentals of Acoustics") and its own on-axis limit."""

import math

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.radiation import directivity, piston_pressure
from halfroll.acoustics.rayleigh import source_strength, valid_to_hz

RADIUS = 0.05
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(40)
R = RADIUS * (POINTS + 1) / 2
RING = 2 * math.pi * R * RADIUS * WEIGHTS / 2


def test_flat_piston_has_the_textbook_pattern():
    """At every angle and ka, and the tabled values of D and its first null."""
    ka = np.array([0.5, 1.0, 2.0, 5.0, 10.0])
    angles = np.radians([0.0, 15.0, 30.0, 60.0, 90.0])
    flow = np.broadcast_to(RING, (len(ka), len(R))).astype(complex)
    found = source_strength(flow, R, np.zeros_like(R), ka / RADIUS, angles)
    for n, angle in enumerate(angles):
        assert found[n].real == pytest.approx(math.pi * RADIUS**2 * directivity(ka, float(angle)), abs=1e-12)
    # D(1), D(2), D(3) and the first null of 2 J1(x)/x (tables of Bessel functions).
    at = source_strength(
        flow[:1].repeat(4, axis=0),
        R,
        np.zeros_like(R),
        np.array([1.0, 2.0, 3.0, 3.83171]) / RADIUS,
        np.array([np.pi / 2]),
    )
    assert (at[0].real / (math.pi * RADIUS**2)) == pytest.approx([0.88010, 0.57672, 0.22604, 0.0], abs=1e-5)


def test_pressure_on_axis_is_that_of_a_piston():
    """Far away p = rho S a/(2 pi r)."""
    hz = np.array([100.0, 1000.0])
    flow = np.broadcast_to(0.01 * RING, (2, len(R))).astype(complex)
    strength = source_strength(
        flow, R, np.zeros_like(R), 2 * np.pi * hz / STANDARD_AIR.speed_of_sound, np.zeros(1)
    )
    pressure = STANDARD_AIR.density * hz / 2.0 * np.abs(strength[0])
    assert pressure == pytest.approx(piston_pressure(2 * np.pi * hz * 0.01, math.pi * RADIUS**2, 2.0))


def test_two_rings_half_a_wavelength_apart_in_depth_cancel_on_axis():
    """Depth enters as a phase, by the cosine of the angle."""
    found = source_strength(
        np.array([[1.0 + 0j, 1.0]]), np.array([0.01, 0.01]), np.array([0.0, 0.05]), np.array([math.pi / 0.05]), np.radians([0.0, 60.0])
    )  # fmt: skip
    assert abs(found[0, 0]) < 1e-12
    # At 60 degrees the depth is a quarter wave, and J0(x) = 1 - y + y²/4 - y³/36 with y = x²/4.
    y = (math.pi / 0.05 * 0.01 * math.sin(math.pi / 3)) ** 2 / 4
    assert abs(found[1, 0]) == pytest.approx(math.sqrt(2) * (1 - y + y**2 / 4 - y**3 / 36), rel=1e-6)


def test_validity_is_a_quarter_wave():
    """A flat surface has no limit."""
    assert valid_to_hz(0.02) == pytest.approx(STANDARD_AIR.speed_of_sound / 0.08)
    assert math.isinf(valid_to_hz(0.0))
