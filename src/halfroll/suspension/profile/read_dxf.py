"""The one open path of a DXF drawing, from its lines, arcs, polylines, splines and ellipses in any order.

Autodesk, "DXF Reference": group codes of the entities; ``$INSUNITS`` says the unit of length. x = 0 is the axis.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.design import Point
from halfroll.suspension.profile.chain import chained
from halfroll.suspension.profile.stretches import LIBRARY_FAULTS, Stretch, closed_path, line, points_along

UNITS_MM = {
    0: 1.0,
    1: 25.4,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 25.4e-3,
    10: 914.4,
    13: 1e-3,
    14: 100.0,
}
"""Millimetres to the unit of ``$INSUNITS``; 0 is none stated, taken for mm."""

DRAWN = ("LINE", "ARC", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE")
CLOSED = ("CIRCLE", "SOLID", "TRACE", "3DFACE", "MESH", "REGION")


def dxf_points(text: str) -> tuple[Point, ...]:
    """Points (r, z) in metres along the one open path of a drawing's model space.

    Texts, dimensions, hatching and layers that are off or frozen are left out.

    Raises
    ------
    InputError
        Text that is no DXF, an unknown unit, nothing drawn, an open joint, several paths, a closed one, a path with a corner.
    """
    drawing = _read(text)
    # Where a drawing states none, the library fills in one of its own.
    unit = int(drawing.header.get("$INSUNITS", 0)) if "$INSUNITS" in text else 0
    if unit not in UNITS_MM:
        raise InputError(
            "The drawing's unit must be a length that is known", key="$INSUNITS", found=str(unit), allowed="4 (mm), 1 (inch), 5 (cm), 6 (m)"
        )  # fmt: skip
    try:
        return _along(drawing, UNITS_MM[unit])
    except LIBRARY_FAULTS as fault:
        raise InputError(
            "The lines of the drawing must be readable", found=f"something unreadable ({fault})"
        ) from fault


def _along(drawing: Any, unit_mm: float) -> tuple[Point, ...]:
    entities = [one for one in drawing.modelspace() if _shown(drawing, one)]
    stretches = [part for entity in entities for part in _stretches(entity, unit_mm)]
    if not stretches:
        raise InputError(
            "The drawing must hold one path", found="no line or curve in the model space", allowed=", ".join(DRAWN)
        )  # fmt: skip
    return points_along(chained(stretches))


def _read(text: str) -> Any:
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    try:
        return read(io.StringIO(text.replace("\r\n", "\n")))
    except (DXFError, OSError, ValueError, KeyError, IndexError, TypeError, AttributeError) as fault:
        raise InputError(
            "The file must be a DXF drawing as text", found=f"something unreadable ({' '.join(str(fault).split())})",
            remedy="Save it once more as DXF, version 2000 or later, not binary",
        ) from fault  # fmt: skip


def _shown(drawing: Any, entity: Any) -> bool:
    name = entity.dxf.get("layer", "0")
    if name not in drawing.layers:
        return True
    layer = drawing.layers.get(name)
    return not (layer.is_off() or layer.is_frozen())


def _stretches(entity: Any, unit: float) -> Iterator[Stretch]:
    """What an entity draws, in mm; nothing for texts and dimensions."""
    kind = entity.dxftype()
    if kind in CLOSED:
        raise closed_path(kind)
    if kind == "LINE":
        yield line(unit * np.array(entity.dxf.start.xyz), unit * np.array(entity.dxf.end.xyz))
    elif kind == "ARC":
        yield _arc(entity, unit)
    elif kind in ("LWPOLYLINE", "POLYLINE", "INSERT"):
        for part in entity.virtual_entities():
            yield from _stretches(part, unit)
    elif kind in ("SPLINE", "ELLIPSE"):
        yield _curve(entity, unit)


def _arc(entity: Any, unit: float) -> Stretch:
    centre, radius, system = entity.dxf.center, entity.dxf.radius, entity.ocs()
    start = math.radians(entity.dxf.start_angle)
    turn = math.radians(entity.dxf.end_angle) - start
    turn = turn % (2 * math.pi) or 2 * math.pi

    def at(t: FloatArray) -> FloatArray:
        angles = start + turn * np.asarray(t)
        own = [(centre.x + radius * math.cos(a), centre.y + radius * math.sin(a), centre.z) for a in angles]
        return unit * np.array([place.xyz[:2] for place in system.points_to_wcs(own)], dtype=np.float64)

    return Stretch(at=at, straight=False)


def _curve(entity: Any, unit: float) -> Stretch:
    """A spline or part of an ellipse, by the parameter of its own."""
    tool = entity.construction_tool()
    if entity.dxftype() == "SPLINE":
        first = float(tool.knots()[0])
        longest, points = float(tool.max_t) - first, tool.points
    else:
        first, longest = float(tool.start_param), float(tool.param_span)
        points = tool.vertices

    def at(t: FloatArray) -> FloatArray:
        places = points([first + longest * float(one) for one in t])
        return unit * np.array([place.xyz[:2] for place in places], dtype=np.float64)

    return Stretch(at=at, straight=False)
