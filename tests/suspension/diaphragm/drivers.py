"""Moving parts of a small driver for tests, the dunlin's; any part may be given otherwise."""

from __future__ import annotations

from typing import Any

from halfroll.materials.catalogue import catalogue
from halfroll.suspension.design import CapDesign, ConeDesign, FormerDesign, MovingDesign, StripDesign

PLA = catalogue().filaments["pla"]
TPU = catalogue().filaments["tpu-85a"]

CONE: dict[str, Any] = {
    "shape": "straight", "inner_radius_m": 10e-3, "outer_radius_m": 30e-3, "depth_m": 12e-3, "thickness_m": 0.6e-3, "height_over_gap_m": 10e-3,
    "material": PLA,
}  # fmt: skip
FORMER = FormerDesign(
    inner_radius_m=9.85e-3, wall_m=0.3e-3, low_m=-4e-3, high_m=10e-3, material=PLA, winding_kg=1e-3, winding_low_m=-4e-3,
    winding_high_m=4e-3, former_kg=0.3e-3,
)  # fmt: skip
SURROUND: dict[str, Any] = {
    "name": "surround", "family": "half-roll", "inner_radius_m": 30e-3, "outer_radius_m": 40e-3, "thickness_m": 0.6e-3, "material": TPU,
    "height_over_gap_m": 22e-3, "lip_inner_m": 2e-3, "lip_outer_m": 4e-3,
}  # fmt: skip
SPIDER: dict[str, Any] = {
    "name": "spider", "family": "corrugated", "inner_radius_m": 10.15e-3, "outer_radius_m": 26e-3, "rolls": 3, "amplitude_m": 1.5e-3,
    "thickness_m": 0.45e-3, "material": TPU, "height_over_gap_m": 8e-3,
}  # fmt: skip


def dunlin(**other: Any) -> MovingDesign:
    """Cone, cap, former, half roll, corrugated spider, glue and leads."""
    parts: dict[str, Any] = {
        "cone": ConeDesign(**CONE), "cap": CapDesign(radius_m=10e-3, height_m=4e-3, thickness_m=0.6e-3, material=PLA), "former": FORMER,
        "surround": StripDesign(**SURROUND), "spider": StripDesign(**SPIDER), "glue_kg": 0.3e-3, "leads_kg": 0.1e-3,
    }  # fmt: skip
    return MovingDesign(**{**parts, **other})
