"""What is found of models to print, as a table for people and as plain values for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.text import THIN, count, format_with_u
from halfroll.publish.parameter_rows import Rows
from halfroll.suspension.models.checks import Printable, Volume, check_bed
from halfroll.suspension.models.walls import Wall

HEAD = ("part", "size, mm", "filament", "mass", "length", "volume", "thinnest wall", "overhang", "lies")


def model_rows(found: Sequence[Printable]) -> Rows:
    """One row a model, with the sum of filament under it."""
    rows = tuple(
        (
            one.model.title,
            " × ".join(f"{1e3 * float(side):.1f}" for side in one.model.size_m),
            one.model.material.title,
            format_with_u(1e3 * one.filament.mass_kg, 2e3 * one.filament.mass_u_kg, "g"),
            f"{one.filament.length_m:.2f}{THIN}m",
            f"{1e6 * one.filament.volume_m3:.2f}{THIN}cm³",
            f"{1e3 * thinnest_m(one):.2f}{THIN}mm",
            f"{100.0 * one.overhang:.0f}{THIN}%",
            "outer face down" if one.model.turned_over else "as designed",
        )
        for one in found
    )
    notes = [
        "± covers 95 %: density of the filament, and how much a printer lays down against what it should."
    ]
    if len(found) > 1:
        mass = 1e3 * sum(one.filament.mass_kg for one in found)
        volume = 1e6 * sum(one.filament.volume_m3 for one in found)
        length = sum(one.filament.length_m for one in found)
        notes.append(f"Together {mass:.1f}{THIN}g, {volume:.1f}{THIN}cm³, {length:.1f}{THIN}m of filament in {count(len(found), 'part')}, without brims and supports.")  # fmt: skip
    return Rows(head=HEAD, rows=rows, notes=tuple(notes))


def narrow_model_rows(found: Sequence[Printable]) -> Rows:
    """The same without what is seldom asked, for a terminal of 80 columns: the filament stands with its part."""
    whole = model_rows(found)
    return Rows(
        head=("part", "size, mm", "mass", "length", "wall", "overhang", "lies"),
        rows=tuple((f"{row[0]}; {row[2]}", row[1], row[3], row[4], *row[6:]) for row in whole.rows),
        notes=whole.notes,
    )


def bed_of(text: str, *, key: str) -> Volume:
    """A build volume (m) from ``220x220x250`` as it is typed, in mm; `InputError` names `key`."""
    sides = text.lower().replace("×", "x").split("x")
    try:
        x, y, z = (1e-3 * float(side) for side in sides)
    except ValueError:
        raise InputError("A build volume must be three lengths", key=key, found=text, allowed="such as 220x220x250, in mm") from None  # fmt: skip
    return check_bed((x, y, z))


def thinnest_m(one: Printable) -> float:
    """The thinnest wall of a model (m), measured level or upright as it is built."""
    return min(wall.least_m for wall in (one.walls.standing, one.walls.lying) if wall is not None)


def model_dict(one: Printable) -> dict[str, Any]:
    """One model for a program; keys carry units."""
    model, use = one.model, one.filament
    size = [1e3 * float(side) for side in model.size_m]
    return {
        "part": model.name, "title": model.title, "material": model.material.key, "size_mm": size,
        "side": "upside-down" if model.turned_over else "as-designed", "triangles": len(model.mesh.triangles),
        "volume_cm3": 1e6 * model.volume_m3, "facets_within_mm": 1e3 * model.mesh_error_m,
        "filament": {
            "volume_cm3": {"value": 1e6 * use.volume_m3, "u": 1e6 * use.flow_u * use.volume_m3, "unit": "cm3"},
            "mass_g": {"value": 1e3 * use.mass_kg, "u": 1e3 * use.mass_u_kg, "unit": "g"},
            "length_m": {"value": use.length_m, "u": use.flow_u * use.length_m, "unit": "m"},
            "diameter_mm": 1e3 * use.diameter_m,
            "slicer_g": None if use.slicer_kg is None else 1e3 * use.slicer_kg,
            "weighed_g": None if use.weighed_kg is None else 1e3 * use.weighed_kg,
        },
        "line_width_mm": 1e3 * model.print.line_width_m, "layer_mm": 1e3 * model.print.layer_m, "infill": model.print.infill,
        "walls": {"standing": _wall(one.walls.standing), "lying": _wall(one.walls.lying)},
        "overhang_percent": 100.0 * one.overhang, "first_layer_mm2": 1e6 * one.contact_m2,
        "verdicts": [verdict.as_dict() for verdict in one.verdicts],
    }  # fmt: skip


def _wall(wall: Wall | None) -> dict[str, float | None] | None:
    if wall is None:
        return None
    return {"least_mm": 1e3 * wall.least_m, "usual_mm": None if wall.usual_m is None else 1e3 * wall.usual_m}
