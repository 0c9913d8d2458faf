"""The moving mass, part by part, from geometry and density, the slicer's grams or a scale; Sd; the air load.

Each body of revolution is integrated over its half-section (`revolved`). A slicer's or a scale's grams take the place of the
computed mass and leave the shape, hence the centre of gravity and the moments of inertia, as computed. A surround or spider
counts with the share that moves along with its inner edge (`follow`, or the study's own).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import air_mass
from halfroll.core.errors import InputError
from halfroll.materials.printed import in_print
from halfroll.materials.types import Filament
from halfroll.suspension.build import part_of
from halfroll.suspension.density import lip, plastic_of
from halfroll.suspension.design import FlexureDesign, FormerDesign, MovingDesign, PrintSettings, StripDesign
from halfroll.suspension.diaphragm.follow import Follow, follow
from halfroll.suspension.diaphragm.joints import neck
from halfroll.suspension.elastic import revolved
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.revolved import Solid
from halfroll.suspension.profile.flexure import arm_length, thickness_of
from halfroll.suspension.profile.placed import former_line, placed_cap, placed_cone
from halfroll.suspension.results import MovingMass, MovingPart, PartResult
from halfroll.suspension.study.spread import THICKNESS_U_M

EDGE_U_M = 0.1e-3
"""Standard uncertainty of a printed radius (m) (common practice)."""

SCALE_U_KG = 0.02e-3
"""Standard uncertainty of a pocket scale that shows hundredths of a gram (common practice)."""

SLICER_U = 0.05
"""Relative standard uncertainty of a slicer's grams: how much is really extruded (common practice)."""

COIL_U = 0.02
"""Relative standard uncertainty of a winding's or a former's mass from the coil's design (own estimate: wire diameter, turns)."""

STATED_U = 0.2
"""Relative standard uncertainty of glue and leads when written down from experience (own estimate)."""

SWEPT_U = 0.05
"""Relative standard uncertainty of the area a surround adds: it changes with travel (own estimate)."""

WOUND_KG_M3 = 6000.0
"""Density of wound copper with its enamel and gaps; it only serves the moment of inertia (common practice)."""


def moving_mass(
    design: MovingDesign,
    *,
    surround: PartResult | None = None,
    spider: PartResult | None = None,
    air: Air = STANDARD_AIR,
) -> MovingMass:
    """All that moves: each part's mass with its standard uncertainty, centre of gravity and inertia; their sum; Sd and air load.

    Parameters
    ----------
    design
        What moves. Heights in the result are over the middle of the gap (m).
    surround, spider
        Results of the study of these parts, when there are any: their moving mass and added area take the place of the
        linear estimate made here.
    air
        For the air load (16/3) rho a³ of both sides in an infinite baffle, a = sqrt(Sd/pi).

    Raises
    ------
    InputError
        A part that cannot be, a cap wider than its cone, or nothing that moves.
    """
    cone = placed_cone(design.cone) if design.cone is not None else None
    found = [*_shells(design, cone), *_coil(design.former)]
    added = 0.0
    for holder, result in ((design.surround, surround), (design.spider, spider)):
        if holder is not None:
            part, area = _holder(holder, result)
            found.append(part)
            added += area if holder is design.surround else 0.0
    found.extend(_extras(design, cone))
    if not found:
        raise InputError(
            "Nothing moves: a cone, a former or a suspension is needed", key="cone", found="none"
        )
    area, area_u, added = _piston(design, added)
    return _summed(found, area, area_u, added, air)


def _shells(design: MovingDesign, cone: Profile | None) -> Iterable[tuple[str, Solid, float, str]]:
    """Cone or dome, and cap."""
    if design.cone is not None and cone is not None:
        name = "dome" if design.cone.shape == "dome" else "cone"
        first = design.cone.thickness_m
        mean = 0.5 * (first + (design.cone.thickness_outer_m or first))
        yield _weighed(name, revolved.of_wall(cone), design.cone.material, design.cone.print, mean)
    if design.cap is not None:
        wall = revolved.of_wall(placed_cap(design))
        yield _weighed("dust cap", wall, design.cap.material, design.cap.print, design.cap.thickness_m)


def _weighed(
    name: str,
    volume: Solid,
    filament: Filament,
    settings: PrintSettings,
    wall_m: float,
    whole_m3: float | None = None,
) -> tuple[str, Solid, float, str]:
    """A printed part by mass: (name, solid by kg, standard uncertainty in kg, basis).

    `whole_m3` is the volume the slicer or the scale saw when more is printed than moves.
    """
    whole = volume.amount if whole_m3 is None else whole_m3
    for grams, basis, u in (
        (settings.weighed_kg, "scale", SCALE_U_KG),
        (settings.slicer_kg, "slicer", SLICER_U * (settings.slicer_kg or 0.0)),
    ):
        if grams is not None:
            if not grams > 0:
                raise InputError(
                    f"The {name} must weigh more than nothing", key="weighed_g", found=f"{1e3 * grams:g} g"
                )
            return name, volume.times(grams / whole), u * volume.amount / whole, basis
    plastic = plastic_of(filament, settings)
    mass = volume.times(plastic.density_kg_m3)
    relative = math.hypot(plastic.density_u_kg_m3 / plastic.density_kg_m3, THICKNESS_U_M / wall_m)
    return name, mass, relative * mass.amount, "geometry"


