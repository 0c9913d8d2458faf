"""Strips, flexures and cones for tests, dimensions in mm."""

from __future__ import annotations

import math
from typing import Any

from halfroll.materials.catalogue import catalogue
from halfroll.suspension.design import CapDesign, ConeDesign, FlexureDesign, StripDesign


def plastic() -> Any:
    """The softest filament of the catalogue."""
    return min(catalogue().filaments.values(), key=lambda one: one.modulus_pa)


def strip(
    family: str = "half-roll", inner: float = 30, outer: float = 40, thickness: float = 0.8, **more: Any
) -> StripDesign:
    """A surround; lengths in mm under their names without unit."""
    lengths = {
        "thickness_outer",
        "height",
        "amplitude",
        "amplitude_outer",
        "lip_inner",
        "lip_outer",
        "height_over_gap",
    }
    points = tuple((1e-3 * r, 1e-3 * z) for r, z in more.pop("points", ()))
    si = {f"{k}_m": 1e-3 * v for k, v in more.items() if k in lengths}
    rest = {k: v for k, v in more.items() if k not in lengths}
    return StripDesign(**{
        "name": "surround", "family": family, "inner_radius_m": 1e-3 * inner, "outer_radius_m": 1e-3 * outer,
        "thickness_m": 1e-3 * thickness, "points": points, "material": plastic(), **si, **rest,
    })  # fmt: skip


def flexure(family: str = "spiral-arms", inner: float = 14, outer: float = 30, thickness: float = 0.8, width: float = 4,
            arms: int = 3, sweep_deg: float = 180, **more: Any) -> FlexureDesign:  # fmt: skip
    """A spider of arms."""
    lengths = {"lip_inner", "lip_outer", "height_over_gap"}
    si = {f"{k}_m": 1e-3 * v for k, v in more.items() if k in lengths}
    rest = {k: v for k, v in more.items() if k not in lengths}
    return FlexureDesign(**{
        "name": "spider", "family": family, "inner_radius_m": 1e-3 * inner, "outer_radius_m": 1e-3 * outer,
        "thickness_m": 1e-3 * thickness, "width_m": 1e-3 * width, "arms": arms,
        "sweep_rad": math.radians(sweep_deg if family == "spiral-arms" else 0.0), "material": plastic(), **si, **rest,
    })  # fmt: skip


def cone(
    shape: str = "straight",
    inner: float = 12,
    outer: float = 30,
    depth: float = 14,
    thickness: float = 0.8,
    **more: Any,
) -> ConeDesign:
    """A cone or dome."""
    points = tuple((1e-3 * r, 1e-3 * z) for r, z in more.pop("points", ()))
    si = {f"{k}_m": 1e-3 * v for k, v in more.items() if k in {"thickness_outer", "flare", "height_over_gap"}}
    rest = {k: v for k, v in more.items() if f"{k}_m" not in si}
    return ConeDesign(**{
        "shape": shape, "inner_radius_m": 1e-3 * inner, "outer_radius_m": 1e-3 * outer, "depth_m": 1e-3 * depth,
        "thickness_m": 1e-3 * thickness, "points": points, "material": plastic(), **si, **rest,
    })  # fmt: skip


def cap(radius: float = 12, height: float = 4, thickness: float = 0.6) -> CapDesign:
    """A dust cap."""
    return CapDesign(
        radius_m=1e-3 * radius, height_m=1e-3 * height, thickness_m=1e-3 * thickness, material=plastic()
    )
