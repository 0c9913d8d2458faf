"""What moves and what holds it, between ``version.toml`` (millimetres, keys of materials) and the suspension room (metres, values).

A height that is not said follows from the parts it touches: the cone stands on the former's outer end, the surround at the cone's
outer edge, the spider in the middle of the former that is left over the winding.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    Point,
    StripDesign,
)
from halfroll.workshop.files import read_whole
from halfroll.workshop.motor_design import coil_of
from halfroll.workshop.suspension_former import former_of as former_of
from halfroll.workshop.suspension_record import CapTable, ConeTable, MovingTable, SuspensionTable
from halfroll.workshop.suspension_values import (
    filament_of,
    mass_of,
    metres,
    print_of,
    radius_of,
    said,
    travel_of,
)

if TYPE_CHECKING:
    from halfroll.workshop.records import VersionRecord

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
            "points": ("free",), "sweep_deg": ("spiral-arms",),
            "height_mm": ("half-roll", "elliptic-roll", "m-roll", "double-roll")}  # fmt: skip
"""Keys that mean something for some families only. The rest is judged by the suspension room."""


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
        glue_kg=mass_of("moving.glue_g", moving.glue_g),
        leads_kg=mass_of("moving.leads_g", moving.leads_g),
        travel_m=USUAL_TRAVEL_M if travel_mm is None else travel_of(travel_mm),
        temperature_c=moving.temperature_c,
    )


def _suspended(
    name: str, table: SuspensionTable | None, catalogue: Catalogue, folder: Path, height_m: float
) -> StripDesign | FlexureDesign | None:
    if table is None:
        return None
    _only_its_own(name, table)
    points = _points(name, table, folder)
    common: dict[str, Any] = {
        "name": name,
        "inner_radius_m": radius_of(name, "inner_mm", table.inner_mm, points[:1]),
        "outer_radius_m": radius_of(name, "outer_mm", table.outer_mm, points[-1:]),
        "thickness_m": 1e-3 * table.thickness_mm,
        "height_over_gap_m": height_m if table.at_mm is None else 1e-3 * table.at_mm,
        "lip_inner_m": 1e-3 * table.lip_inner_mm,
        "lip_outer_m": 1e-3 * table.lip_outer_mm,
        "material": filament_of(f"{name}.material", table.material, catalogue),
        "print": print_of(f"{name}.print", table.print),
    }
    if table.family == "straight-legs" or table.family == "spiral-arms":
        return FlexureDesign(
            family=table.family,
            width_m=1e-3 * said(name, "width_mm", table.width_mm, table.family),
            arms=said(name, "arms", table.arms, table.family),
            sweep_rad=math.radians(said(name, "sweep_deg", table.sweep_deg, table.family))
            if table.family == "spiral-arms"
            else 0.0,
            hub=table.hub or "held",
            **common,
        )
    return StripDesign(
        family=table.family,
        thickness_outer_m=metres(table.thickness_outer_mm),
        direction=table.direction or "up",
        height_m=metres(table.height_mm),
        rolls=table.rolls,
        amplitude_m=metres(table.amplitude_mm),
        amplitude_outer_m=metres(table.amplitude_outer_mm),
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
        else radius_of("cone", "inner_mm", table.inner_mm, points[:1]),
        outer_radius_m=radius_of("cone", "outer_mm", table.outer_mm, points[-1:]),
        depth_m=1e-3 * said("cone", "depth_mm", depth, table.shape),
        thickness_m=1e-3 * table.thickness_mm,
        thickness_outer_m=metres(table.thickness_outer_mm),
        flare_m=metres(table.flare_mm) or 0.0,
        points=points,
        height_over_gap_m=foot if table.at_mm is None else 1e-3 * table.at_mm,
        material=filament_of("cone.material", table.material, catalogue),
        print=print_of("cone.print", table.print),
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
        radius_m=radius_of("cap", "outer_mm", table.outer_mm, ()),
        height_m=1e-3 * table.height_mm,
        thickness_m=1e-3 * table.thickness_mm,
        material=filament_of("cap.material", table.material, catalogue),
        print=print_of("cap.print", table.print),
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

    content = read_whole(path)
    try:
        return tuple(read_points(content, path.suffix.lower()))
    except InputError as fault:
        raise InputError(fault.message, file=fault.place.file or str(path), key=fault.place.key, line=fault.place.line,
                         found=fault.found, allowed=fault.allowed, remedy=fault.remedy) from fault  # fmt: skip
