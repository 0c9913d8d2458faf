"""Single values of the tables of moving parts in SI, each refused with its key where it cannot be."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import TypeVar

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.printed import LEAST_INFILL
from halfroll.materials.types import Filament
from halfroll.suspension.design import Point, PrintSettings
from halfroll.workshop.suspension_record import PrintTable

T = TypeVar("T")


def print_of(key: str, table: PrintTable) -> PrintSettings:
    """How a part is printed; `key` is that of its table."""
    for name, value in (("line_width_mm", table.line_width_mm), ("layer_mm", table.layer_mm)):
        if not 0.02 <= value <= 3.0:
            raise InputError(f"{name} of the print must be a possible length in millimetres", key=f"{key}.{name}", found=f"{value:g} mm",
                             allowed="0.02 to 3 mm")  # fmt: skip
    if not LEAST_INFILL <= table.infill <= 1.0:
        hint = (
            f"If {table.infill:g} is in percent, write {table.infill / 100.0:g}"
            if 1.0 < table.infill <= 100.0
            else None
        )
        raise InputError("infill must be a share of the inside that is filled", key=f"{key}.infill", found=f"{table.infill:g}",
                         allowed=f"{LEAST_INFILL:g} to 1, which is solid", remedy=hint)  # fmt: skip
    return PrintSettings(
        line_width_m=1e-3 * table.line_width_mm,
        layer_m=1e-3 * table.layer_mm,
        infill=table.infill,
        raster=table.raster,
        snap=table.snap,
        slicer_kg=None
        if table.slicer_g is None
        else mass_of(f"{key}.slicer_g", table.slicer_g, above_zero=True),
        weighed_kg=None
        if table.weighed_g is None
        else mass_of(f"{key}.weighed_g", table.weighed_g, above_zero=True),
    )


def filament_of(key: str, material: str, catalogue: Catalogue) -> Filament:
    """The filament of a key: calibrated or stated in ``materials/``, a spool in ``parts/``, or of the catalogue."""
    try:
        found = catalogue.material(material)
    except InputError as fault:
        if fault.place.file is not None:  # a record of one's own that is wrong itself
            raise
        near = get_close_matches(material, list(catalogue.filaments), n=4, cutoff=0.5) or list(
            catalogue.filaments
        )
        raise InputError("There is no filament of that key", key=key, found=material, allowed=near,
                         remedy="Look filaments up with: halfroll catalogue filaments") from fault  # fmt: skip
    if not isinstance(found, Filament):
        raise InputError("A printed part must be of a filament", key=key, found=found.title,
                         remedy="Look filaments up with: halfroll catalogue filaments")  # fmt: skip
    return found


def radius_of(name: str, key: str, diameter_mm: float | None, ends: Iterable[Point]) -> float:
    """Half a diameter; of a free profile without one, where its points end."""
    end = next(iter(ends), None)
    if diameter_mm is None and end is not None:
        return end[0]
    diameter = said(name, key, diameter_mm, name)
    if not 0.0 <= diameter <= 2000.0:
        raise InputError(f"{key} of the {name} must be a possible diameter in millimetres", key=f"{name}.{key}", found=f"{diameter:g} mm",
                         allowed="0 to 2000 mm")  # fmt: skip
    if end is not None and abs(0.5e-3 * diameter - end[0]) > 1e-5:
        raise InputError(f"{key} of the {name} must be the diameter where its points end", key=f"{name}.{key}", found=f"{diameter:g} mm",
                         allowed=f"{2e3 * end[0]:.6g} mm", remedy=f"Leave out {key}: the points say it")  # fmt: skip
    return 0.5e-3 * diameter


def said(name: str, key: str, value: T | None, what: str) -> T:
    """A value that must be stated for `what`, a family or shape; with `what` the part itself, a diameter."""
    if value is None:
        raise InputError(f"{key} of the {name} is missing", key=f"{name}.{key}", found="nothing",
                         allowed=f"{key} of a {what}" if what != name else "a diameter in mm")  # fmt: skip
    return value


def mass_of(key: str, grams: float, *, above_zero: bool = False) -> float:
    """Grams as kg."""
    if not 0.0 <= grams <= 1000.0 or (above_zero and grams == 0.0):
        raise InputError(f"{key.rpartition('.')[2]} must be a possible mass in grams", key=key, found=f"{grams:g} g",
                         allowed=f"{'above 0' if above_zero else '0'} to 1000 g")  # fmt: skip
    return 1e-3 * grams


def travel_of(travel_mm: float) -> float:
    """The travel each way in m."""
    if not 0.05 <= travel_mm <= 100.0:
        raise InputError("travel_mm of the moving parts must be a possible travel each way", key="moving.travel_mm",
                         found=f"{travel_mm:g} mm", allowed="0.05 to 100 mm")  # fmt: skip
    return 1e-3 * travel_mm


def metres(length_mm: float | None) -> float | None:
    """Millimetres as m, where they are stated."""
    return None if length_mm is None else 1e-3 * length_mm
