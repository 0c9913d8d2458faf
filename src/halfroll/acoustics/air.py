"""Air: density and speed of sound from temperature, pressure and humidity.

Density: CIPM-2007 (Picard, Davis, Gläser, Fujii, Metrologia 45, 2008), stated for 15 °C to 27 °C and 60 kPa to 110 kPa with
22 parts in a million; outside it is still far better than a level in decibels needs. Speed of sound: Cramer,
JASA 93(5), 1993, stated for 0 °C to 30 °C and 75 kPa to 102 kPa; that range is enforced (both ranges from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError

CO2_FRACTION = 0.0004
"""Mole fraction of carbon dioxide both equations take as usual."""

_GAS_CONSTANT = 8.314472
_MOLAR_MASS_WATER = 0.01801528


@dataclass(frozen=True)
class Air:
    """What sound needs to know of the air.

    Parameters
    ----------
    density
        ρ (kg/m³).
    speed_of_sound
        c (m/s).
    """

    density: float
    speed_of_sound: float

    @staticmethod
    def at(temperature_c: float, pressure_pa: float = 101325.0, relative_humidity: float = 0.5) -> Air:
        """Air at a temperature (°C), static pressure (Pa) and relative humidity (0 to 1).

        >>> Air.at(20.0).density
        1.1993...

        Raises
        ------
        `InputError` outside 0 °C to 30 °C, 75 kPa to 102 kPa or 0 to 1, the range of Cramer's equation.
        """
        _check("Air temperature (°C)", temperature_c, 0.0, 30.0)
        _check("Air pressure (Pa)", pressure_pa, 75e3, 102e3)
        _check("Relative humidity (0 to 1)", relative_humidity, 0.0, 1.0)
        water = water_fraction(temperature_c, pressure_pa, relative_humidity)
        return Air(
            air_density(temperature_c, pressure_pa, water), speed_of_sound(temperature_c, pressure_pa, water)
        )


def water_fraction(temperature_c: float, pressure_pa: float, relative_humidity: float) -> float:
    """Mole fraction of water vapour, h f(p, t) p_sv(t)/p (CIPM-2007, annex)."""
    kelvin = temperature_c + 273.15
    saturation = math.exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )  # Pa
    enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c**2
    return relative_humidity * enhancement * saturation / pressure_pa


def air_density(temperature_c: float, pressure_pa: float, water: float) -> float:
    """Density (kg/m³), ρ = p M_a/(Z R T) [1 - x_v (1 - M_v/M_a)], x_v = `water` (CIPM-2007, eq. 1 and 2)."""
    t, kelvin = temperature_c, temperature_c + 273.15
    molar_mass = (28.96546 + 12.011 * (CO2_FRACTION - 0.0004)) * 1e-3  # kg/mol
    ratio = pressure_pa / kelvin
    compressibility = (
        1.0
        - ratio
        * (
            1.58123e-6
            - 2.9331e-8 * t
            + 1.1043e-10 * t**2
            + (5.707e-6 - 2.051e-8 * t) * water
            + (1.9898e-4 - 2.376e-6 * t) * water**2
        )
        + ratio**2 * (1.83e-11 - 0.765e-8 * water**2)
    )
    dry = pressure_pa * molar_mass / (compressibility * _GAS_CONSTANT * kelvin)
    return dry * (1.0 - water * (1.0 - _MOLAR_MASS_WATER / molar_mass))


def speed_of_sound(temperature_c: float, pressure_pa: float, water: float) -> float:
    """Speed of sound (m/s) at zero frequency, Cramer 1993, eq. 15 with its sixteen coefficients."""
    t, p, xw, xc = temperature_c, pressure_pa, water, CO2_FRACTION
    return (
        331.5024
        + 0.603055 * t
        - 0.000528 * t**2
        + (51.471935 + 0.1495874 * t - 0.000782 * t**2) * xw
        + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t**2) * p
        + (-85.20931 - 0.228525 * t + 5.91e-5 * t**2) * xc
        - 2.835149 * xw**2
        - 2.15e-13 * p**2
        + 29.179762 * xc**2
        + 0.000486 * xw * p * xc
    )


def _check(field: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise InputError(f"{field} must lie between {low:g} and {high:g}", found=f"{value:g}")


STANDARD_AIR = Air.at(20.0)
"""20 °C, 101 325 Pa, 50 % relative humidity: 1.1993 kg/m³, 343.99 m/s. The default where conditions are not stated."""
