"""The heat network of a coil in its motor, estimated from the geometry.

Coil to motor: the winding is cut into slices along the axis; where a wall stands near, heat is conducted through the air
between, 2 π k h/ln(r₂/r₁) (Incropera and DeWitt, eq. 3.32; in a gap of a millimetre the Rayleigh number stays under 1 and
air does not move), on the inside through insulation and former first; radiation lies beside it. Where no wall is near the
winding is a fin in air, by natural convection and radiation. Motor to air: the side as a level cylinder, the back as an
upright plate, and radiation. What is between 30 % and 40 % off: an eccentric coil, air pumped by motion, a frame that
covers the motor, a closed box that warms up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.materials.types import Conductor, Filament
from halfroll.materials.wire import grams_per_m, specific_heat_j_kg_k
from halfroll.motor.coil.wound import Coil
from halfroll.motor.heat.air import StillAir, cylinder_w_m2_k, plate_w_m2_k, radiation_w_m2_k
from halfroll.motor.heat.masses import PLASTIC_J_KG_K, heat_j_k
from halfroll.motor.heat.network import HeatNetwork
from halfroll.motor.placing.polygons import intervals
from halfroll.motor.types import Assembly, Body, Filler

U_COIL_J_K = 0.12
U_MOTOR_J_K = 0.05
U_COIL_TO_MOTOR = 0.2
U_MOTOR_TO_AIR = 0.2
U_COIL_TO_AIR = 0.25
"""Relative standard uncertainties: ± 40 % at 95 % for the resistances. Judged, not measured."""

PLASTIC_W_M_K = 0.2
"""Conductivity of printed plastics, 0.13 (PLA) to 0.25 (PA12), from memory."""

PAPER_W_M_K = 0.12
LORENZ = 2.44e-8
"""Lorenz number (V²/K²): a metal conducts heat as k = L T σ (Wiedemann and Franz), within 10 % for copper and aluminium."""

GLUED_J_KG_K = 1300.0
"""Specific heat of enamels and glues (J/(kg K)), 1000 to 1700; from memory."""

NEAR_M = 3e-3
"""A wall farther off than this does not take heat by conduction: k/d falls under what moving air takes."""

ENAMEL_EMISSIVITY = 0.85
STEEL_EMISSIVITY = 0.3
"""Of zinc-plated or bare turned steel; paint makes it 0.9 and the motor cooler."""

REACH_M = 0.25e-3
"""Plastic that takes up heat within a second: a thick wall whose face warms steadily has taken what 4/3 √(a t/π) of it holds (from
Carslaw and Jaeger, Conduction of Heat in Solids, 2.9), a = 1.1e-7 m²/s. Longer powers of a thick former come out low."""

_SLICES = 60


@dataclass(frozen=True, kw_only=True)
class HeatPaths:
    """Conductances (W/K) by the way the heat takes, and the temperatures (°C) they were taken at.

    `former_surface` is what the bare former would lose were it as warm as the coil all over; `former_fin` what it does lose.
    """

    gap_outside: float
    gap_inside: float
    motor_cavity: float
    front_air: float
    former_fin: float
    former_surface: float
    motor_convection: float
    motor_radiation: float
    coil_c: float
    motor_c: float
    air_c: float

    @property
    def coil_to_motor(self) -> float:
        """All ways from coil to motor (W/K)."""
        return self.gap_outside + self.gap_inside + self.motor_cavity

    @property
    def coil_to_air(self) -> float:
        """All ways from coil to the air in front (W/K)."""
        return self.front_air + self.former_fin

    @property
    def motor_to_air(self) -> float:
        """All ways from motor to air (W/K)."""
        return self.motor_convection + self.motor_radiation


def estimate(
    coil: Coil,
    motor: Assembly,
    *,
    coil_c: float = 80.0,
    motor_c: float = 40.0,
    air_c: float = 20.0,
    emissivity: float = STEEL_EMISSIVITY,
) -> HeatNetwork:
    """The network with its uncertainties.

    Parameters
    ----------
    coil, motor
        The coil as wound, and the motor with its parts in their places.
    coil_c, motor_c, air_c
        Temperatures (°C) the conductances are taken at: they change by some per cent per 10 K.
    emissivity
        Of the motor's outside: 0.3 bare or plated steel, 0.9 painted.
    """
    paths = heat_paths(coil, motor, coil_c=coil_c, motor_c=motor_c, air_c=air_c, emissivity=emissivity)
    return HeatNetwork(
        coil_j_k=coil_heat_j_k(coil), motor_j_k=sum(heat_j_k(body) for body in motor.bodies),
        coil_to_motor_k_w=1.0 / paths.coil_to_motor, motor_to_air_k_w=1.0 / paths.motor_to_air,
        coil_to_air_k_w=1.0 / paths.coil_to_air, u_coil_j_k=U_COIL_J_K, u_motor_j_k=U_MOTOR_J_K,
        u_coil_to_motor_k_w=U_COIL_TO_MOTOR, u_motor_to_air_k_w=U_MOTOR_TO_AIR, u_coil_to_air_k_w=U_COIL_TO_AIR,
        source="estimated",
    )  # fmt: skip


def coil_heat_j_k(coil: Coil) -> float:
    """Heat capacity of the coil (J/K): its metal, enamel and glue, and what of the former under the winding warms with it."""
    wire = coil.design.wire
    specific = (
        coil.design.former.specific_heat_j_kg_k
        if isinstance(coil.design.former, Conductor)
        else PLASTIC_J_KG_K
    )
    under = coil.height_m / coil.former_height_m
    return (
        specific_heat_j_kg_k(wire) * 1e-3 * grams_per_m(wire) * coil.winding_length_m
        + GLUED_J_KG_K * (coil.masses.enamel + coil.masses.glue + coil.masses.insulation)
        + _with_it(coil) * specific * coil.masses.former * under
    )


def _with_it(coil: Coil) -> float:
    """Share of the former's wall that warms with the coil: all of metal; of plastic half, whose inner face lags behind, but no more
    than a second reaches.
    """
    if isinstance(coil.design.former, Conductor):
        return 1.0
    return min(0.5, REACH_M / (coil.former_outer_m - coil.former_inner_m))


def heat_paths(
    coil: Coil,
    motor: Assembly,
    *,
    coil_c: float,
    motor_c: float,
    air_c: float,
    emissivity: float = STEEL_EMISSIVITY,
) -> HeatPaths:
    """Every conductance by itself, for the reader to see which way the heat goes."""
    film = StillAir.at(0.5 * (coil_c + motor_c)).conductivity
    across = radiation_w_m2_k(coil_c, motor_c, 1.0 / (1.0 / ENAMEL_EMISSIVITY + 1.0 / STEEL_EMISSIVITY - 1.0))
    free = plate_w_m2_k(coil_c, max(air_c, motor_c - 20.0), max(coil.height_m, 5e-3)) + radiation_w_m2_k(coil_c, air_c, ENAMEL_EMISSIVITY)  # fmt: skip
    winding = coil.winding()
    outside = inside = cavity = front = 0.0
    slice_m = coil.height_m / _SLICES
    for i in range(_SLICES):
        z = winding.z_low + (i + 0.5) * slice_m
        inner, outer = neighbours(motor.bodies, coil.former_inner_m, coil.outermost_m, z)
        air = 0.0
        if outer is not None:
            outside += slice_m * _annulus(coil.outermost_m, outer, film, across)
        else:
            air += slice_m * 2.0 * math.pi * coil.outermost_m * free
        through = _through_former(coil) / slice_m
        if inner is not None:
            inside += 1.0 / (through + 1.0 / (slice_m * _annulus(inner, coil.former_inner_m, film, across)))
        else:
            air += 1.0 / (through + 1.0 / (slice_m * 2.0 * math.pi * coil.former_inner_m * free))
        if z < motor.gap.z_low:
            cavity += air
        else:
            front += air
    convection, radiation = motor_to_air_w_k(motor.bodies, motor_c, air_c, emissivity)
    return HeatPaths(
        gap_outside=outside, gap_inside=inside, motor_cavity=cavity, front_air=front, former_fin=_fin(coil, free),
        former_surface=_bare_m2(coil) * free,
        motor_convection=convection, motor_radiation=radiation, coil_c=coil_c, motor_c=motor_c, air_c=air_c,
    )  # fmt: skip


def neighbours(
    bodies: Sequence[Body], bore_m: float, outer_m: float, z: float
) -> tuple[float | None, float | None]:
    """Radii of the nearest walls inside the coil's bore and outside it at a height (m); None where none is near."""
    inner = outer = None
    for body in bodies:
        if isinstance(body.matter, Filler):
            continue
        for low, high in intervals(tuple((b, a) for a, b in body.outline), z):
            if bore_m - NEAR_M < high < bore_m:
                inner = high if inner is None else max(inner, high)
            if outer_m < low < outer_m + NEAR_M:
                outer = low if outer is None else min(outer, low)
    return inner, outer


