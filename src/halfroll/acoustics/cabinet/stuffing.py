"""Stuffing: fibres take up the heat of compressed air, so that a cabinet seems larger.

Slowly, air among fibres is compressed at constant temperature and its compliance is up to γ = 1.4 times that of free air; quickly, the heat
has no time. One relaxation between the two:

    C(ω) = C_free (1 - φ) [1 + s (γ - 1) h/((1 + h)(1 + jωτ))]

φ share of fibre in the stuffed space, s share of the cabinet stuffed, h heat that the fibres hold over that of the air. τ follows from
conduction in the cell of air around one fibre, radius a, cell b = a/√φ, insulated outside: τ = b²/(2 κ) [ln(b/a) - 3/4] (mean temperature of a
uniformly heated cell; own derivation, b >> a). That stuffing makes air isothermal, and by how much at most: Small 1972, Leach 1989 (both from
memory). Flow resistance is not in it: state it as QA.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError

GAMMA = 1.4
"""Ratio of the specific heats of air."""
AIR_DIFFUSIVITY_M2_S = 2.12e-5
"""Of heat in air at 20 °C (from memory)."""
AIR_HEAT_J_M3_K = 1.2 * 1005.0
FIBRE_HEAT_J_KG_K = 1200.0
"""Specific heat of polyester and wool alike, within a fifth (from memory)."""


@dataclass(frozen=True, kw_only=True)
class Stuffing:
    """Fibre in a cabinet: `packing_kg_m3` in the stuffed space, fibre radius (m) and density (kg/m³), share of the cabinet that is stuffed."""

    packing_kg_m3: float
    fibre_radius_m: float = 12e-6
    fibre_density_kg_m3: float = 1380.0
    share: float = 1.0

    def __post_init__(self) -> None:
        for key, what, value, low, high, unit in (
            ("packing_g_l", "packing", self.packing_kg_m3, 0.5, 200.0, " g/l"),
            ("fibre_um", "fibre's diameter", 2e6 * self.fibre_radius_m, 1.0, 2000.0, " µm"),
            (
                "fibre_density_kg_m3",
                "density of the fibre",
                self.fibre_density_kg_m3,
                100.0,
                9000.0,
                " kg/m³",
            ),
            ("share", "stuffed share", self.share, 0.0, 1.0, ""),
        ):
            if not low <= value <= high:
                raise InputError(f"The {what} of the stuffing is out of range", key=f"stuffing.{key}", found=f"{value:g}{unit}",
                                 allowed=f"{low:g} to {high:g}{unit}")  # fmt: skip
        if self.fibre_share > 0.1:
            raise InputError("Stuffing must leave nine tenths of its space to the air", key="stuffing.packing_g_l",
                             found=f"{100 * self.fibre_share:.0f} % fibre")  # fmt: skip

    @property
    def fibre_share(self) -> float:
        """φ, share of the stuffed space that is fibre."""
        return self.packing_kg_m3 / self.fibre_density_kg_m3

    @property
    def gain(self) -> float:
        """Compliance added at low frequency, over that of the air: (γ - 1) s h/(1 + h)."""
        held = self.packing_kg_m3 * FIBRE_HEAT_J_KG_K / AIR_HEAT_J_M3_K
        return (GAMMA - 1.0) * self.share * held / (1.0 + held)

    @property
    def time_s(self) -> float:
        """τ, in which the fibres take up the heat."""
        cell = self.fibre_radius_m / math.sqrt(self.fibre_share)
        return cell**2 / (2.0 * AIR_DIFFUSIVITY_M2_S) * (math.log(cell / self.fibre_radius_m) - 0.75)

    @property
    def air_share(self) -> float:
        """Share of the cabinet that air fills."""
        return 1.0 - self.share * self.fibre_share
