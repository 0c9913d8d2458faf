"""Air against published formulas' check values."""

import pytest

from halfroll.acoustics.air import STANDARD_AIR, Air, water_fraction
from halfroll.core.errors import InputError

# Density by CIPM-2007 (Picard et al., Metrologia 45, 2008), speed of sound by Cramer (JASA 93(5), 1993), computed
# apart from this project from the published coefficients: t (C), p (Pa), RH (1), rho (kg/m3), x_v (1), c (m/s).
ROWS = [
    (0.0, 101325.0, 0.0, 1.29305, 0.0, 331.448),
    (15.0, 101325.0, 0.5, 1.22163, 0.008450, 340.876),
    (20.0, 101325.0, 0.0, 1.20456, 0.0, 343.359),
    (20.0, 101325.0, 0.5, 1.19931, 0.011589, 343.987),
    (23.0, 101325.0, 0.5, 1.18608, 0.013928, 345.866),
    (25.0, 101325.0, 0.5, 1.17732, 0.015706, 347.127),
    (30.0, 101325.0, 0.5, 1.15551, 0.021047, 350.310),
    (20.0, 95000.0, 0.5, 1.12410, 0.012359, 344.026),
    (20.0, 85000.0, 0.5, 1.00518, 0.013808, 344.100),
]


@pytest.mark.parametrize(("t", "p", "humidity", "density", "water", "speed"), ROWS)
def test_density_and_speed(
    t: float, p: float, humidity: float, density: float, water: float, speed: float
) -> None:
    """Density, water vapour and speed of sound agree with the table to its last digit."""
    air = Air.at(t, p, humidity)
    assert air.density == pytest.approx(density, abs=6e-6)
    assert air.speed_of_sound == pytest.approx(speed, abs=6e-4)
    assert water_fraction(t, p, humidity) == pytest.approx(water, abs=6e-7)


def test_speed_near_ideal_gas() -> None:
    """Dry air at 20 °C lies within 0.1 % of the ideal-gas form 20.05 sqrt(T) (common textbook form)."""
    assert Air.at(20.0, 101325.0, 0.0).speed_of_sound == pytest.approx(20.05 * 293.15**0.5, rel=1e-3)


def test_standard_air() -> None:
    """The default is 20 °C, sea level, half humid."""
    assert Air.at(20.0, 101325.0, 0.5) == STANDARD_AIR


@pytest.mark.parametrize("bad", [(45.0, 101325.0, 0.5), (20.0, 1013.25, 0.5), (20.0, 101325.0, 50.0)])
def test_out_of_range(bad: tuple[float, float, float]) -> None:
    """Pressure in hPa or humidity in per cent are caught, with the value found."""
    with pytest.raises(InputError, match="must lie between"):
        Air.at(*bad)
