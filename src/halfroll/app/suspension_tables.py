"""The tables of moving parts as plain values, the way a form holds them: what belongs to a family, what it begins with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from halfroll.app.design_tables import Data, corners, plain
from halfroll.app.typed import number_or_text
from halfroll.suspension.design import MovingDesign
from halfroll.workshop.faults import check
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_record import (
    MOVING_TABLES,
    CapTable,
    ConeTable,
    MovingTable,
    SuspensionTable,
)
from halfroll.workshop.suspensions import MovingTables

PARTS = MOVING_TABLES[:-1]
"""The tables that are parts: surround, spider, cone, cap."""

MODELS: dict[str, Any] = {
    "surround": SuspensionTable,
    "spider": SuspensionTable,
    "cone": ConeTable,
    "cap": CapTable,
    "moving": MovingTable,
}
"""What each table is checked as."""

POINTS = "points_mm"

FAMILY_KEYS: dict[str, tuple[str, ...]] = {
    "half-roll": ("direction", "thickness_outer_mm"),
    "elliptic-roll": ("height_mm", "direction", "thickness_outer_mm"),
    "m-roll": ("height_mm", "direction", "thickness_outer_mm"),
    "double-roll": ("height_mm", "direction", "thickness_outer_mm"),
    "flat": ("thickness_outer_mm",),
    "corrugated": ("rolls", "amplitude_mm", "amplitude_outer_mm", "direction", "thickness_outer_mm"),
    "free": (POINTS, "points", "thickness_outer_mm"),
    "straight-legs": ("arms", "width_mm", "hub"),
    "spiral-arms": ("arms", "width_mm", "sweep_deg", "hub"),
}
"""Keys that a family has beside diameters, thickness, lips, place and material."""

SHAPE_KEYS: dict[str, tuple[str, ...]] = {
    "straight": (),
    "flared": ("flare_mm",),
    "dome": (),
    "free": (POINTS, "points"),
}
"""The same of a cone's shapes."""

_OF_A_FAMILY = {key for keys in FAMILY_KEYS.values() for key in keys}
_WORDS = {"family", "shape", "direction", "hub", "material", "raster", "snap", "points"}
_WHOLE = {"rolls", "arms"}


@dataclass(frozen=True, kw_only=True)
class Suspended:
    """A state of the moving parts that can be built."""

    tables: MovingTables
    design: MovingDesign


def written_moving(record: VersionRecord) -> Data:
    """The tables of a record as plain values without what is not said."""
    return {
        name: plain(table.model_dump(mode="json", exclude_none=True, exclude_defaults=True))
        for name in MOVING_TABLES
        if (table := getattr(record, name)) is not None
    }


def tables_of(data: Data) -> MovingTables:
    """Tables of plain values as records; `InputError` where a type is wrong."""
    made: dict[str, Any] = {name: check(MODELS[name], table, file="") for name, table in data.items()}
    return MovingTables(**made)


def typed_moving(key: str, text: str) -> Any:
    """What was typed at a key as it can stand in the record; what cannot be read stays text, for the check to refuse."""
    last = key.rpartition(".")[2]
    if last == POINTS:
        return corners(text)
    if last in _WORDS:
        return text.strip() or None
    return number_or_text(text, whole=last in _WHOLE)


def fit_family(table: Data) -> None:
    """Give the table of a surround or spider what its family needs, of a size that can be, and take away what it does not have."""
    family = str(table.get("family"))
    keys = FAMILY_KEYS.get(family)
    if keys is None:
        return
    for key in _OF_A_FAMILY - set(keys):
        table.pop(key, None)
    inner, outer = table.get("inner_mm"), table.get("outer_mm")
    if not (isinstance(inner, int | float) and isinstance(outer, int | float) and 0 < inner < outer):
        return
    for key, value in _needed(family, float(inner), float(outer)).items():
        table.setdefault(key, value)
        if key == "width_mm" and isinstance(
            table[key], int | float
        ):  # arms of the other family may be too wide here
            table[key] = min(table[key], value)
    if family == "half-roll":
        table.pop("height_mm", None)


def fit_ends(table: Data) -> Data:
    """Let the diameters of a free profile be where its points end; what they were is returned."""
    points = table.get(POINTS)
    ends = {"inner_mm": 0, "outer_mm": -1}
    if not isinstance(points, list) or len(points) < 2:
        return {}
    if not all(len(one) == 2 and all(isinstance(value, int | float) for value in one) for one in points):
        return {}
    was = {key: table.get(key) for key in ends}
    table.update({key: round(2.0 * points[end][0], 6) for key, end in ends.items()})
    return was


def fit_shape(table: Data) -> None:
    """Give a cone's table what its shape needs, and take away what it does not have."""
    shape = str(table.get("shape", "straight"))
    for key in {"flare_mm", POINTS, "points"} - set(SHAPE_KEYS.get(shape, ())):
        table.pop(key, None)
    inner, outer, depth = (table.get(key, 0.0) for key in ("inner_mm", "outer_mm", "depth_mm"))
    if not all(isinstance(value, int | float) for value in (inner, outer, depth)):
        return
    if shape == "flared":
        table.setdefault("flare_mm", round(0.06 * 0.5 * (outer - inner), 1))
    if shape == "free" and not table.get("points"):
        half = 0.25 * (inner + outer)
        table.setdefault(POINTS, [[0.5 * inner, 0.0], [half, 0.55 * depth], [0.5 * outer, depth]])


def keep_joined(data: Data, key: str, old: Any) -> None:
    """Move the diameter that was glued to a changed one along, and the rest of its part with it."""
    part, _, last = key.partition(".")
    new = (data.get(part) or {}).get(last)
    if not (isinstance(old, int | float) and isinstance(new, int | float)):
        return
    for other, other_key in _GLUED.get(key, ()):
        table = data.get(other) or {}
        if table.get(other_key) != old:
            continue
        table[other_key] = new
        if other == "surround" and other_key == "inner_mm" and isinstance(table.get("outer_mm"), int | float):
            table["outer_mm"] = round(table["outer_mm"] + new - old, 3)


_GLUED = {
    "cone.outer_mm": (("surround", "inner_mm"),),
    "surround.inner_mm": (("cone", "outer_mm"),),
    "cone.inner_mm": (("spider", "inner_mm"),),
    "spider.inner_mm": (("cone", "inner_mm"),),
}
"""Which diameters are glued to which: those of the cone's edges to the surround and, over the former, to the spider."""


def _needed(family: str, inner: float, outer: float) -> Data:
    """What a family needs, for its diameters (mm)."""
    width = 0.5 * (outer - inner)
    if family in ("elliptic-roll", "m-roll", "double-roll"):
        return {
            "height_mm": round({"elliptic-roll": 0.6, "m-roll": 0.25, "double-roll": 0.25}[family] * width, 1)
        }
    if family == "corrugated":
        rolls = max(2, round(width / 4.0))
        return {"rolls": rolls, "amplitude_mm": round(0.25 * width / rolls, 1)}
    if family == "free":
        return {
            POINTS: [[0.5 * inner, 0.0], [0.25 * (inner + outer), round(0.4 * width, 1)], [0.5 * outer, 0.0]]
        }
    if family == "straight-legs":
        return {"arms": 3, "width_mm": round(0.15 * inner, 1)}
    if family == "spiral-arms":
        return {"arms": 3, "width_mm": round(0.2 * width, 1), "sweep_deg": 180}
    return {}
