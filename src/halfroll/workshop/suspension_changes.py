"""What differs between the moving parts of two versions, in the words and units a maker writes into "what changed"."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import Any

from halfroll.materials.types import Filament
from halfroll.motor.placing.design_changes import DesignChange, length_change, text_change
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    PrintSettings,
    StripDesign,
)

_PARTS = ("surround", "spider", "cone", "cap")

_DIAMETERS = {
    "inner_radius_m": ("inner diameter", "inner_mm"),
    "outer_radius_m": ("outer diameter", "outer_mm"),
    "radius_m": ("diameter", "outer_mm"),
}
_LENGTHS = {
    "thickness_m": ("thickness", "thickness_mm"),
    "thickness_outer_m": ("outer thickness", "thickness_outer_mm"),
    "height_m": ("height", "height_mm"),
    "depth_m": ("depth", "depth_mm"),
    "flare_m": ("flare", "flare_mm"),
    "amplitude_m": ("amplitude", "amplitude_mm"),
    "amplitude_outer_m": ("outer amplitude", "amplitude_outer_mm"),
    "width_m": ("arm width", "width_mm"),
    "height_over_gap_m": ("height over the gap", "at_mm"),
    "lip_inner_m": ("inner lip", "lip_inner_mm"),
    "lip_outer_m": ("outer lip", "lip_outer_mm"),
}
_WORDS = {
    "family": "family",
    "shape": "shape",
    "direction": "direction",
    "rolls": "rolls",
    "arms": "arms",
    "hub": "hub",
}
_PRINT = {
    "raster": "raster",
    "snap": "snap",
}

Part = StripDesign | FlexureDesign | ConeDesign | CapDesign


def moving_changes(before: MovingDesign, after: MovingDesign) -> tuple[DesignChange, ...]:
    """What changed from one design to another. The former belongs to the coil and is told there; a length that reads the same, as
    one from a drawing in other units may, has not changed.
    """
    return tuple(change for change in _changes(before, after) if change.before != change.after)


def _changes(before: MovingDesign, after: MovingDesign) -> Iterator[DesignChange]:
    for name in _PARTS:
        old, new = getattr(before, name), getattr(after, name)
        if old is None or new is None:
            if old is not new:
                yield DesignChange(what=name, key=name, before=_whole(old), after=_whole(new))
        else:
            yield from _part(name, old, new)
    yield from text_change("glue", "moving.glue_g", _grams(before.glue_kg), _grams(after.glue_kg))
    yield from text_change("leads", "moving.leads_g", _grams(before.leads_kg), _grams(after.leads_kg))
    yield from length_change("travel", "moving.travel_mm", before.travel_m, after.travel_m)
    yield from text_change("temperature of the moving parts", "moving.temperature_c", f"{before.temperature_c:g} °C",
                           f"{after.temperature_c:g} °C")  # fmt: skip


def _part(name: str, old: Part, new: Part) -> Iterator[DesignChange]:
    for field, word in _WORDS.items():
        yield from text_change(f"{name} {word}", f"{name}.{field}", _text(old, field), _text(new, field))
    for field, (word, key) in _DIAMETERS.items():
        yield from length_change(f"{name} {word}", f"{name}.{key}", _double(old, field), _double(new, field))
    for field, (word, key) in _LENGTHS.items():
        yield from length_change(
            f"{name} {word}", f"{name}.{key}", getattr(old, field, None), getattr(new, field, None)
        )
    yield from text_change(f"{name} sweep", f"{name}.sweep_deg", _degrees(old), _degrees(new))
    yield from _profile(name, old, new)
    yield from text_change(
        f"{name} material", f"{name}.material", _matter(old.material), _matter(new.material)
    )
    yield from _print(name, old.print, new.print)


def _print(name: str, old: PrintSettings, new: PrintSettings) -> Iterator[DesignChange]:
    at = f"{name}.print"
    yield from length_change(f"{name} line width", f"{at}.line_width_mm", old.line_width_m, new.line_width_m)
    yield from length_change(f"{name} layer height", f"{at}.layer_mm", old.layer_m, new.layer_m)
    yield from text_change(f"{name} infill", f"{at}.infill", f"{old.infill:.3g}", f"{new.infill:.3g}")
    for field, word in _PRINT.items():
        yield from text_change(f"{name} {word}", f"{at}.{field}", _text(old, field), _text(new, field))
    yield from text_change(
        f"{name} slicer mass", f"{at}.slicer_g", _grams(old.slicer_kg), _grams(new.slicer_kg)
    )
    yield from text_change(
        f"{name} weighed mass", f"{at}.weighed_g", _grams(old.weighed_kg), _grams(new.weighed_kg)
    )


def _text(part: Any, field: str) -> str:
    value = getattr(part, field, None)
    return "" if value is None else f"{value}"


def _double(part: Any, field: str) -> float | None:
    value = getattr(part, field, None)
    return None if value is None else 2.0 * float(value)


def _degrees(part: Part) -> str:
    sweep = getattr(part, "sweep_rad", 0.0)
    return f"{math.degrees(sweep):.6g}°" if sweep else ""


def _profile(name: str, old: Part, new: Part) -> Iterator[DesignChange]:
    """Profiles of one's own by their size; where that is the same, the new one is called another."""
    before, after = _points(old), _points(new)
    if getattr(old, "points", ()) != getattr(new, "points", ()):
        after = f"another, {after}" if before == after else after
        yield DesignChange(what=f"{name} profile", key=f"{name}.points_mm", before=before, after=after)


def _points(part: Part) -> str:
    points = getattr(part, "points", ())
    if not points:
        return ""
    width, height = (1e3 * (max(row) - min(row)) for row in zip(*points, strict=True))
    return f"{len(points)} points, {width:.3g} mm wide, {height:.3g} mm high"


def _matter(material: Filament) -> str:
    return material.title


def _grams(mass_kg: float | None) -> str:
    return "" if not mass_kg else f"{1e3 * mass_kg:.6g} g"


def _whole(part: Part | FormerDesign | None) -> str:
    """A part in a few words."""
    if part is None:
        return ""
    kind = getattr(part, "family", getattr(part, "shape", "cap"))
    radii = [2e3 * getattr(part, name) for name in _DIAMETERS if hasattr(part, name)]
    sizes = " to ".join(f"{size:.6g} mm" for size in radii if size)
    thickness = dataclasses.asdict(part).get("thickness_m", 0.0)
    return f"{kind}, {sizes}, {1e3 * thickness:.6g} mm of {part.material.title}"
