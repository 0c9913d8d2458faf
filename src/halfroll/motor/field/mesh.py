"""The half plane around a motor cut into triangles, fine where the field bends: in the gap and at the corners facing it.

Regions are named ``body0``, ``body1`` ... in the assembly's order, ``gap`` for the strip the coil moves through,
``winding`` for the coil's section when it is cut out, ``air`` for the rest. The far boundary lies so far out that the field there
is a dipole's, which the solver continues beyond it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from halfroll.core.errors import InputError
from halfroll.motor.field.cutting import UNIT_M, in_units, meshed
from halfroll.motor.types import Assembly, Body, Point, Winding

FAR = 20.0
"""Radius of the far boundary over the motor's largest distance from the middle of the gap."""


@dataclass(frozen=True, kw_only=True)
class MeshSettings:
    """How the half plane is cut.

    `refinement` scales all sizes (1 for a result, 2 for a sketch, 0.5 to judge the error); `travel_m` is how far the coil
    goes each way; `cut_winding_at_m` cuts the winding out as a region of its own, at that displacement.
    """

    refinement: float = 1.0
    travel_m: float = 5e-3
    cut_winding_at_m: float | None = None
    gap_elements: float = 3.0
    corner_elements: float = 10.0
    body_elements: float = 2.5
    grading: float = 0.35


@dataclass(frozen=True, eq=False)
class MotorMesh:
    """The mesh (an ``ngsolve.Mesh``), the assembly it shows, the settings, and the far radius (m). Not to be pickled."""

    mesh: Any
    assembly: Assembly
    settings: MeshSettings
    far_m: float

    @property
    def strip_m(self) -> tuple[float, float]:
        """Lower and upper end of the strip the coil moves through (m)."""
        return _reach(self.assembly, self.settings.travel_m)


def mesh_of(assembly: Assembly, settings: MeshSettings | None = None) -> MotorMesh:
    """Cut the half plane around a motor.

    Raises `InputError` when the bodies cannot be cut, or when the coil leaves the field region (`cutting.meshed`).
    """
    settings = settings or MeshSettings()
    extent = max(math.hypot(r, z) for body in assembly.bodies for r, z in body.outline)
    far, scaled = FAR * extent, in_units(assembly)

    def shape(share: float) -> Any:
        sizes = replace(settings, refinement=share * settings.refinement)
        return _shape(scaled, sizes, extent / UNIT_M)

    mesh = meshed(shape, assembly.bodies, largest=far / UNIT_M / 4, grading=settings.grading)
    return MotorMesh(mesh, assembly, settings, far)


def _shape(assembly: Assembly, settings: MeshSettings, extent: float) -> Any:
    """The glued faces with their names and sizes, all lengths in `UNIT_M`."""
    from netgen.occ import Circle, Glue, MoveTo

    faces = [_body_face(body, f"body{i}", settings) for i, body in enumerate(assembly.bodies)]
    solid = faces[0]
    for face in faces[1:]:
        solid = solid + face
    far = FAR * extent
    strip = _strip(assembly, settings, extent)
    inside = [*faces]
    if settings.cut_winding_at_m is not None and assembly.winding is not None:
        winding = _winding_face(assembly, assembly.winding, settings)
        inside.append(winding)
        strip = strip - winding
    strip = strip - solid
    strip.faces.name = "gap"
    strip.faces.maxh = settings.refinement * _gap_width(assembly) / settings.gap_elements
    half = Circle((0, 0), far).Face() * MoveTo(0, -2 * far).Rectangle(2 * far, 4 * far).Face()
    air = half - solid - strip
    if len(inside) > len(faces):
        air = air - inside[-1]
    air.faces.name = "air"
    glued = Glue([air, strip, *inside])
    _name_edges(glued, far)
    _size_corners(glued, assembly, settings)
    return glued


def _body_face(body: Body, name: str, settings: MeshSettings) -> Any:
    face = polygon(body.outline)
    r0, r1, z0, z1 = body.bounds
    face.faces.name = name
    face.faces.maxh = settings.refinement * min(r1 - r0, z1 - z0) / settings.body_elements
    return face


def _winding_face(assembly: Assembly, winding: Winding, settings: MeshSettings) -> Any:
    x = (settings.cut_winding_at_m or 0.0) / UNIT_M
    low, high = winding.z_low + x, winding.z_high + x
    face = polygon(
        ((winding.r_inner, low), (winding.r_outer, low), (winding.r_outer, high), (winding.r_inner, high))
    )
    face.faces.name = "winding"
    face.faces.maxh = settings.refinement * min(
        _gap_width(assembly) / settings.gap_elements, winding.height_m / 4
    )
    return face


def _strip(assembly: Assembly, settings: MeshSettings, extent: float) -> Any:
    """The ring-shaped strip between the gap's walls as far as the coil's ends go, and the gap itself."""
    gap = assembly.gap
    low, high = _reach(assembly, settings.travel_m / UNIT_M)
    low, high = low - 0.5 * _gap_width(assembly), high + 0.5 * _gap_width(assembly)
    if max(abs(low), abs(high)) > 0.5 * FAR * extent:
        raise InputError("The coil must stay inside the field region", found=f"{max(abs(low), abs(high)):.4g} mm",
                         allowed=f"up to {0.5 * FAR * extent:.4g} mm from the gap")  # fmt: skip
    return polygon(((gap.r_inner, low), (gap.r_outer, low), (gap.r_outer, high), (gap.r_inner, high)))


def _reach(assembly: Assembly, travel: float) -> tuple[float, float]:
    """Lowest and highest place of the coil's ends, or of the gap's if those lie farther out."""
    gap, winding = assembly.gap, assembly.winding
    if winding is None:
        return gap.z_low, gap.z_high
    return min(gap.z_low, winding.z_low - travel), max(gap.z_high, winding.z_high + travel)


def polygon(outline: tuple[Point, ...]) -> Any:
    """A flat face from its corners (r, z)."""
    from netgen.occ import MoveTo

    plane = MoveTo(*outline[0])
    for r, z in outline[1:]:
        plane = plane.LineTo(r, z)
    return plane.Close().Face()


def _gap_width(assembly: Assembly) -> float:
    return assembly.gap.r_outer - assembly.gap.r_inner


def _name_edges(shape: Any, far: float) -> None:
    """``axis``, where the potential is zero, and ``far``; all others stay without a name."""
    for edge in shape.edges:
        centre = edge.center
        if abs(centre.x) < 1e-9 * far:
            edge.name = "axis"
        elif math.hypot(centre.x, centre.y) > 0.5 * far:
            edge.name = "far"


def _size_corners(shape: Any, assembly: Assembly, settings: MeshSettings) -> None:
    """Small elements at the steel's and magnets' corners, smallest at those that face the gap: there the field has poles."""
    width = _gap_width(assembly)
    corners = {(round(r, 6), round(z, 6)) for body in assembly.bodies for r, z in body.outline if r > 0}
    for vertex in shape.vertices:
        at = vertex.p
        if (round(at.x, 6), round(at.y, 6)) not in corners:
            continue
        away = max(0.0, abs(at.x - 0.5 * (assembly.gap.r_inner + assembly.gap.r_outer)) - 0.5 * width)
        near = away < 1e-3 * width
        vertex.maxh = settings.refinement * width / settings.corner_elements * (1.0 if near else 3.0)
