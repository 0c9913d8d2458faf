"""How dense a printed part is: by what a scale or a slicer says of all of it, lips included, or by its plastic."""

from __future__ import annotations

from halfroll.materials.printed import InPrint, in_print
from halfroll.materials.types import Filament
from halfroll.suspension.design import FlexureDesign, PrintSettings, StripDesign
from halfroll.suspension.elastic import revolved
from halfroll.suspension.elastic.revolved import Solid


def plastic_of(filament: Filament, settings: PrintSettings) -> InPrint:
    """The plastic of a cone, dome or cap as printed: such a shell is strained along its radius and around the axis alike."""
    return in_print(filament, raster=settings.raster, infill=settings.infill, direction="both")


def strip_density(holder: StripDesign | FlexureDesign, volume_m3: float) -> float:
    """Density (kg/m³) of a printed surround or spider whose parts between the clamps have a volume (m³): by scale, slicer or plastic."""
    whole = volume_m3 + lip(holder, inner=True).amount + lip(holder, inner=False).amount
    weighed = holder.print.weighed_kg or holder.print.slicer_kg
    return weighed / whole if weighed else plastic_of(holder.material, holder.print).density_kg_m3


def lip(holder: StripDesign | FlexureDesign, *, inner: bool) -> Solid:
    """The flat ring beyond a clamp, glued to the cone (inner) or the frame (outer)."""
    half, z = holder.thickness_m / 2, holder.height_over_gap_m
    if inner:
        low, high = max(0.0, holder.inner_radius_m - holder.lip_inner_m), holder.inner_radius_m
    else:
        low, high = holder.outer_radius_m, holder.outer_radius_m + holder.lip_outer_m
    return revolved.of_tube(low, high, z - half, z + half)
