"""Volume, mass and heat capacity of the bodies of a motor.

Specific heats near room temperature (J/(kg K)), from memory: low-carbon steel 465, Nd-Fe-B 450, strontium ferrite 730,
Sm-Co 360, Al-Ni-Co 460, plastics 1500, copper 385; 5 % between sources.
"""

from __future__ import annotations

import math

from halfroll.motor.placing.polygons import edges
from halfroll.motor.types import Body, FieldCoil, Filler, Magnet, Ring, SoftSteel

STEEL_J_KG_K = 465.0
PLASTIC_J_KG_K = 1500.0
MAGNET_J_KG_K = {"neodymium": 450.0, "ferrite": 730.0, "samarium-cobalt": 360.0, "alnico": 460.0}

FIELD_COIL_FILL = 0.6
"""Share of copper in a field coil wound with thick wire; common practice."""


def volume_m3(body: Body) -> float:
    """Volume of a body of revolution, π ∮ r² dz around its half-section, exact for straight edges."""
    return math.pi / 3.0 * abs(
        sum((b[1] - a[1]) * (a[0] ** 2 + a[0] * b[0] + b[0] ** 2) for a, b in edges(body.outline))
    )  # fmt: skip


def density_kg_m3(body: Body) -> float:
    """Density of a body's matter; of a field coil copper by `FIELD_COIL_FILL`."""
    match body.matter:
        case Magnet(grade=grade):
            return grade.density_kg_m3
        case SoftSteel(steel=steel):
            return steel.density_kg_m3
        case Ring(conductor=conductor):
            return conductor.density_kg_m3
        case Filler(density_kg_m3=density):
            return density
        case FieldCoil():
            return FIELD_COIL_FILL * 8890.0


def mass_kg(body: Body) -> float:
    """Mass of a body (kg)."""
    return density_kg_m3(body) * volume_m3(body)


def heat_j_k(body: Body) -> float:
    """Heat capacity of a body (J/K)."""
    match body.matter:
        case Magnet(grade=grade):
            specific = MAGNET_J_KG_K[grade.family]
        case SoftSteel():
            specific = STEEL_J_KG_K
        case Ring(conductor=conductor):
            specific = conductor.specific_heat_j_kg_k
        case Filler():
            specific = PLASTIC_J_KG_K
        case FieldCoil():
            specific = 385.0
    return specific * mass_kg(body)
