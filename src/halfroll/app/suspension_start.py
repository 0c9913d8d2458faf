"""First moving parts that fit a version's motor: cone, surround, spider and cap about its former."""

from __future__ import annotations

from typing import Any

from halfroll.workshop.records import VersionRecord

WITHOUT_A_COIL_MM = 20.9
"""Outer diameter of a former where no coil is designed yet: a 20 mm pole with 0.25 mm of air and a wall of 0.2 mm."""

USUAL_TRAVEL_MM = 4.0

STARTS: dict[str, tuple[str, str]] = {
    "roll": (
        "Half roll and corrugated spider",
        "Both of revolution and printed flat. Even stiffness both ways, little rocking, a spider that takes time to print well.",
    ),
    "arms": (
        "Half roll and spiral arms",
        "A flat spider of three arms, printed in minutes, very soft for its size. It holds the coil less well sideways.",
    ),
    "edge": (
        "Half roll alone",
        "No spider: the lightest, for small drivers with little travel. Only the surround keeps the coil upright.",
    ),
}
"""Title, and what it is good for, by key."""


def start(key: str, former_mm: float, travel_mm: float = USUAL_TRAVEL_MM) -> dict[str, Any]:
    """The tables of first moving parts on a former of an outer diameter.

    A half roll can follow about its own half width of travel either way; its radius is 1.25 times the travel here, the cone three and a
    quarter formers wide, its angle about 60 degrees from the axis (common practice).
    """
    former = round(former_mm, 2)
    edge = round(3.25 * former)
    width = max(round(2.5 * travel_mm), round(0.1 * edge))
    tables: dict[str, Any] = {
        "surround": {"family": "half-roll", "inner_mm": edge, "outer_mm": edge + 2 * width, "thickness_mm": 0.42, "lip_inner_mm": 3,
                     "lip_outer_mm": 5, "material": "tpu-85a"},
        "cone": {"shape": "straight", "inner_mm": former, "outer_mm": edge, "depth_mm": round(0.28 * (edge - former)), "thickness_mm": 0.6,
                 "material": "petg"},
        "cap": {"outer_mm": round(1.25 * former), "height_mm": round(0.22 * former), "thickness_mm": 0.6, "material": "petg"},
        "moving": {"glue_g": 0.4, "leads_g": 0.2, "travel_mm": travel_mm},
    }  # fmt: skip
    if key == "roll":
        rolls = max(3, round(0.45 * travel_mm) + 2)
        tables["spider"] = {"family": "corrugated", "inner_mm": former, "outer_mm": round(former + 8.0 * rolls), "thickness_mm": 0.3,
                            "rolls": rolls, "amplitude_mm": 1.2, "lip_outer_mm": 4, "material": "tpu-95a"}  # fmt: skip
    if key == "arms":
        tables["spider"] = {"family": "spiral-arms", "inner_mm": round(former + 2.0, 2), "outer_mm": round(former + 34.0), "thickness_mm": 0.6,
                            "arms": 3, "width_mm": 3, "sweep_deg": 180, "lip_inner_mm": 1, "lip_outer_mm": 4, "material": "petg"}  # fmt: skip
    return tables


def former_mm(record: VersionRecord) -> float:
    """Outer diameter of a version's former (mm), under the paper and the winding; a usual one where no coil is designed."""
    if record.coil is None:
        return WITHOUT_A_COIL_MM
    return record.coil.former_inner_mm + 2.0 * record.coil.former_wall_mm


def travel_mm(record: VersionRecord) -> float:
    """The travel the motor leaves room for (mm), or a usual one."""
    stated = None if record.motor is None else record.motor.travel_mm
    return USUAL_TRAVEL_MM if stated is None else stated


def first_part(part: str, data: dict[str, Any], record: VersionRecord) -> dict[str, Any]:
    """The table of a part that is added to others, about those there are."""
    tables = start("roll", former_mm(record), travel_mm(record))
    table: dict[str, Any] = tables[part]
    cone, surround = data.get("cone") or {}, data.get("surround") or {}
    if part == "surround" and isinstance(cone.get("outer_mm"), int | float):
        table.update(
            inner_mm=cone["outer_mm"],
            outer_mm=cone["outer_mm"] + tables["surround"]["outer_mm"] - tables["surround"]["inner_mm"],
        )
    if part == "cone" and isinstance(surround.get("inner_mm"), int | float):
        table["outer_mm"] = surround["inner_mm"]
    return table
