"""The demonstration's cabinets: boxes for bird hides, small enough to hang under a shelf, and what their walls do."""

from __future__ import annotations

from typing import Any

from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.paths import cabinet_path
from halfroll.workshop.store import Workshop

CABINETS: dict[str, dict[str, Any]] = {
    "hide-box-2l": {
        "type": "closed", "title": "Hide box, 2 litres", "driver": "avocet/v8",
        "notes": "Hangs under the shelf of a hide. Wool in it takes the edge off the hump that so small a box makes.",
        "inside": {"width_mm": 116.0, "height_mm": 156.0, "depth_mm": 112.0}, "walls": {"thickness_mm": 5.0, "material": "petg", "stiffer": 3.0},
        "stuffing": {"packing_g_l": 10.0}, "losses": {"ql": 15.0, "qa": 6.0, "at_hz": 120.0},
    },
    "reed-box-3l": {
        "type": "vented", "title": "Reed box, 3 litres", "driver": "curlew/v2",
        "notes": "For the reed beds: bitterns boom at 150 Hz. The port lies along the height and opens downwards, so that rain stays out.",
        "inside": {"width_mm": 138.0, "height_mm": 210.0, "depth_mm": 112.0}, "front": {"driver_y_mm": 135.0},
        "port": {"diameter_mm": 36.0, "tuning_hz": 72.0, "wall_mm": 2.0}, "walls": {"thickness_mm": 5.0, "material": "petg", "stiffer": 3.0},
        "losses": {"ql": 8.0}, "bracing_l": 0.05,
    },
    "mud-box-4l": {
        "type": "passive-radiator", "title": "Mud box, 4 litres", "driver": "curlew/v2",
        "notes": "No port for mud and spiders: a weighted flat cone on a surround of its own does its work. In thin walls on purpose, to see what is said of them.",
        "inside": {"width_mm": 280.0, "height_mm": 138.0, "depth_mm": 110.0}, "front": {"driver_x_mm": 75.0},
        "radiator": {"mass_g": 38.0, "cms_mm_per_n": 0.9, "rms_ns_per_m": 0.6, "area_cm2": 84.0, "travel_mm": 6.0},
        "walls": {"thickness_mm": 3.0, "material": "petg"}, "losses": {"ql": 10.0},
    },
}  # fmt: skip


def add_cabinets(workshop: Workshop) -> None:
    """Write them; whether their drivers fit is seen when they are opened."""
    for name, values in CABINETS.items():
        record = CabinetRecord.model_validate({"format": 1, **values})
        workshop.create_record(cabinet_path(workshop.folder, name), name, record)
