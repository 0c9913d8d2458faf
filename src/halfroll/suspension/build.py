"""From what a maker writes down of a strip to what is computed: its profile and the plastic it is printed of."""

from __future__ import annotations

from halfroll.materials.printed import InPrint, in_print
from halfroll.suspension.density import strip_density
from halfroll.suspension.design import StripDesign
from halfroll.suspension.elastic import revolved
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.families import profile_of
from halfroll.suspension.types import SuspensionPart


def part_of(design: StripDesign) -> SuspensionPart:
    """A surround or spider of revolution as a body of finite elements will have it; z = 0 is its inner clamp.

    Its density is that of a weighed print, or of the slicer's grams, where they are stated. The plastic is what `materials.printed.in_print` makes of the filament for a wall that bends along its radius.

    Raises
    ------
    InputError
        Dimensions that cannot be (`profile.check_strip`), or a material that cannot.
    """
    profile = profile_of(design)
    plastic = in_print(
        design.material, raster=design.print.raster, infill=design.print.infill, direction="radial"
    )
    material = Elastic(
        modulus_pa=plastic.modulus_pa, poisson=plastic.poisson, law=plastic.law, density_kg_m3=_density(design, profile, plastic)
    )  # fmt: skip
    return SuspensionPart(
        name=design.name, profile=profile, material=material,
        fatigue_strain=design.material.fatigue_strain, strength_pa=design.material.strength_pa,
    )  # fmt: skip


def _density(design: StripDesign, profile: Profile, plastic: InPrint) -> float:
    if design.print.weighed_kg is None and design.print.slicer_kg is None:
        return plastic.density_kg_m3
    return strip_density(design, revolved.of_wall(profile).amount)
