"""How heat leaves a surface to still air: natural convection and radiation.

Air by Sutherland's law for viscosity (S 111 K) and conductivity (S 194 K) with 1.716e-5 Pa s and 0.0241 W/(m K) at 273 K
(F. M. White, Viscous Fluid Flow, table 1-2; from memory), within 1 % of tables from 250 K to 450 K. Correlations of Churchill
and Chu, Int. J. Heat Mass Transfer 18 (1975), p. 1323 (vertical plate) and p. 1049 (horizontal cylinder), as printed in
Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, eq. 9.26 and 9.34; the scatter of measurements about them is 10 %
to 20 %.
"""

from __future__ import annotations

from dataclasses import dataclass

ZERO_C_K = 273.15
STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m² K⁴)."""

GRAVITY = 9.80665
_PRESSURE_PA = 101325.0
_GAS_J_KG_K = 287.05
_HEAT_J_KG_K = 1007.0


@dataclass(frozen=True)
class StillAir:
    """Air at a film temperature: conductivity (W/(m K)), kinematic viscosity (m²/s), Prandtl number, kelvin."""

    conductivity: float
    viscosity: float
    prandtl: float
    kelvin: float

    @staticmethod
    def at(celsius: float) -> StillAir:
        """Air at 101 325 Pa.

        >>> round(StillAir.at(26.85).conductivity, 4)
        0.0262
        """
        t = celsius + ZERO_C_K
        mu = 1.716e-5 * (t / 273.0) ** 1.5 * (273.0 + 111.0) / (t + 111.0)
        k = 0.0241 * (t / 273.0) ** 1.5 * (273.0 + 194.0) / (t + 194.0)
        return StillAir(k, mu * _GAS_J_KG_K * t / _PRESSURE_PA, mu * _HEAT_J_KG_K / k, t)

    def rayleigh(self, rise_k: float, length_m: float) -> float:
        """Rayleigh number g β ΔT L³/(ν a), β = 1/T."""
        return GRAVITY * rise_k * length_m**3 * self.prandtl / (self.kelvin * self.viscosity**2)


def nusselt_plate(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of a vertical plate on its height, any Rayleigh number up to 1e12.

    Nu = {0.825 + 0.387 Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}².
    """
    return float(
        (0.825 + 0.387 * rayleigh ** (1 / 6) / (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    )


def nusselt_cylinder(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of a long horizontal cylinder on its diameter, Rayleigh numbers up to 1e12.

    Nu = {0.60 + 0.387 Ra^(1/6)/[1 + (0.559/Pr)^(9/16)]^(8/27)}².
    """
    return float(
        (0.60 + 0.387 * rayleigh ** (1 / 6) / (1.0 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    )


def plate_w_m2_k(surface_c: float, air_c: float, height_m: float) -> float:
    """Coefficient (W/(m² K)) of a vertical face, properties at the film temperature."""
    air = StillAir.at(0.5 * (surface_c + air_c))
    return (
        nusselt_plate(air.rayleigh(abs(surface_c - air_c), height_m), air.prandtl)
        * air.conductivity
        / height_m
    )


def cylinder_w_m2_k(surface_c: float, air_c: float, diameter_m: float) -> float:
    """Coefficient (W/(m² K)) of the side of a cylinder whose axis lies level, as in a driver that faces forward."""
    air = StillAir.at(0.5 * (surface_c + air_c))
    number = nusselt_cylinder(air.rayleigh(abs(surface_c - air_c), diameter_m), air.prandtl)
    return number * air.conductivity / diameter_m


def radiation_w_m2_k(surface_c: float, around_c: float, emissivity: float) -> float:
    """Coefficient (W/(m² K)) of radiation to surroundings, ε σ (T₁⁴ - T₂⁴)/(T₁ - T₂) = ε σ (T₁ + T₂)(T₁² + T₂²)."""
    hot, cold = surface_c + ZERO_C_K, around_c + ZERO_C_K
    return emissivity * STEFAN_BOLTZMANN * (hot + cold) * (hot**2 + cold**2)
