"""The half plane cut for eddy currents: layers that get thinner towards the faces of steel and rings, where the skin is.

The skin in steel is far thinner than anything else in a motor (some 20 µm at 20 kHz). The room of the winding at every asked
position is cut out, so that one mesh serves all positions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.materials.steel import MU_0
from halfroll.motor.mesh import FAR, MeshSettings, MotorMesh, polygon
from halfroll.motor.polygons import rectangle
from halfroll.motor.skin import Permeability, differential, skin_depth
from halfroll.motor.skin_layers import CUT, Flat, layered
from halfroll.motor.types import Assembly, Body, Magnet, Point, Ring, SoftSteel, Winding

_MOST_LAYERS = 8
_AT_GAP, _AT_CORNERS = 0.1, 0.25
"""Size of elements at corners of steel over the width of the gap: beside it, and elsewhere."""

_APART_M = 1e-6
"""Ends of the winding nearer to each other than this are taken as one."""


@dataclass(frozen=True, kw_only=True)
class SkinSettings:
    """How finely: `refinement` scales all sizes, `highest_hz` and `permeability` say how thin the skin gets."""

    highest_hz: float
    permeability: Permeability = "tangent"
    refinement: float = 1.0


@dataclass(frozen=True, eq=False)
class SkinMesh:
    """The mesh and, for every displacement, the ends of the winding in it (m). Not to be pickled."""

    motor: MotorMesh
    ends_m: tuple[tuple[float, float], ...]


def skin_mesh(
    assembly: Assembly, winding: Winding, x_m: tuple[float, ...], settings: SkinSettings
) -> SkinMesh:
    """Cut the half plane around a motor, with the winding's room at every displacement.

    Raises `InputError` when the bodies cannot be cut.
    """
    from netgen.meshing import NgException
    from netgen.occ import OCCGeometry
    from ngsolve import Mesh

    ends = _ends(winding, x_m)
    shape, far = _shape(assembly, winding, ends, settings)
    try:
        cut = OCCGeometry(shape, dim=2).GenerateMesh(maxh=far / 3, grading=0.4)
    except NgException as fault:
        raise InputError("The half-section of the motor cannot be cut into elements", found=str(fault).strip(),
                         remedy="Look for parts much thinner than 0.01 mm or a profile that crosses itself") from None  # fmt: skip
    mesh = Mesh(_with_layers(cut, assembly, settings))
    return SkinMesh(MotorMesh(mesh, assembly, MeshSettings(refinement=settings.refinement), far), ends)


def _with_layers(cut: Any, assembly: Assembly, settings: SkinSettings) -> Any:
    """The netgen mesh with its conductors' faces in layers."""
    names, edge_names = cut.GetRegionNames(dim=2), cut.GetRegionNames(dim=1)
    outer = [i for i, name in enumerate(edge_names) if name in ("axis", "far")]
    surface, line = cut.Elements2D().NumPy(), cut.Elements1D().NumPy()
    flat = Flat(
        cut.Coordinates()[:, :2],
        tuple(
            (tuple(int(n) - 1 for n in nodes[:3]), int(i) - 1)
            for nodes, i in zip(surface["nodes"], surface["index"], strict=True)
        ),
        tuple(
            ((int(nodes[0]) - 1, int(nodes[1]) - 1), int(i) - 1)
            for nodes, i in zip(line["nodes"], line["index"], strict=True)
            if i - 1 in outer
        ),
    )
    kind = np.array([_kind(name, assembly, settings) for name in names])
    axis = frozenset(i for i, name in enumerate(edge_names) if name == "axis")
    layers = _layers(assembly, settings)
    return _netgen(layered(flat, kind, axis, layers) if layers else flat, names, edge_names)


def _kind(name: str, assembly: Assembly, settings: SkinSettings) -> int:
    """1 for regions of steel, 2 for rings, 0 for what gets no layers."""
    if not name.startswith("body"):
        return 0
    body = assembly.bodies[int(name[4:])]
    return 0 if not _has_skin(body, settings) else 1 if isinstance(body.matter, SoftSteel) else 2


def _netgen(flat: Flat, names: list[str], edge_names: list[str]) -> Any:
    """The same as a mesh of netgen's."""
    from netgen.meshing import Mesh

    mesh = Mesh(2)
    mesh.AddPoints(np.column_stack([flat.points, np.zeros(len(flat.points))]))
    for i, name in enumerate(names):
        region = mesh.AddRegion(name, 2)
        for size in (3, 4):
            chosen = [corners for corners, at in flat.elements if at == i and len(corners) == size]
            if chosen:
                mesh.AddElements(dim=2, index=region, data=np.array(chosen, dtype=np.int32), base=0)
    for i, name in enumerate(edge_names):
        chosen = [corners for corners, at in flat.edges if at == i]
        if chosen:
            mesh.AddElements(
                dim=1, index=mesh.AddRegion(name, 1), data=np.array(chosen, dtype=np.int32), base=0
            )
    return mesh