def annulus_w_k(r_inner: float, r_outer: float, length_m: float, conductivity_w_m_k: float) -> float:
    """Conductance of a tube-shaped layer (W/K), 2 π k h/ln(r₂/r₁)."""
    return 2.0 * math.pi * conductivity_w_m_k * length_m / math.log(r_outer / r_inner)


def _annulus(r_inner: float, r_outer: float, film: float, radiation: float) -> float:
    """Conductance of an air gap per length (W/(K m)), with radiation across it."""
    return annulus_w_k(r_inner, r_outer, 1.0, film) + 2.0 * math.pi * r_inner * radiation


def _through_former(coil: Coil) -> float:
    """Thermal resistance through insulation and former, times length (K m/W)."""
    wall = 1.0 / annulus_w_k(coil.former_inner_m, coil.former_outer_m, 1.0, _former_w_m_k(coil))
    if coil.inner_m > coil.former_outer_m:
        wall += 1.0 / annulus_w_k(coil.former_outer_m, coil.inner_m, 1.0, PAPER_W_M_K)
    return wall


def _former_w_m_k(coil: Coil) -> float:
    former = coil.design.former
    return PLASTIC_W_M_K if isinstance(former, Filament) else LORENZ * 300.0 / former.resistivity_ohm_m


def _fin(coil: Coil, film_w_m2_k: float) -> float:
    """Conductance (W/K) of the bare former as a fin with an idle tip, √(h P k A) tanh(m L), m = √(h P/(k A)) (Incropera and
    DeWitt, table 3.4, case B); both faces in air.
    """
    length = coil.former_height_m - coil.height_m
    wall = coil.former_outer_m - coil.former_inner_m
    if length <= 0.0:
        return 0.0
    around = _bare_m2(coil) / length
    section = math.pi * (coil.former_inner_m + coil.former_outer_m) * wall
    conducting = _former_w_m_k(coil) * section
    decay = math.sqrt(film_w_m2_k * around / conducting)
    return math.sqrt(film_w_m2_k * around * conducting) * math.tanh(decay * length)


def _bare_m2(coil: Coil) -> float:
    """Both faces of the former beyond the winding (m²)."""
    length = max(0.0, coil.former_height_m - coil.height_m)
    return 2.0 * math.pi * (coil.former_inner_m + coil.former_outer_m) * length


def motor_to_air_w_k(
    bodies: Sequence[Body], motor_c: float, air_c: float, emissivity: float = STEEL_EMISSIVITY
) -> tuple[float, float]:
    """Convection and radiation (W/K) of the side and back of the cylinder around a motor; its front looks at the cone."""
    solid = [body for body in bodies if not isinstance(body.matter, Filler)]
    bounds = [body.bounds for body in solid or bodies]
    radius = max(b[1] for b in bounds)
    height = max(b[3] for b in bounds) - min(b[2] for b in bounds)
    side, back = 2.0 * math.pi * radius * height, math.pi * radius**2
    chord = 0.5 * math.pi * radius  # mean height of a disc on its edge
    warm = max(motor_c, air_c + 1.0)
    convection = side * cylinder_w_m2_k(warm, air_c, 2.0 * radius) + back * plate_w_m2_k(warm, air_c, chord)
    return convection, (side + back) * radiation_w_m2_k(warm, air_c, emissivity)
