"""Printed walls: how far they give to the pressure in the cabinet, and where the first of them resonates.

Thin plates, D = E t³/(12 (1 - ν²)). Edges of a printed box lie between simply supported (Navier's series; Timoshenko and
Woinowsky-Krieger, "Theory of Plates and Shells") and clamped (Warburton 1954, within 1 % of Leissa, NASA SP-160, for the first mode), so both
bounds are given. The front is left out: the driver's frame stiffens it. A cylinder's shell is taken as stiff; its two ends are round plates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air

_TERMS = 39
_CLAMPED_SLOPE, _CLAMPED_CURVE = 1.506, 1.248
"""Warburton's G and H = J of a clamped-clamped direction, first mode."""
_ROUND_SUPPORTED, _ROUND_CLAMPED = 4.935, 10.2158
"""λ² of the first mode of a round plate, ν = 0.3 (Leissa)."""


@dataclass(frozen=True, kw_only=True)
class Walls:
    """Thickness (m), modulus (Pa), Poisson's ratio and density (kg/m³) of the walls; what they are made of, in words.

    `ribs` is the factor by which ribs or bracing raise the bending stiffness D, 1 for plain walls.
    """

    thickness_m: float
    modulus_pa: float
    poisson: float = 0.36
    density_kg_m3: float = 1240.0
    material: str = ""
    ribs: float = 1.0

    @property
    def bending(self) -> float:
        """D (N m)."""
        return self.ribs * self.modulus_pa * self.thickness_m**3 / (12.0 * (1.0 - self.poisson**2))

    @property
    def area_mass(self) -> float:
        """Mass per area (kg/m²)."""
        return self.density_kg_m3 * self.thickness_m


def supported_volume(walls: Walls, a_m: float, b_m: float) -> float:
    """Volume that a simply supported panel gives per pressure (m³/Pa), ``64 a b/(π⁸ D) Σ 1/(m² n² (m²/a² + n²/b²)²)``, odd m and n."""
    odd = np.arange(1, _TERMS + 1, 2, dtype=np.float64)
    m, n = odd[:, None], odd[None, :]
    terms = 1.0 / (m**2 * n**2 * ((m / a_m) ** 2 + (n / b_m) ** 2) ** 2)
    return float(64.0 * a_m * b_m / (math.pi**8 * walls.bending) * terms.sum())


def supported_hz(walls: Walls, a_m: float, b_m: float) -> float:
    """First resonance of a simply supported panel."""
    return math.pi / 2.0 * math.sqrt(walls.bending / walls.area_mass) * (1.0 / a_m**2 + 1.0 / b_m**2)


def clamped_hz(walls: Walls, a_m: float, b_m: float) -> float:
    """First resonance of a clamped panel (Warburton 1954)."""
    ratio = (a_m / b_m) ** 2
    square = _CLAMPED_SLOPE**4 * (1.0 + ratio**2) + 2.0 * ratio * _CLAMPED_CURVE**2
    return (
        math.pi
        / (2.0 * a_m**2)
        * math.sqrt(walls.bending / walls.area_mass * square)
    )  # fmt: skip


def clamped_volume(walls: Walls, a_m: float, b_m: float) -> float:
    """The same with held edges, by Ritz with one term, a square about 3 % too little: ``w = A (x² - a²)² (y² - b²)²``, half sides a and b,
    A = 7/(128 D (a⁴ + b⁴ + 4 a² b²/7)) per pressure (Ugural, "Stresses in Plates and Shells", from memory).
    """
    a, b = a_m / 2.0, b_m / 2.0
    peak = 7.0 / (128.0 * walls.bending * (a**4 + b**4 + 4.0 / 7.0 * a**2 * b**2))
    return peak * (16.0 / 15.0) ** 2 * a**5 * b**5


def round_hz(walls: Walls, radius_m: float) -> tuple[float, float]:
    """First resonance of a round plate, supported and clamped."""
    scale = math.sqrt(walls.bending / walls.area_mass) / (2.0 * math.pi * radius_m**2)
    return _ROUND_SUPPORTED * scale, _ROUND_CLAMPED * scale


def round_volume(walls: Walls, radius_m: float) -> tuple[float, float]:
    """Volume per pressure (m³/Pa) of a round plate, supported π a⁶ (7 + ν)/(192 (1 + ν) D) and clamped π a⁶/(192 D)."""
    nu, held = walls.poisson, math.pi * radius_m**6 / (192.0 * walls.bending)
    return held * (7.0 + nu) / (1.0 + nu), held


@dataclass(frozen=True, kw_only=True)
class WallReading:
    """First resonance of the weakest wall (Hz) and its sides (m), and the share of the air's compliance that all walls add; both with
    supported and with held edges.
    """

    lowest_hz: float
    highest_hz: float
    panel_m: tuple[float, float]
    most_share: float
    least_share: float

    @property
    def share(self) -> float:
        """Geometric mean of both bounds."""
        return math.sqrt(self.most_share * self.least_share)


def read_box(
    walls: Walls, inside_m: tuple[float, float, float], volume_m3: float, air: Air = STANDARD_AIR
) -> WallReading:
    """Of a box, inside width, height and depth (m): back, two sides, top and bottom."""
    width, height, depth = inside_m
    panels = ((width, height), (height, depth), (height, depth), (width, depth), (width, depth))
    weakest = min(panels, key=lambda sides: supported_hz(walls, *sides))
    stiffness = air.density * air.speed_of_sound**2 / volume_m3
    return WallReading(
        lowest_hz=supported_hz(walls, *weakest), highest_hz=clamped_hz(walls, *weakest), panel_m=weakest,
        most_share=stiffness * sum(supported_volume(walls, *sides) for sides in panels),
        least_share=stiffness * sum(clamped_volume(walls, *sides) for sides in panels),
    )  # fmt: skip


def read_cylinder(walls: Walls, diameter_m: float, volume_m3: float, air: Air = STANDARD_AIR) -> WallReading:
    """Of a cylinder: its back."""
    low, high = round_hz(walls, diameter_m / 2.0)
    stiffness = air.density * air.speed_of_sound**2 / volume_m3
    most, least = (stiffness * one for one in round_volume(walls, diameter_m / 2.0))
    return WallReading(lowest_hz=low, highest_hz=high, panel_m=(diameter_m, diameter_m), most_share=most, least_share=least)  # fmt: skip
