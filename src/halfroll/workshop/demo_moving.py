"""Surround, spider, cone and cap of the demonstration, in every version that Saltmarsh builds.

Shapes follow the story of the versions: a flat ring, then half rolls; a slotted disc, then bent arms, soft ones, and two mirrored
spiders (here one with twice the arms, held from turning). Widths and sweeps were chosen so that stiffness at rest and moving mass lie
near those of the story; how they go on over the travel is what the suspension room computes.
"""

from __future__ import annotations

from typing import Any

from halfroll.workshop import paths
from halfroll.workshop.fields import Table
from halfroll.workshop.material_record import FilamentTable, MaterialRecord
from halfroll.workshop.parts import material_ids
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.suspension_record import CapTable, ConeTable, MovingTable, SuspensionTable

Tables = dict[str, dict[str, Any]]
"""``[surround]``, ``[spider]``, ``[cone]``, ``[cap]``, ``[moving]`` as a file says them."""

SOFT = "tpu-grey"

HUB_RING_MM = 1.5
"""Radial width of the ring a spider is glued to the former with."""

_MODELS: dict[str, type[Table]] = {
    "surround": SuspensionTable,
    "spider": SuspensionTable,
    "cone": ConeTable,
    "cap": CapTable,
    "moving": MovingTable,
}


def add_moving(workshop: Workshop) -> None:
    """Filaments, and the moving parts of every version there is that Saltmarsh builds."""
    there, known = set(workshop.version_ids()), set(material_ids(workshop))
    for name, material in MATERIALS.items():
        if name not in known:
            workshop.create_record(paths.material_path(workshop.folder, name), name, material)
    for version_id, tables in designs().items():
        if version_id in there:
            loaded = workshop.version(version_id)
            workshop.save(loaded, with_moving(loaded.record, tables))


def with_moving(record: VersionRecord, tables: Tables) -> VersionRecord:
    """A version's record with moving parts."""
    return record.changed(**{name: _MODELS[name].model_validate(table) for name, table in tables.items()})


def designs() -> dict[str, Tables]:
    """The moving parts of every version by its id."""
    ring = _strip("flat", 72.0, 92.0, 0.8)
    roll, outer_roll = _strip("half-roll", 72.0, 92.0, 0.6), _strip("half-roll", 73.0, 93.0, 0.6)
    wide = _strip("half-roll", 69.0, 97.0, 0.42, "tpu-95a")
    disc, bent = _arms(27.5, 43, 0.8, 5, 8, 23), _arms(27.5, 47, 0.8, 5, 4, 37)
    mirrored = _arms(27.5, 47, 0.5, 5, 8, 37)
    small, large = _strip("half-roll", 44.0, 60.0, 0.48), _strip("half-roll", 94.0, 118.0, 0.6)
    smooth, ribbed = _cone(27.5, 73.0, 0.6), _cone(27.5, 73.0, 0.6, slicer_g=1.75)
    small_cone, large_cone = _cone(22.8, 44.0, 0.6), _cone(34.9, 94.0, 0.8)
    return {
        "avocet/v1": _all(ring, disc, _cone(27.5, 72.0, 0.6), 1.5),
        "avocet/v2": _all(roll, disc, _cone(27.5, 72.0, 0.6), 1.8),
        "avocet/v3": _all(outer_roll, bent, smooth, 2.0),
        "avocet/v4": _all(outer_roll, bent, smooth, 3.0),
        "avocet/v5": _all(outer_roll, bent, ribbed, 3.0),
        "avocet/v6": _all(outer_roll, bent | {"material": "tpu-85a"}, ribbed, 3.0),
        "avocet/v7": _all(outer_roll, mirrored, ribbed, 3.5, glue_g=0.4),
        "avocet/v8": _all(wide, mirrored, _cone(27.5, 69.0, 0.8, slicer_g=3.0), 4.0, glue_g=0.4),
        "dunlin/v1": _all(small, _arms(22.8, 37, 0.6, 3.5, 8, 23), small_cone, 2.0),
        "dunlin/v2": _all(small, _arms(22.8, 37, 0.4, 3.5, 6, 32), small_cone, 2.6),
        "curlew/v1": _all(large, _arms(34.9, 57, 0.9, 6, 4, 33), large_cone, 4.0),
        "curlew/v2": _all(large, _arms(34.9, 57, 0.6, 6, 8, 33), large_cone, 4.5, glue_g=0.5),
        "godwit/v1": _all(_strip("half-roll", 96.0, 124.0, 0.5), _arms(36.8, 75, 0.6, 6, 4, 38), _cone(36.8, 96.0, 0.5), 6.0),
    }  # fmt: skip