def _ends(winding: Winding, x_m: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Lower and upper end at every displacement, those that nearly agree made one."""
    stops: list[float] = []
    for z in sorted(z + x for x in x_m for z in (winding.z_low, winding.z_high)):
        if not stops or z - stops[-1] > _APART_M:
            stops.append(z)
    return tuple(
        (
            min(stops, key=lambda s: abs(s - winding.z_low - x)),
            min(stops, key=lambda s: abs(s - winding.z_high - x)),
        )
        for x in x_m
    )


def _shape(
    assembly: Assembly, winding: Winding, ends: tuple[tuple[float, float], ...], settings: SkinSettings
) -> tuple[Any, float]:
    """The glued faces with their names, sizes and marks, and the far radius."""
    from netgen.occ import Circle, Glue, MoveTo

    cells = _cells(winding, ends)
    corners = [point for body in assembly.bodies for point in body.outline]
    corners += [(winding.r_outer, z) for pair in ends for z in pair]
    far = FAR * max(math.hypot(r, z) for r, z in corners)
    faces = []
    for i, body in enumerate(assembly.bodies):
        face = polygon(body.outline)
        face.faces.name = f"body{i}"
        face.faces.maxh = settings.refinement * _size(body, settings)
        faces.append(face)
    near = settings.refinement * _near_size(assembly)
    for cell in cells:
        cell.faces.name, cell.faces.maxh = "winding", near
    gap = assembly.gap
    strip = polygon(rectangle(gap.r_inner, gap.r_outer, *_strip_ends(assembly, ends)))
    air = Circle((0, 0), far).Face() * MoveTo(0, -2 * far).Rectangle(2 * far, 4 * far).Face() - strip
    for face in (*faces, *cells):
        strip, air = strip - face, air - face
    strip.faces.name, strip.faces.maxh, air.faces.name = "gap", near, "air"
    glued = Glue([air, strip, *faces, *cells])
    _mark(glued, assembly, settings, far)
    return glued, far


def _cells(winding: Winding, ends: tuple[tuple[float, float], ...]) -> list[Any]:
    """The winding's room, cut at every end of it."""
    stops = sorted({z for pair in ends for z in pair})
    return [
        polygon(rectangle(winding.r_inner, winding.r_outer, low, high))
        for low, high in pairwise(stops)
        if any(a <= low and high <= b for a, b in ends)
    ]


def _strip_ends(assembly: Assembly, ends: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    width = _near_size(assembly)
    low, high = min(a for a, _ in ends), max(b for _, b in ends)
    return min(low, assembly.gap.z_low) - width, max(high, assembly.gap.z_high) + width


def _near_size(assembly: Assembly) -> float:
    return assembly.gap.r_outer - assembly.gap.r_inner


def _size(body: Body, settings: SkinSettings) -> float:
    """Element size (m) in a body: half of what it measures across, more where nothing but ring currents bends the field."""
    across = _across(body)
    if isinstance(body.matter, Magnet) and conductivity(body.matter) > 0.0:
        return min(0.5 * across, 1.5 * _skin(body.matter, settings))
    return 2.0 * across if isinstance(body.matter, Ring) else 0.5 * across


def _across(body: Body) -> float:
    r0, r1, z0, z1 = body.bounds
    return min(r1 - r0, z1 - z0)


def _has_skin(body: Body, settings: SkinSettings) -> bool:
    """Whether the skin is thinner than the body; a thin ring or cap has none."""
    if not isinstance(body.matter, SoftSteel | Ring) or conductivity(body.matter) <= 0.0:
        return False
    return isinstance(body.matter, SoftSteel) or _across(body) > 2.0 * _skin(body.matter, settings)


def _skin(matter: object, settings: SkinSettings) -> float:
    """The thinnest skin (m) in conducting matter."""
    permeability = MU_0
    if isinstance(matter, SoftSteel):
        permeability = differential(matter.steel, settings.permeability).largest_permeability
    elif isinstance(matter, Magnet):
        permeability *= matter.grade.mu_rec
    return skin_depth(settings.highest_hz, conductivity(matter), permeability)


def conductivity(matter: object) -> float:
    """Electrical conductivity (S/m) around the axis; 0 for what carries no ring currents."""
    if isinstance(matter, SoftSteel):
        return matter.steel.conductivity_s_m
    if isinstance(matter, Magnet):
        return matter.grade.conductivity_s_m
    return 1.0 / matter.conductor.resistivity_ohm_m if isinstance(matter, Ring) else 0.0


def _layers(assembly: Assembly, settings: SkinSettings) -> int:
    """How many cuts: until the last layer is about as thin as the thinnest skin."""
    skins = [_skin(body.matter, settings) for body in assembly.bodies if _has_skin(body, settings)]
    if not skins:
        return 0
    cuts = math.log(_near_size(assembly) / (1.3 * min(skins))) / math.log(1.0 / CUT)
    return min(max(math.ceil(cuts), 2), _MOST_LAYERS)


def _mark(shape: Any, assembly: Assembly, settings: SkinSettings, far: float) -> None:
    """Name the axis and the far boundary; small elements at the corners of steel, smallest beside the gap."""
    for edge in shape.edges:
        centre = edge.center
        if abs(centre.x) < 1e-9 * far:
            edge.name = "axis"
        elif math.hypot(centre.x, centre.y) > 0.5 * far:
            edge.name = "far"
    width, gap = _near_size(assembly), assembly.gap
    corners = {
        _rounded(p)
        for b in assembly.bodies
        if isinstance(b.matter, SoftSteel)
        for p in b.outline
        if p[0] > 0.0
    }
    for vertex in shape.vertices:
        at = _rounded((vertex.p.x, vertex.p.y))
        if at in corners:
            away = max(0.0, gap.r_inner - at[0], at[0] - gap.r_outer)
            vertex.maxh = settings.refinement * width * (_AT_GAP if away < 1e-3 * width else _AT_CORNERS)


def _rounded(point: Point) -> Point:
    return round(point[0], 9), round(point[1], 9)
