"""The former of a coil's design as the mechanics of the moving parts sees it."""

from __future__ import annotations

from halfroll.materials.types import Conductor, Filament, Origin
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.wound import wind
from halfroll.suspension.design import FormerDesign

_METALS = {"aluminium": (69e9, 0.33), "copper": (120e9, 0.34)}
"""Modulus (Pa) and Poisson ratio of metals for formers; from memory, as handbooks give them."""
_OTHER_METAL = (100e9, 0.33)


def former_of(coil: CoilDesign) -> FormerDesign:
    """A coil's former as a tube with the winding on it, at rest: flush with the winding inwards, on to the cone outwards."""
    wound = wind(coil)
    winding = wound.winding()
    masses = wound.masses
    return FormerDesign(
        inner_radius_m=wound.former_inner_m,
        wall_m=coil.former_wall_m,
        low_m=winding.z_low,
        high_m=winding.z_low + wound.former_height_m,
        material=coil.former if isinstance(coil.former, Filament) else _sheet(coil.former),
        winding_kg=masses.total - masses.former,
        winding_low_m=winding.z_low,
        winding_high_m=winding.z_high,
        former_kg=masses.former,
    )


def _sheet(metal: Conductor) -> Filament:
    """A former's metal as the mechanics sees it."""
    modulus, poisson = _METALS.get(metal.key, _OTHER_METAL)
    return Filament(
        key=metal.key, title=metal.title, density_kg_m3=metal.density_kg_m3, density_u_kg_m3=0.005 * metal.density_kg_m3,
        modulus_pa=modulus, modulus_u_pa=0.03 * modulus, glass_c=500.0, continuous_c=200.0, expansion_per_k=metal.expansion_per_k,
        origin=Origin(source="modulus as handbooks give it", support="memory"), poisson=poisson, poisson_u=0.01, loss_factor=0.002,
        loss_factor_u=0.002, creep_per_decade=0.0, creep_per_decade_u=0.0, across_factor=1.0, across_factor_u=0.0,
        sheet=True,
    )  # fmt: skip
