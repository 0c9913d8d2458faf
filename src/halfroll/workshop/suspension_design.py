"""What moves and what holds it, between ``version.toml`` (millimetres, keys of materials) and the suspension room (metres, values).

A height that is not said follows from the parts it touches: the cone stands on the former's outer end, the surround at the cone's
outer edge, the spider in the middle of the former that is left over the winding.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.types import Conductor, Filament, Origin
from halfroll.motor.coil.wound import wind
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    Point,
    PrintSettings,
    StripDesign,
)
from halfroll.workshop.files import read_whole
from halfroll.workshop.motor_design import coil_of
from halfroll.workshop.number_table import text_of
from halfroll.workshop.suspension_record import (
    CapTable,
    ConeTable,
    MovingTable,
    PrintTable,
    SuspensionTable,
)

if TYPE_CHECKING:
    from halfroll.motor.coil.design import CoilDesign
    from halfroll.workshop.records import VersionRecord

T = TypeVar("T")

EXAMPLE = """\
[surround]
family = "half-roll"
inner_mm = 68
outer_mm = 84
thickness_mm = 0.42
lip_inner_mm = 3
lip_outer_mm = 5
material = "tpu-95a"

[surround.print]
raster = "around"

[spider]
family = "corrugated"
inner_mm = 20.9
outer_mm = 56
thickness_mm = 0.3
rolls = 4
amplitude_mm = 1.2
lip_outer_mm = 4
material = "tpu-95a"

[cone]
shape = "straight"
inner_mm = 20.9
outer_mm = 68
depth_mm = 14
thickness_mm = 0.6
material = "petg"

[cap]
outer_mm = 26
height_mm = 5
thickness_mm = 0.6
material = "petg"

