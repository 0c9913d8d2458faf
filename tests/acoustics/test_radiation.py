"""Piston radiation against Rayleigh's formulas, tables and limits."""

import math

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.acoustics.nearfield import axial_transfer, near_field_limit_hz, near_to_far_db
from halfroll.acoustics.radiation import air_mass, directivity, piston_impedance, piston_pressure
from halfroll.core.errors import InputError
from halfroll.core.levels import spl

AIR = Air(1.2, 343.0)

# Piston in an infinite baffle (Rayleigh; tabulated in Beranek 1954 and Kinsler and Frey), values computed apart from
# this project from R1(x) = 1 - 2 J1(x)/x, X1(x) = 2 H1(x)/x.
PISTON = [
    (0.1, 0.00125, 0.04241),
    (0.2, 0.00499, 0.08466),
    (0.5, 0.03093, 0.20869),
    (1.0, 0.11990, 0.39691),
    (2.0, 0.42328, 0.64676),
    (3.0, 0.77396, 0.68007),
    (5.0, 1.13103, 0.32312),
    (8.0, 0.94134, 0.12203),
    (20.0, 0.99332, 0.04727),
]


@pytest.mark.parametrize(("x", "r1", "x1"), PISTON)
def test_piston_impedance(x: float, r1: float, x1: float) -> None:
    """R1 and X1 agree with the table to its last digit."""
    value = complex(piston_impedance(x / 2))
    assert value.real == pytest.approx(r1, abs=6e-6)
    assert value.imag == pytest.approx(x1, abs=6e-6)


def test_resistance_is_power_through_the_half_sphere() -> None:
    """Energy balance: the far-field intensity of the directivity, integrated over the half space, is R1.

    Far pressure p = rho c k a² v D(theta)/(2r); power over rho c S v² is (ka)²/2 ∫ D² sin(theta) dtheta.
    """
    theta = np.linspace(0.0, math.pi / 2, 20001)
    for ka in (0.3, 1.0, 2.5):
        pattern = np.array([float(directivity(ka, float(t))) for t in theta])
        power = ka**2 / 2 * np.trapezoid(pattern**2 * np.sin(theta), theta)
        assert complex(piston_impedance(ka)).real == pytest.approx(power, rel=1e-6)


def test_air_mass() -> None:
    """Both sides of a 50 mm piston carry 0.800 g (Beranek 1954), the low-frequency limit of X1."""
    assert air_mass(0.05, AIR) == pytest.approx(0.800e-3, rel=1e-9)
    ka = 1e-3
    reactance = complex(piston_impedance(ka)).imag * AIR.density * AIR.speed_of_sound * math.pi * 0.05**2
    omega = ka / 0.05 * AIR.speed_of_sound
    assert 2 * reactance / omega == pytest.approx(air_mass(0.05, AIR), rel=1e-5)


def test_directivity() -> None:
    """2 J1(z)/z: values at 1, 2, 3, the -3 dB point and the first null (Bessel function tables)."""
    for z, value in [(1.0, 0.88010), (2.0, 0.57672), (3.0, 0.22604)]:
        assert float(directivity(z, math.pi / 2)) == pytest.approx(value, abs=6e-6)
    assert 20 * math.log10(float(directivity(1.61374, math.pi / 2))) == pytest.approx(-3.0, abs=1e-4)
    assert float(directivity(3.83171, math.pi / 2)) == pytest.approx(0.0, abs=1e-5)
    assert float(directivity(5.0, 0.0)) == 1.0


@pytest.mark.parametrize(
    ("f", "x_peak", "pascal", "level"),
    [(50.0, 5e-3, 0.886355, 92.9316), (40.0, 5e-3, 0.567267, 89.0552), (100.0, 1e-3, 0.709084, 90.9934)],
)
def test_displacement_limited_output(f: float, x_peak: float, pascal: float, level: float) -> None:
    """Pressure rho w² Sd x/(2 pi r) for 133 cm² at 1 m, half space (Small 1972; computed by hand)."""
    rms = float(piston_pressure((2 * math.pi * f) ** 2 * x_peak / math.sqrt(2), 133e-4, 1.0, AIR))
    assert rms == pytest.approx(pascal, rel=2e-6)
    assert float(spl(rms)) == pytest.approx(level, abs=1e-4)


def test_near_to_far() -> None:
    """A 50 mm cone to 1 m: -32.0412 dB (Keele, JAES 22(3), 1974)."""
    assert near_to_far_db(0.05) == pytest.approx(-32.0412, abs=5e-5)


@pytest.mark.parametrize(("error_db", "ka"), [(0.5, 1.169), (1.0, 1.643), (3.0, 2.779)])
def test_near_field_limit(error_db: float, ka: float) -> None:
    """sin(ka/2)/(ka/2) falls by 0.5, 1 and 3 dB at ka 1.169, 1.643, 2.779 (Keele 1974; computed)."""
    limit = near_field_limit_hz(0.05, error_db, AIR)
    assert limit * 2 * math.pi * 0.05 / AIR.speed_of_sound == pytest.approx(ka, abs=6e-4)


def test_near_field_limit_of_a_50_mm_cone() -> None:
    """1 dB at 1794 Hz for 50 mm; an error of nothing is refused."""
    assert near_field_limit_hz(0.05, 1.0, AIR) == pytest.approx(1794.0, abs=0.6)
    with pytest.raises(InputError, match="above 0 dB"):
        near_field_limit_hz(0.05, 0.0)


def test_axial_transfer() -> None:
    """At any distance on axis: -0.515 dB re the 1/r law at 100 mm and 1 kHz for a 50 mm piston (Kinsler and Frey)."""
    f = np.array([1000.0])
    near = abs(complex(axial_transfer(f, 0.05, 0.1, AIR)[0]))
    law = float(piston_pressure(1.0, math.pi * 0.05**2, 0.1, AIR))
    assert 20 * math.log10(near / law) == pytest.approx(-0.515, abs=6e-4)


def test_axial_transfer_joins_near_and_far() -> None:
    """Low-frequency pressure at the cone and at 1 m differ by Keele's 20 lg(a/2r), exactly in the limit r >> a."""
    f = np.array([20.0])
    centre = abs(complex(axial_transfer(f, 0.01, 0.0, AIR)[0]))
    away = abs(complex(axial_transfer(f, 0.01, 1.0, AIR)[0]))
    assert 20 * math.log10(away / centre) == pytest.approx(near_to_far_db(0.01), abs=1e-3)


def test_axial_transfer_carries_the_delay() -> None:
    """The phase at 1 m is that of the way the sound takes."""
    f = np.array([100.0, 200.0])
    phase = np.unwrap(np.angle(axial_transfer(f, 0.01, 1.0, AIR)))
    assert -(phase[1] - phase[0]) / (2 * math.pi * 100.0) == pytest.approx(1.0 / 343.0, rel=1e-4)
