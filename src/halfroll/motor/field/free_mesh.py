"""The half plane around bodies that have no coil gap: magnets in air, a part on its way to its place.

As `mesh`, but the elements are small where two bodies come close to each other, wherever that is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halfroll.motor.field.cutting import UNIT_M, body_in_units, meshed
from halfroll.motor.field.mesh import MeshSettings, MotorMesh, polygon
from halfroll.motor.placing.polygons import TOUCH_M, distance
from halfroll.motor.types import Assembly, Body, Gap

NO_GAP = Gap(inner="", outer="", r_inner=0.0, r_outer=0.0, z_low=0.0, z_high=0.0)
"""Stands in an assembly that is not a whole motor."""

FAR = 10.0
"""Radius of the far boundary over the bodies' largest distance from their middle: beyond it the field is a dipole's."""

_ACROSS_BODY = 4.0
_AT_CORNERS = 40.0
_ALONG_GAP = 2.0
"""Length of elements over the width of a narrow gap between two bodies: along it the field hardly changes."""

_SHORTEST_M = 4e-5
"""No elements along a gap are asked to be shorter than this (m)."""

_NEAR = 2.5
"""Radius of the finer air over the bodies' largest distance from their middle."""


def free_mesh(bodies: Sequence[Body], refinement: float = 1.0) -> MotorMesh:
    """Cut the half plane around bodies.

    Parameters
    ----------
    bodies
        Bodies that do not overlap, each of one material.
    refinement
        Size of elements relative to the standard mesh: 2 for a sketch, 0.5 to judge the error.

    Raises
    ------
    InputError
        Outlines that cannot be cut.
    """
    middle = 0.5 * (min(b.bounds[2] for b in bodies) + max(b.bounds[3] for b in bodies))
    extent = max(math.hypot(r, z - middle) for body in bodies for r, z in body.outline)
    far = FAR * extent
    scaled = [body_in_units(body) for body in bodies]

    def shape(share: float) -> Any:
        return _shape(scaled, middle / UNIT_M, extent / UNIT_M, share * refinement)

    mesh = meshed(shape, bodies, largest=far / UNIT_M / 8, grading=0.3)
    assembly = Assembly(bodies=tuple(bodies), gap=NO_GAP)
    return MotorMesh(mesh, assembly, MeshSettings(refinement=refinement), far)


def _shape(bodies: Sequence[Body], middle: float, extent: float, refinement: float) -> Any:
    """The glued faces with their names and sizes, all lengths in `UNIT_M`."""
    from netgen.occ import Glue

    faces = []
    for i, body in enumerate(bodies):
        face = polygon(body.outline)
        face.faces.name = f"body{i}"
        face.faces.maxh = refinement * _thickness(body) / _ACROSS_BODY
        faces.append(face)
    near, whole = _half_disc(_NEAR * extent, middle), _half_disc(FAR * extent, middle)
    around = near
    for face in faces:
        around = around - face
    around.faces.name = "air"
    around.faces.maxh = refinement * extent / 8
    beyond = whole - near
    beyond.faces.name = "air"
    glued = Glue([beyond, around, *faces])
    _name_edges(glued, middle, FAR * extent)
    _size(glued, bodies, refinement)
    return glued


def _half_disc(radius: float, middle: float) -> Any:
    from netgen.occ import Circle, MoveTo

    return (
        Circle((0, middle), radius).Face()
        * MoveTo(0, middle - 2 * radius).Rectangle(2 * radius, 4 * radius).Face()
    )


def _thickness(body: Body) -> float:
    r0, r1, z0, z1 = body.bounds
    return min(r1 - r0, z1 - z0)


def _name_edges(shape: Any, middle: float, far: float) -> None:
    """``axis``, where the potential is zero, and ``far``; all others stay without a name."""
    for edge in shape.edges:
        centre = edge.center
        if abs(centre.x) < 1e-9 * far:
            edge.name = "axis"
        elif math.hypot(centre.x, centre.y - middle) > 0.5 * far:
            edge.name = "far"


def _size(shape: Any, bodies: Sequence[Body], refinement: float) -> None:
    """Small elements at corners, and along edges that face another body not far away."""
    outlines = [body.outline for body in bodies]
    for edge in shape.edges:
        if edge.name in ("axis", "far"):
            continue
        ends = tuple((v.p.x, v.p.y) for v in edge.vertices)
        gaps = [d for outline in outlines if (d := distance(ends, outline)) > TOUCH_M / UNIT_M]
        if gaps:
            edge.maxh = refinement * max(_ALONG_GAP * min(gaps), _SHORTEST_M / UNIT_M)
    size = {
        (round(r, 6), round(z, 6)): _thickness(body) / _AT_CORNERS
        for body in bodies
        for r, z in body.outline
        if r > 0 and len(body.outline) < 20
    }
    for vertex in shape.vertices:
        at = (round(vertex.p.x, 6), round(vertex.p.y, 6))
        if at in size:
            vertex.maxh = refinement * size[at]
