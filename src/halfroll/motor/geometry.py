"""Area, volume and mass of bodies of revolution, from their half-sections (theorem of Pappus: V = 2 pi r A)."""

from __future__ import annotations

import math

from halfroll.motor.polygons import Polygon, edges, signed_area
from halfroll.motor.types import Body, Filler, Magnet, Ring, SoftSteel


def area(polygon: Polygon) -> float:
    """Area of a half-section (m²)."""
    return abs(signed_area(polygon))


def volume(polygon: Polygon) -> float:
    """Volume (m³) of a half-section (r, z) turned around the axis: pi times the integral of r² dz around it.

    The same as Pappus' 2 pi times the centroid's radius times the area, without dividing by an area.
    """
    total = sum((b[1] - a[1]) * (a[0] ** 2 + a[0] * b[0] + b[0] ** 2) / 3.0 for a, b in edges(polygon))
    return abs(math.pi * total)


def density(body: Body) -> float | None:
    """Density of what a body is made of (kg/m³); None for a field coil, whose filling nobody stated."""
    matter = body.matter
    if isinstance(matter, Magnet):
        return matter.grade.density_kg_m3
    if isinstance(matter, SoftSteel):
        return matter.steel.density_kg_m3
    if isinstance(matter, Ring):
        return matter.conductor.density_kg_m3
    return matter.density_kg_m3 if isinstance(matter, Filler) else None


def mass(body: Body) -> float | None:
    """Mass of a body (kg); None where its density is not known."""
    per_m3 = density(body)
    return None if per_m3 is None else per_m3 * volume(body.outline)