def _coil(former: FormerDesign | None) -> Iterable[tuple[str, Solid, float, str]]:
    if former is None:
        return
    tube = revolved.of_wall(former_line(former))
    if former.former_kg > 0:
        yield "former", tube.times(former.former_kg / tube.amount), COIL_U * former.former_kg, "geometry"
    if former.winding_kg > 0:
        inner, high = former.inner_radius_m + former.wall_m, former.winding_high_m - former.winding_low_m
        outer = math.sqrt(inner**2 + former.winding_kg / (math.pi * max(high, 1e-4) * WOUND_KG_M3))
        ring = revolved.of_tube(inner, outer, former.winding_low_m, former.winding_low_m + max(high, 1e-4))
        yield "winding", ring.times(former.winding_kg / ring.amount), COIL_U * former.winding_kg, "geometry"


def strip_follow(strip: StripDesign) -> Follow:
    """The linear solution of a strip of revolution in the plastic it is printed of."""
    return follow(part_of(strip), strip.height_over_gap_m)


def stiffness_at_rest(holder: StripDesign | FlexureDesign) -> float:
    """Kms(0) (N/m) of a part not yet studied: a strip's linear solution; of a flexure its arms as guided beams, 12 E I/L³ each."""
    if isinstance(holder, StripDesign):
        return strip_follow(holder).stiffness_n_per_m
    plastic = in_print(
        holder.material, raster=holder.print.raster, infill=holder.print.infill, direction="radial"
    )
    inertia = holder.width_m * thickness_of(holder) ** 3 / 12
    return float(holder.arms * 12 * plastic.modulus_pa * inertia / arm_length(holder) ** 3)


def _holder(
    holder: StripDesign | FlexureDesign, result: PartResult | None
) -> tuple[tuple[str, Solid, float, str], float]:
    """A surround or spider: what of it moves, and the area it adds (m²)."""
    lips = [lip(holder, inner=True), lip(holder, inner=False)]
    if isinstance(holder, FlexureDesign):
        whole, moving, area = _arms(holder)
    else:
        linear = strip_follow(holder)
        whole, moving, area = linear.volume_m3, linear.moving, linear.area_m2
    if result is not None:
        # The study's moving mass as a volume: it was found with the same density.
        moving = moving.times(whole * result.moving_kg / result.mass_kg / moving.amount)
        area = result.area_m2
    moves = revolved.together([moving, lips[0]])
    total = whole + lips[0].amount + lips[1].amount
    return _weighed(holder.name, moves, holder.material, holder.print, holder.thickness_m, total), area


def _arms(flexure: FlexureDesign) -> tuple[float, Solid, float]:
    """Volume of a flexure's arms and what of it moves: 13/35, the mean square of a guided beam's cubic (Rayleigh)."""
    volume = flexure.arms * flexure.width_m * thickness_of(flexure) * arm_length(flexure)
    # Where that share lies along the arm: the centre of (1 - 3s² + 2s³)², 3/13 of it from the hub.
    radius = flexure.inner_radius_m + 3 / 13 * (flexure.outer_radius_m - flexure.inner_radius_m)
    return volume, revolved.of_ring(13 / 35 * volume, radius, flexure.height_over_gap_m), 0.0


def _extras(design: MovingDesign, cone: Profile | None) -> Iterable[tuple[str, Solid, float, str]]:
    r, z = neck(design, cone)
    for name, mass in (("glue", design.glue_kg), ("leads", design.leads_kg)):
        if mass < 0:
            raise InputError(
                f"The mass of the {name} must not be negative",
                key=f"moving.{name}_g",
                found=f"{1e3 * mass:g} g",
            )
        if mass > 0:
            yield name, revolved.of_ring(mass, r, z), STATED_U * mass, "stated"


def _piston(design: MovingDesign, added: float) -> tuple[float, float, float]:
    """Sd, its standard uncertainty, and the surround's share (m²): all inside the surround's inner clamp moves as one."""
    if design.surround is not None:
        radius = design.surround.inner_radius_m
    elif design.cone is not None:
        radius = design.cone.outer_radius_m
        if design.cone.shape == "free":
            radius = max(p[0] for p in design.cone.points)
    elif design.cap is not None:
        radius = design.cap.radius_m
    else:
        radius, added = neck(design, None)[0], 0.0
    area = math.pi * radius**2 + added
    return area, math.hypot(2 * math.pi * radius * EDGE_U_M, SWEPT_U * added), added


def _summed(
    found: list[tuple[str, Solid, float, str]], area: float, area_u: float, added: float, air: Air
) -> MovingMass:
    whole = revolved.together([solid for _, solid, _, _ in found])
    parts = tuple(
        MovingPart(
            name=name, mass_kg=solid.amount, mass_u_kg=u, centre_m=solid.centre_m, polar_kg_m2=solid.polar,
            diametral_kg_m2=solid.diametral, basis=basis,
        )
        for name, solid, u, basis in found
    )  # fmt: skip
    return MovingMass(
        parts=parts, mass_kg=whole.amount, mass_u_kg=math.sqrt(sum(u**2 for _, _, u, _ in found)),
        centre_m=whole.centre_m, diametral_kg_m2=whole.diametral, air_kg=air_mass(math.sqrt(area / math.pi), air),
        area_m2=area, area_u_m2=area_u, surround_area_m2=added,
    )  # fmt: skip
