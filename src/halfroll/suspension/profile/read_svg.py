"""The one open path of an SVG drawing.

Places are those a viewer shows: transforms, the view box and units of length are resolved (W3C Scalable Vector Graphics 2,
chapters 8 and 9; a CSS pixel is 1/96 inch). x = 0, the left edge of the picture, is the axis; y points down in SVG and is turned over.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.text import count
from halfroll.suspension.design import Point
from halfroll.suspension.profile.stretches import LIBRARY_FAULTS, Stretch, closed_path, line, points_along

PX_TO_MM = 25.4 / 96.0


def svg_points(text: str) -> tuple[Point, ...]:
    """Points (r, z) in metres along the one open path of a drawing.

    Raises
    ------
    InputError
        Text that is no SVG, no path or several, a closed one, a path with a corner.
    """
    try:
        return _along(_shapes(text))
    except LIBRARY_FAULTS as fault:
        raise InputError(
            "The file must be an SVG drawing", found=f"something unreadable ({fault})"
        ) from fault


def _along(shapes: list[Any]) -> tuple[Point, ...]:
    paths = [path for shape in shapes for path in _open_parts(shape)]
    if len(paths) != 1:
        raise InputError(
            "The drawing must hold one path", found=count(len(paths), "path") if paths else "no path", allowed="one open path",
            remedy="Leave only the middle line in the file, without frame and dimensions",
        )  # fmt: skip
    return points_along(paths[0])


def _shapes(text: str) -> list[Any]:
    from svgelements import SVG, Shape

    try:
        root = ET.fromstring(text)
    except ET.ParseError as fault:
        raise InputError(
            "The file must be an SVG drawing", line=fault.position[0], found=f"text that is no XML ({fault})"
        ) from fault
    if root.tag.rpartition("}")[2] != "svg":
        raise InputError("The file must be an SVG drawing", found=f"XML of another kind, <{root.tag}>")
    drawing = SVG.parse(io.StringIO(text), ppi=96, reify=True)
    return [element for element in drawing.elements() if isinstance(element, Shape)]


def _open_parts(shape: Any) -> list[list[Stretch]]:
    """The parts of a shape, each as its stretches in mm; a closed one is refused."""
    from svgelements import Close, Move, Path

    parts: list[list[Stretch]] = []
    for segment in Path(shape).segments():
        if isinstance(segment, Move):
            parts.append([])
        elif isinstance(segment, Close):
            raise _closed(shape)
        else:
            parts[-1].append(_stretch(segment))
    parts = [part for part in parts if part]
    for part in parts:
        if float(np.hypot(*(part[-1].stop - part[0].start))) < 1e-6:
            raise _closed(shape)
    return parts


def _closed(shape: Any) -> InputError:
    name = f" ({shape.id})" if getattr(shape, "id", None) else ""
    return closed_path(f"{type(shape).__name__.lower()}{name}")


def _stretch(segment: Any) -> Stretch:
    from svgelements import Line

    if isinstance(segment, Line):
        ends = [(PX_TO_MM * p.x, -PX_TO_MM * p.y) for p in (segment.start, segment.end)]
        return line(*ends)

    def at(t: FloatArray) -> FloatArray:
        places = [segment.point(float(one)) for one in t]
        return PX_TO_MM * np.array([(p.x, -p.y) for p in places], dtype=np.float64).reshape(-1, 2)

    return Stretch(at=at, straight=False)