def _strip(
    family: str, inner_mm: float, outer_mm: float, thickness_mm: float, material: str = SOFT
) -> dict[str, Any]:
    """A surround of filament printed in rings."""
    return {
        "family": family, "inner_mm": inner_mm, "outer_mm": outer_mm, "thickness_mm": thickness_mm, "lip_inner_mm": 2.0,
        "lip_outer_mm": 4.0, "material": material, "print": {"raster": "around", "layer_mm": 0.2},
    }  # fmt: skip


def _arms(
    former_mm: float, outer_mm: float, thickness_mm: float, width_mm: float, arms: int, sweep_deg: float
) -> dict[str, Any]:
    """A flat spider of bent arms, with a ring on the former, outside `former_mm`, that takes the glue."""
    inner_mm = former_mm + 2 * HUB_RING_MM
    return {
        "family": "spiral-arms", "inner_mm": inner_mm, "outer_mm": outer_mm, "thickness_mm": thickness_mm, "width_mm": width_mm, "arms": arms,
        "sweep_deg": sweep_deg, "hub": "held", "lip_inner_mm": HUB_RING_MM, "lip_outer_mm": 4.0, "material": SOFT,
        "print": {"raster": "crossed", "snap": "none"},
    }  # fmt: skip


def _cone(
    former_mm: float, edge_mm: float, thickness_mm: float, *, slicer_g: float | None = None
) -> dict[str, Any]:
    """A straight cone between former and surround; one with ribs weighs what the slicer says."""
    depth = round(0.45 * (edge_mm - former_mm) / 2.0, 1)
    how = {} if slicer_g is None else {"print": {"slicer_g": slicer_g}}
    return {
        "shape": "straight", "inner_mm": former_mm, "outer_mm": edge_mm, "depth_mm": depth, "thickness_mm": thickness_mm, "material": "pp-foam",
    } | how  # fmt: skip


def _all(
    surround: dict[str, Any],
    spider: dict[str, Any],
    cone: dict[str, Any],
    travel_mm: float,
    *,
    glue_g: float = 0.15,
) -> Tables:
    """With a cap over the former."""
    cap = {"outer_mm": cone["inner_mm"] + 1.5, "height_mm": 5.0, "thickness_mm": 0.6, "material": "pp-foam"}
    moving = {"glue_g": glue_g, "leads_g": 0.05, "travel_mm": travel_mm}
    return {"surround": surround, "spider": spider, "cone": cone, "cap": cap, "moving": moving}


MATERIALS = {
    "tpu-grey": MaterialRecord(
        title="TPU 95A, grey spool",
        source="Strips of the spool bent on the bench, invented for this demonstration",
        notes="Softer than the catalogue's TPU 95A: brands differ by several times.",
        filament=FilamentTable(like="tpu-95a", modulus_mpa=44.0, modulus_u_mpa=2.5, modulus_lines="across"),
    ),
    "pp-foam": MaterialRecord(
        title="PP, foaming",
        source="Weighed and bent strips, invented for this demonstration",
        filament=FilamentTable(like="pp", density_kg_m3=620.0, density_u_kg_m3=20.0, modulus_mpa=800.0, modulus_u_mpa=80.0, modulus_lines="along"),
    ),
}  # fmt: skip
