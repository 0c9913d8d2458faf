"""What filament a part takes, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.materials.printed import in_print
from halfroll.suspension.models.model import Model

DIAMETERS_M = (1.75e-3, 2.85e-3)
"""Filament as it is sold (common practice)."""

FLOW_U = 0.03
"""Relative standard uncertainty of how much a printer lays down against what it should, flow and rounding to whole lines
together (common practice; a slicer's own grams or a scale are better)."""


@dataclass(frozen=True, kw_only=True)
class FilamentUse:
    """Plastic in one part: volume (m³) without its voids, mass (kg), length (m) of filament of `diameter_m`.

    `u_relative` is the standard uncertainty of mass, as a share; that of volume and length leaves out the density and is
    `flow_u`. `slicer_kg` is what the slicer says, `weighed_kg` the scale, None where unknown.
    """

    volume_m3: float
    mass_kg: float
    length_m: float
    diameter_m: float
    u_relative: float
    flow_u: float = FLOW_U
    slicer_kg: float | None = None
    weighed_kg: float | None = None

    @property
    def mass_u_kg(self) -> float:
        """Standard uncertainty of the mass (kg)."""
        return self.u_relative * self.mass_kg


def filament_use(model: Model, diameter_m: float = DIAMETERS_M[0]) -> FilamentUse:
    """The filament one printed part takes, without brim and supports.

    Raises
    ------
    InputError
        The diameter is none a filament has, or the filling is no share.
    """
    if not (math.isfinite(diameter_m) and 0.5e-3 <= diameter_m <= 5e-3):
        raise InputError("The diameter of a filament must be possible", key="filament_mm", found=f"{1e3 * diameter_m:g} mm",
                         allowed="0.5 to 5 mm; usual are 1.75 and 2.85 mm")  # fmt: skip
    printed = in_print(model.material, raster=model.print.raster, infill=model.print.infill)
    volume = model.volume_m3 * model.print.infill
    return FilamentUse(
        volume_m3=volume, mass_kg=model.volume_m3 * printed.density_kg_m3, length_m=volume / (0.25 * math.pi * diameter_m**2),
        diameter_m=diameter_m, u_relative=math.hypot(printed.density_u_kg_m3 / printed.density_kg_m3, FLOW_U),
        slicer_kg=model.print.slicer_kg, weighed_kg=model.print.weighed_kg,
    )  # fmt: skip
