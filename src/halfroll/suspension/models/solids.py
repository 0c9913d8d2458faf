"""Outlines become solids: turned about the axis, or raised from the plane. The Boolean kernel is Manifold's.

A round part is turned in n flat facets. Its corners lie a little outside the true circle and the middles of its facets a
little inside, so that the volume is that of the round part exactly: radii are multiplied by sqrt((2 pi/n) / sin(2 pi/n)).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.models.mesh import Mesh

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold

FEWEST, MOST = 48, 720
"""Facets of a round part."""

_MM = 1e3
"""The kernel works in millimetres: its own tolerances are made for numbers of that size."""


def facets(radius_m: float, tolerance_m: float) -> int:
    """Facets with which no place of a circle is off by more than `tolerance_m`, in fours (so that it has the same width in x and y)."""
    angle = math.acos(max(1.0 - tolerance_m / radius_m, 0.0))
    return min(max(4 * math.ceil(math.pi / (4.0 * angle)), FEWEST), MOST)


def turned(outlines: Sequence[FloatArray], tolerance_m: float) -> Mesh:
    """The body swept by closed half-sections (n, 2) in r, z about the axis; where they overlap they join.

    Raises
    ------
    InputError
        An outline encloses nothing, or crosses the axis.
    """
    if min(float(outline[:, 0].min()) for outline in outlines) < -1e-9:
        raise InputError("The half-section of a part must not cross the axis")
    section = _joined(outlines)
    radius = max(float(outline[:, 0].max()) for outline in outlines)
    n = facets(radius, tolerance_m)
    step = 2.0 * math.pi / n
    swept = section.scale((math.sqrt(step / math.sin(step)), 1.0))
    return _mesh(swept.revolve(n))


def raised(outlines: Sequence[FloatArray], height_m: float, holes: Sequence[FloatArray] = ()) -> Mesh:
    """A plate of `height_m` over closed outlines (n, 2) in x, y, joined where they overlap, without the holes."""
    from manifold3d import Manifold

    section = _joined(outlines)
    if holes:
        section = section - _joined(holes)
    return _mesh(Manifold.extrude(section, _MM * height_m))


def _joined(outlines: Sequence[FloatArray]) -> CrossSection:
    from manifold3d import CrossSection, FillRule

    section = CrossSection([_anticlockwise(_MM * outline) for outline in outlines], FillRule.NonZero)
    if section.is_empty():
        raise InputError("The outline of a part must enclose an area")
    return section


def _anticlockwise(outline: FloatArray) -> FloatArray:
    x, y = outline[:, 0], outline[:, 1]
    return outline if np.dot(x, np.roll(y, -1)) >= np.dot(y, np.roll(x, -1)) else outline[::-1]


def _mesh(solid: Manifold) -> Mesh:
    got = solid.to_mesh64()
    corners = np.asarray(got.vert_properties, dtype=np.float64)[:, :3] / _MM
    triangles = np.asarray(got.tri_verts, dtype=np.int64)
    if len(got.merge_from_vert):  # the kernel may keep a corner twice where surfaces of two parts meet
        one = np.arange(len(corners))
        one[np.asarray(got.merge_from_vert)] = np.asarray(got.merge_to_vert)
        kept, triangles = np.unique(one[triangles], return_inverse=True)
        corners, triangles = corners[kept], triangles.reshape(-1, 3)
    return Mesh(corners_m=corners, triangles=triangles)