[moving]
glue_g = 0.4
leads_g = 0.2
travel_mm = 4
"""
"""Moving parts for the motor of `motor_design.EXAMPLE` that can be copied into ``version.toml``."""

USUAL_TRAVEL_M = MovingDesign().travel_m

FLEXURES = ("straight-legs", "spiral-arms")
_ARMS_ONLY = ("width_mm", "arms", "sweep_deg", "hub")
_ROLLS_ONLY = (
    "thickness_outer_mm",
    "direction",
    "height_mm",
    "rolls",
    "amplitude_mm",
    "amplitude_outer_mm",
    "points",
)
_BELONGS = {"rolls": ("corrugated",), "amplitude_mm": ("corrugated",), "amplitude_outer_mm": ("corrugated",),
            "points": ("free",), "sweep_deg": ("spiral-arms",)}  # fmt: skip
"""Keys that mean something for some families only. The rest is judged by the suspension room."""

_METALS = {"aluminium": (69e9, 0.33), "copper": (120e9, 0.34)}
"""Modulus (Pa) and Poisson ratio of metals for formers; from memory, as handbooks give them."""
_OTHER_METAL = (100e9, 0.33)


def moving_of(record: VersionRecord, catalogue: Catalogue, folder: Path) -> MovingDesign:
    """The moving parts that a version's record describes; files with profiles lie in `folder`.

    Raises
    ------
    InputError
        A key that is not in the catalogue, a file that cannot be read, or what a part cannot be; its `place.key` names the key in
        ``version.toml``, its `place.file` a profile's own file when the fault is in there.
    """
    coil = None if record.coil is None else coil_of(record.coil, catalogue)
    former = None if coil is None else former_of(coil)
    cone = None if record.cone is None else _cone(record.cone, catalogue, folder, former)
    moving = record.moving or MovingTable()
    travel_mm = (
        moving.travel_mm if moving.travel_mm is not None or record.motor is None else record.motor.travel_mm
    )
    return MovingDesign(
        surround=_suspended("surround", record.surround, catalogue, folder, _surround_height(cone, former)),
        spider=_suspended("spider", record.spider, catalogue, folder, _spider_height(former)),
        cone=cone,
        cap=None if record.cap is None else _cap(record.cap, catalogue),
        former=former,
        glue_kg=_mass("moving.glue_g", moving.glue_g),
        leads_kg=_mass("moving.leads_g", moving.leads_g),
        travel_m=USUAL_TRAVEL_M if travel_mm is None else _travel(travel_mm),
        temperature_c=moving.temperature_c,
    )


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


def _suspended(
    name: str, table: SuspensionTable | None, catalogue: Catalogue, folder: Path, height_m: float
) -> StripDesign | FlexureDesign | None:
    if table is None:
        return None
    _only_its_own(name, table)
    points = _points(name, table, folder)
    common: dict[str, Any] = {
        "name": name,
        "inner_radius_m": _radius(name, "inner_mm", table.inner_mm, points[:1]),
        "outer_radius_m": _radius(name, "outer_mm", table.outer_mm, points[-1:]),
        "thickness_m": 1e-3 * table.thickness_mm,
        "height_over_gap_m": height_m if table.at_mm is None else 1e-3 * table.at_mm,
        "lip_inner_m": 1e-3 * table.lip_inner_mm,
        "lip_outer_m": 1e-3 * table.lip_outer_mm,
        "material": filament_of(f"{name}.material", table.material, catalogue),
        "print": _print(f"{name}.print", table.print),
    }
    if table.family == "straight-legs" or table.family == "spiral-arms":
        return FlexureDesign(
            family=table.family,
            width_m=1e-3 * _said(name, "width_mm", table.width_mm, table.family),
            arms=_said(name, "arms", table.arms, table.family),
            sweep_rad=math.radians(_said(name, "sweep_deg", table.sweep_deg, table.family))
            if table.family == "spiral-arms"
            else 0.0,
            hub=table.hub or "held",
            **common,
        )
    return StripDesign(
        family=table.family,
        thickness_outer_m=_m(table.thickness_outer_mm),
        direction=table.direction or "up",
        height_m=_m(table.height_mm),
        rolls=table.rolls,
        amplitude_m=_m(table.amplitude_mm),
        amplitude_outer_m=_m(table.amplitude_outer_mm),
        points=points,
        **common,
    )


def _only_its_own(name: str, table: SuspensionTable) -> None:
    """Refuse a key that means nothing for the family: it would be taken for a setting that works."""
    flat = table.family in FLEXURES
    for key in _ROLLS_ONLY if flat else _ARMS_ONLY:
        if getattr(table, key) is not None:
            raise _foreign(
                name, key, table, "rolls, corrugations and free profiles" if flat else " and ".join(FLEXURES)
            )
    for key, families in _BELONGS.items():
        if getattr(table, key) is not None and table.family not in families:
            raise _foreign(name, key, table, " and ".join(families))
    if table.points_mm and table.family != "free":
        raise _foreign(name, "points_mm", table, "free")


def _foreign(name: str, key: str, table: SuspensionTable, families: str) -> InputError:
    return InputError(f"{key} of the {name} has no meaning for its family", key=f"{name}.{key}", found=f"{key} with {table.family}",
                      allowed=f"{key} with {families}", remedy=f"Leave out {key}, or change family")  # fmt: skip


def _cone(table: ConeTable, catalogue: Catalogue, folder: Path, former: FormerDesign | None) -> ConeDesign:
    points = _points("cone", table, folder) if table.shape == "free" else _no_points(table)
    foot = 0.0 if former is None else former.high_m
    depth = 1e3 * (points[-1][1] - points[0][1]) if points and table.depth_mm is None else table.depth_mm
    return ConeDesign(
        shape=table.shape,
        inner_radius_m=0.0
        if table.shape == "dome" and table.inner_mm is None
        else _radius("cone", "inner_mm", table.inner_mm, points[:1]),
        outer_radius_m=_radius("cone", "outer_mm", table.outer_mm, points[-1:]),
        depth_m=1e-3 * _said("cone", "depth_mm", depth, table.shape),
        thickness_m=1e-3 * table.thickness_mm,
        thickness_outer_m=_m(table.thickness_outer_mm),
        flare_m=_m(table.flare_mm) or 0.0,
        points=points,
        height_over_gap_m=foot if table.at_mm is None else 1e-3 * table.at_mm,
        material=filament_of("cone.material", table.material, catalogue),
        print=_print("cone.print", table.print),
    )


def _no_points(table: ConeTable) -> tuple[Point, ...]:
    for key in ("points", "points_mm"):
        if getattr(table, key):
            raise InputError(f"{key} of the cone has no meaning for its shape", key=f"cone.{key}", found=f"{key} with {table.shape}",
                             allowed=f"{key} with free", remedy=f"Leave out {key}, or write shape = \"free\"")  # fmt: skip
    if table.flare_mm is not None and table.shape != "flared":
        raise InputError("flare_mm of the cone has no meaning for its shape", key="cone.flare_mm", found=f"flare_mm with {table.shape}",
                         allowed="flare_mm with flared", remedy="Leave out flare_mm, or write shape = \"flared\"")  # fmt: skip
    return ()


def _cap(table: CapTable, catalogue: Catalogue) -> CapDesign:
    return CapDesign(
        radius_m=_radius("cap", "outer_mm", table.outer_mm, ()),
        height_m=1e-3 * table.height_mm,
        thickness_m=1e-3 * table.thickness_mm,
        material=filament_of("cap.material", table.material, catalogue),
        print=_print("cap.print", table.print),
    )


def _surround_height(cone: ConeDesign | None, former: FormerDesign | None) -> float:
    if cone is not None:
        return cone.height_over_gap_m + cone.depth_m
    return 0.0 if former is None else former.high_m


def _spider_height(former: FormerDesign | None) -> float:
    return 0.0 if former is None else 0.5 * (former.winding_high_m + former.high_m)


def _points(name: str, table: SuspensionTable | ConeTable, folder: Path) -> tuple[Point, ...]:
    """A free middle line from the record or from a file beside it."""
    inline = tuple((1e-3 * r, 1e-3 * z) for r, z in table.points_mm)
    if table.points is None:
        if not inline and "free" in (getattr(table, "family", ""), getattr(table, "shape", "")):
            raise InputError(f"The free profile of the {name} must have points", key=f"{name}.points_mm", found="none",
                             allowed="points_mm = [[r, z], ...], or points = a .csv, .svg or .dxf file beside the record")  # fmt: skip
        return inline
    if inline:
        raise InputError(f"The {name} must have its points in one place", key=f"{name}.points", found="points and points_mm",
                         remedy="Leave out one of the two")  # fmt: skip
    return read_profile(folder / table.points, key=f"{name}.points")


def read_profile(path: Path, *, key: str | None = None) -> tuple[Point, ...]:
    """The middle line in a file, points (r, z) in metres from the inner clamp outwards.

    Raises
    ------
    InputError
        There is no such file, or what it holds is no profile; file and line are named.
    """
    if not path.is_file():
        there = sorted(p.name for p in path.parent.glob("*") if p.suffix.lower() in (".csv", ".svg", ".dxf"))
        raise InputError("The file with the profile must be there", key=key, found=f"no file {path.name} in {path.parent}",
                         allowed=there or "a .csv, .svg or .dxf file in the version's folder")  # fmt: skip
    from halfroll.suspension.profile import read_points

    text = text_of(read_whole(path), str(path))
    try:
        return tuple(read_points(text, path.suffix.lower()))
    except InputError as fault:
        raise InputError(fault.message, file=fault.place.file or str(path), key=fault.place.key, line=fault.place.line,
                         found=fault.found, allowed=fault.allowed, remedy=fault.remedy) from fault  # fmt: skip


def _print(key: str, table: PrintTable) -> PrintSettings:
    for name, value in (("line_width_mm", table.line_width_mm), ("layer_mm", table.layer_mm)):
        if not 0.02 <= value <= 3.0:
            raise InputError(f"{name} of the print must be a possible length in millimetres", key=f"{key}.{name}", found=f"{value:g} mm",
                             allowed="0.02 to 3 mm")  # fmt: skip
    if not 0.0 < table.infill <= 1.0:
        hint = (
            f"If {table.infill:g} is in percent, write {table.infill / 100.0:g}"
            if 1.0 < table.infill <= 100.0
            else None
        )
        raise InputError("infill must be a share of the inside that is filled", key=f"{key}.infill", found=f"{table.infill:g}",
                         allowed="above 0, to 1 for solid", remedy=hint)  # fmt: skip
    return PrintSettings(
        line_width_m=1e-3 * table.line_width_mm,
        layer_m=1e-3 * table.layer_mm,
        infill=table.infill,
        raster=table.raster,
        snap=table.snap,
        slicer_kg=None
        if table.slicer_g is None
        else _mass(f"{key}.slicer_g", table.slicer_g, above_zero=True),
        weighed_kg=None
        if table.weighed_g is None
        else _mass(f"{key}.weighed_g", table.weighed_g, above_zero=True),
    )


def filament_of(key: str, material: str, catalogue: Catalogue) -> Filament:
    """The filament of a key: calibrated or stated in ``materials/``, a spool in ``parts/``, or of the catalogue."""
    try:
        found = catalogue.material(material)
    except InputError as fault:
        if fault.place.file is not None:  # a record of one's own that is wrong itself
            raise
        raise InputError(
            fault.message, key=key, found=fault.found, allowed=fault.allowed, remedy=fault.remedy
        ) from fault
    if not isinstance(found, Filament):
        raise InputError("A printed part must be of a filament", key=key, found=found.title,
                         remedy="Look filaments up with: halfroll catalogue filaments")  # fmt: skip
    return found


def _radius(name: str, key: str, diameter_mm: float | None, ends: Iterable[Point]) -> float:
    """Half a diameter; of a free profile without one, where its points end."""
    end = next(iter(ends), None)
    if diameter_mm is None and end is not None:
        return end[0]
    diameter = _said(name, key, diameter_mm, name)
    if not 0.0 <= diameter <= 2000.0:
        raise InputError(f"{key} of the {name} must be a possible diameter in millimetres", key=f"{name}.{key}", found=f"{diameter:g} mm",
                         allowed="0 to 2000 mm")  # fmt: skip
    if end is not None and abs(0.5e-3 * diameter - end[0]) > 1e-5:
        raise InputError(f"{key} of the {name} must be the diameter where its points end", key=f"{name}.{key}", found=f"{diameter:g} mm",
                         allowed=f"{2e3 * end[0]:.6g} mm", remedy=f"Leave out {key}: the points say it")  # fmt: skip
    return 0.5e-3 * diameter


def _said(name: str, key: str, value: T | None, what: str) -> T:
    if value is None:
        raise InputError(f"{key} of the {name} is missing", key=f"{name}.{key}", found="nothing",
                         allowed=f"{key} of a {what}" if what != name else "a diameter in mm")  # fmt: skip
    return value


def _mass(key: str, grams: float, *, above_zero: bool = False) -> float:
    if not 0.0 <= grams <= 1000.0 or (above_zero and grams == 0.0):
        raise InputError(f"{key.rpartition('.')[2]} must be a possible mass in grams", key=key, found=f"{grams:g} g",
                         allowed=f"{'above 0' if above_zero else '0'} to 1000 g")  # fmt: skip
    return 1e-3 * grams


def _travel(travel_mm: float) -> float:
    if not 0.05 <= travel_mm <= 100.0:
        raise InputError("travel_mm of the moving parts must be a possible travel each way", key="moving.travel_mm",
                         found=f"{travel_mm:g} mm", allowed="0.05 to 100 mm")  # fmt: skip
    return 1e-3 * travel_mm


def _m(length_mm: float | None) -> float | None:
    return None if length_mm is None else 1e-3 * length_mm
