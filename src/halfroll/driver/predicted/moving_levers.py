"""What is assumed of the moving parts: plastics' moduli, densities, losses and creep; walls, weights, glue; area and air."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from halfroll.driver.predicted.ingredients import Ingredients
from halfroll.driver.predicted.levers import AIR_U, Change, Lever, masses_by, relative
from halfroll.materials.printed import FILL_U
from halfroll.materials.types import Filament
from halfroll.suspension.design import CapDesign, ConeDesign, FlexureDesign, MovingDesign, StripDesign
from halfroll.suspension.results import MovingMass, MovingPart, PartResult
from halfroll.suspension.study.spread import THICKNESS_U_M

Holding = StripDesign | FlexureDesign


def moving_levers(
    design: MovingDesign, parts: tuple[PartResult, ...], mass: MovingMass, *, masses: bool = True
) -> Iterator[Lever]:
    """All of them for a design whose suspension parts (in the order surround, spider) and mass were studied; without `masses` those of
    the mass and area are left out, because these are known otherwise.
    """
    if not masses:
        mass = replace(mass, parts=(), area_u_m2=0.0)
    holders = [(one, result) for one, result in zip(holding(design), parts, strict=True)]
    yield from _plastics(holders)
    for drawn, result in holders:
        yield from _holder(drawn, result, _part(mass, drawn.name))
    shells = [
        (name, drawn) for name, drawn in (("cone", design.cone), ("cap", design.cap)) if drawn is not None
    ]
    for name, shell in shells:
        yield from _shell(name, shell, _shell_part(mass, name))
    yield from _densities(design, mass)
    for name in ("glue", "leads"):
        part = _part(mass, name)
        if part is not None:
            yield relative(f"moving.{name}", f"{name} of the moving parts", "assembly", part.mass_kg, "kg", part.mass_u_kg / part.mass_kg,
                           masses_by(part.mass_kg), source="written down from experience, own estimate")  # fmt: skip
    if mass.area_u_m2 > 0.0:
        yield relative("diaphragm.area", "effective area", "print", mass.area_m2, "m²", mass.area_u_m2 / mass.area_m2,
                       lambda found, factor: replace(found, area_m2=factor * found.area_m2),
                       source="printed radius, and a twentieth of what the surround adds")  # fmt: skip


def air_lever() -> Lever:
    """Density of the air, for its load."""
    return relative("air.density", "density of the air", "air", 1.0, "", AIR_U,
                    lambda found, factor: replace(found, air=replace(found.air, density=factor * found.air.density)),
                    source="5 to 30 °C and 980 to 1040 hPa, own choice")  # fmt: skip


def holding(design: MovingDesign) -> list[Holding]:
    """Surround and spider, those that are designed."""
    return [one for one in (design.surround, design.spider) if one is not None]


def _part(mass: MovingMass, name: str) -> MovingPart | None:
    return next((one for one in mass.parts if one.name == name), None)


def _shell_part(mass: MovingMass, name: str) -> MovingPart | None:
    return next(
        (
            p
            for p in (_part(mass, word) for word in ({"cone": ("cone", "dome"), "cap": ("dust cap",)}[name]))
            if p
        ),
        None,
    )


def _plastics(holders: list[tuple[Holding, PartResult]]) -> Iterator[Lever]:
    """What several parts of one plastic share: modulus, loss, creep."""
    by_key: dict[str, tuple[Filament, tuple[str, ...]]] = {}
    for drawn, _ in holders:
        key = drawn.material.key
        by_key[key] = (drawn.material, (*by_key.get(key, (drawn.material, ()))[1], drawn.name))
    for key, (filament, names) in by_key.items():
        title, record = filament.title, key
        yield relative(f"filament.{key}.modulus", f"modulus of {title}", "material", filament.modulus_pa, "Pa",
                       filament.modulus_u_pa / filament.modulus_pa, _stiffer(names), record=record,
                       source=filament.calibrated or filament.origin.source)  # fmt: skip
        mechanics = (filament.mechanics or filament.origin).source
        if filament.loss_factor > 0.0 and filament.loss_factor_u > 0.0:
            yield relative(f"filament.{key}.loss", f"loss factor of {title}", "material", filament.loss_factor, "",
                           filament.loss_factor_u / filament.loss_factor, _lossier(names), record=record, source=mechanics)  # fmt: skip
        if filament.creep_per_decade > 0.0 and filament.creep_per_decade_u > 0.0:
            yield relative(f"filament.{key}.creep", f"creep of {title} per decade", "material", filament.creep_per_decade, "",
                           filament.creep_per_decade_u / filament.creep_per_decade, _creeping(names), record=record, source=mechanics)  # fmt: skip


def _stiffer(names: tuple[str, ...]) -> Change:
    def change(found: Ingredients, factor: float) -> Ingredients:
        return replace(
            found, holders=tuple(one.stiffer(factor) if one.name in names else one for one in found.holders)
        )

    return change


def _lossier(names: tuple[str, ...]) -> Change:
    def change(found: Ingredients, factor: float) -> Ingredients:
        return replace(found, holders=tuple(
            replace(one, loss_factor=factor * one.loss_factor) if one.name in names else one for one in found.holders
        ))  # fmt: skip

    return change


def _creeping(names: tuple[str, ...]) -> Change:
    def change(found: Ingredients, factor: float) -> Ingredients:
        return replace(found, holders=tuple(
            replace(one, creep_per_decade=factor * one.creep_per_decade) if one.name in names else one for one in found.holders
        ))  # fmt: skip

    return change


def _holder(drawn: Holding, result: PartResult, part: MovingPart | None) -> Iterator[Lever]:
    """One suspension part: how it is printed, and how thick and wide it turns out."""
    name = drawn.name
    own = drawn.material.modulus_u_pa / drawn.material.modulus_pa
    printed, thickness, width = _printed(drawn)
    print_u = math.sqrt(max(printed**2 - own**2, 0.0))
    if print_u > 1e-6:
        yield relative(f"{name}.lines", f"how lines and filling take the load in the {name}", "print", 1.0, "", print_u, _stiffer((name,)),
                       source="share of the modulus across the lines, and how full a wall is")  # fmt: skip
    share = THICKNESS_U_M / thickness
    by_width = 0.0 if width is None else THICKNESS_U_M / width
    power = math.sqrt(max(result.curve.u_relative**2 - printed**2 - by_width**2, 0.0)) / share
    grows = 0.0 if part is None or part.basis != "geometry" else part.mass_kg
    yield relative(f"{name}.thickness", f"thickness of the {name}", "print", thickness, "m", share, _walled(name, power, grows),
                   source="extrusion, common practice")  # fmt: skip
    if width is not None:
        yield relative(f"{name}.width", f"width of the {name}'s arms", "print", width, "m", by_width, _walled(name, 1.0, grows),
                       source="extrusion, common practice")  # fmt: skip
    if part is not None:
        yield from _weight(name, part)


def _walled(name: str, power: float, mass_kg: float) -> Change:
    """A wall thicker by a factor: stiffness by a power of it, mass with it."""

    def change(found: Ingredients, factor: float) -> Ingredients:
        return _stiffer((name,))(found, factor**power).heavier((factor - 1.0) * mass_kg)

    return change


def _printed(drawn: Holding) -> tuple[float, float, float | None]:
    """Relative standard uncertainty of the modulus in the print, thickness (m), and width of an arm (m)."""
    if isinstance(drawn, FlexureDesign):
        from halfroll.suspension.flexure.arm import plastic_of
        from halfroll.suspension.profile.flexure import thickness_of

        return plastic_of(drawn)[1], thickness_of(drawn), drawn.width_m
    from halfroll.materials.printed import in_print
    from halfroll.suspension.build import part_of

    plastic = in_print(drawn.material, raster=drawn.print.raster, infill=drawn.print.infill)
    thickness = float(part_of(drawn).profile.thickness(np.array([0.5]))[0][0])
    return plastic.modulus_u_pa / plastic.modulus_pa, thickness, None


def _shell(name: str, drawn: ConeDesign | CapDesign, part: MovingPart | None) -> Iterator[Lever]:
    """Cone or cap: its wall, and how full it is; or its grams."""
    if part is None:
        return
    if part.basis == "geometry":
        outer = getattr(drawn, "thickness_outer_m", None) or drawn.thickness_m
        wall = 0.5 * (drawn.thickness_m + outer)
        yield relative(f"{name}.thickness", f"thickness of the {name}", "print", wall, "m", THICKNESS_U_M / wall, masses_by(part.mass_kg),
                       source="extrusion, common practice")  # fmt: skip
    yield from _weight(name, part)


def _weight(name: str, part: MovingPart) -> Iterator[Lever]:
    """Grams by a slicer or a scale, else how full the walls are."""
    if part.basis == "geometry":
        yield relative(f"{name}.fill", f"share of plastic in the {name}'s wall", "print", 1.0, "", FILL_U, masses_by(part.mass_kg),
                       source="voids between lines, common practice")  # fmt: skip
    else:
        words = {"slicer": "the slicer's grams", "scale": "the scale's grams"}.get(part.basis, part.basis)
        yield relative(f"{name}.grams", f"mass of the {name} by {words}", "print", part.mass_kg, "kg", part.mass_u_kg / part.mass_kg,
                       masses_by(part.mass_kg), source="common practice")  # fmt: skip


def _densities(design: MovingDesign, mass: MovingMass) -> Iterator[Lever]:
    """Density of each filament, for all parts whose mass comes from their geometry."""
    drawn = [(one.name, one.material) for one in holding(design)]
    drawn += [("cone", design.cone.material)] if design.cone else []
    drawn += [("dome", design.cone.material)] if design.cone else []
    drawn += [("dust cap", design.cap.material)] if design.cap else []
    drawn += [("former", design.former.material)] if design.former else []
    weights: dict[str, float] = {}
    filaments: dict[str, Filament] = {}
    for name, filament in drawn:
        part = _part(mass, name)
        if part is not None and part.basis == "geometry":
            weights[filament.key] = weights.get(filament.key, 0.0) + part.mass_kg
            filaments[filament.key] = filament
    for key, weight in weights.items():
        filament = filaments[key]
        yield relative(f"filament.{key}.density", f"density of {filament.title}", "material", filament.density_kg_m3, "kg/m³",
                       filament.density_u_kg_m3 / filament.density_kg_m3, masses_by(weight), record=key, source=filament.origin.source)  # fmt: skip
