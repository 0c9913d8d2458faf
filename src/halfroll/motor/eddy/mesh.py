"""The half plane cut for eddy currents: layers that get thinner towards the faces of steel and rings, where the skin is.

The skin in steel is far thinner than anything else in a motor (some 20 µm at 20 kHz). The room of the winding at every asked
position is cut out, so that one mesh serves all positions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.motor.eddy.layers import CUT, Flat, layered
from halfroll.motor.eddy.shape import Ends, SkinSettings, gap_width, has_skin, shape_of, skin_in
from halfroll.motor.field.cutting import SIZES, UNIT_M, is_whole, not_solved
from halfroll.motor.field.mesh import MeshSettings, MotorMesh
from halfroll.motor.types import Assembly, SoftSteel, Winding

_MOST_LAYERS = 8
_LAST_LAYER = 1.3
"""Thickness of the last layer over the thinnest skin."""

_APART_M = 1e-6
"""Ends of the winding nearer to each other than this are taken as one."""


@dataclass(frozen=True, eq=False)
class SkinMesh:
    """The mesh and, for every displacement, the ends of the winding in it (m). Not to be pickled."""

    motor: MotorMesh
    ends_m: Ends


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
    for share in SIZES:
        shape, far = shape_of(
            assembly, winding, ends, replace(settings, refinement=share * settings.refinement)
        )
        try:
            cut = OCCGeometry(shape, dim=2).GenerateMesh(maxh=share * far / UNIT_M / 3, grading=0.4)
        except NgException as fault:
            raise InputError("The half-section of the motor cannot be cut into elements", found=str(fault).strip(),
                             remedy="Look for parts much thinner than 0.01 mm or a profile that crosses itself") from None  # fmt: skip
        flat, names, edge_names = _flat(cut)
        if _whole(flat, names, edge_names, assembly):
            break
    else:
        raise not_solved("The half-section of the motor could not be cut into elements without a fault")
    flat = _with_layers(flat, names, edge_names, assembly, settings)
    motor = MotorMesh(
        Mesh(_netgen(flat, names, edge_names)), assembly, MeshSettings(refinement=settings.refinement), far
    )
    return SkinMesh(motor, ends)


def _ends(winding: Winding, x_m: tuple[float, ...]) -> Ends:
    """Lower and upper end at every displacement, those that nearly agree made one."""
    stops: list[float] = []
    for z in sorted(z + x for x in x_m for z in (winding.z_low, winding.z_high)):
        if not stops or z - stops[-1] > _APART_M:
            stops.append(z)

    def nearest(z: float) -> float:
        return min(stops, key=lambda stop: abs(stop - z))

    return tuple((nearest(winding.z_low + x), nearest(winding.z_high + x)) for x in x_m)


def _flat(cut: Any) -> tuple[Flat, list[str], list[str]]:
    """Netgen's mesh as plain numbers in metres, with the names of its regions and of its edges."""
    names, edge_names = cut.GetRegionNames(dim=2), cut.GetRegionNames(dim=1)
    outer = {i for i, name in enumerate(edge_names, 1) if name in ("axis", "far")}
    surface, line = cut.Elements2D().NumPy(), cut.Elements1D().NumPy()
    corners, ends = (surface["nodes"][:, :3] - 1).tolist(), (line["nodes"][:, :2] - 1).tolist()
    flat = Flat(
        UNIT_M * cut.Coordinates()[:, :2],
        tuple((tuple(c), int(i) - 1) for c, i in zip(corners, surface["index"], strict=True)),
        tuple(((a, b), int(i) - 1) for (a, b), i in zip(ends, line["index"], strict=True) if i in outer),
    )
    return flat, names, edge_names


def _whole(flat: Flat, names: list[str], edge_names: list[str], assembly: Assembly) -> bool:
    """Whether the elements fill every body and lie nowhere over each other."""
    corners, regions = np.array([c for c, _ in flat.elements]), np.array([i for _, i in flat.elements])
    outer = np.array([ends for ends, i in flat.edges if edge_names[i] == "far"])
    return is_whole(flat.points, corners, regions, names, outer, assembly.bodies)


def _with_layers(
    flat: Flat, names: list[str], edge_names: list[str], assembly: Assembly, settings: SkinSettings
) -> Flat:
    """The mesh with its conductors' faces in layers, down to about the thinnest skin."""
    skins = [skin_in(body.matter, settings) for body in assembly.bodies if has_skin(body, settings)]
    if not skins:
        return flat
    cuts = math.log(gap_width(assembly) / (_LAST_LAYER * min(skins))) / math.log(1.0 / CUT)
    kind = np.array([_kind(name, assembly, settings) for name in names])
    axis = frozenset(i for i, name in enumerate(edge_names) if name == "axis")
    return layered(flat, kind, axis, min(max(math.ceil(cuts), 2), _MOST_LAYERS))


def _kind(name: str, assembly: Assembly, settings: SkinSettings) -> int:
    """1 for regions of steel, 2 for rings, 0 for what gets no layers."""
    if not name.startswith("body"):
        return 0
    body = assembly.bodies[int(name[4:])]
    if not has_skin(body, settings):
        return 0
    return 1 if isinstance(body.matter, SoftSteel) else 2


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
        edges = [corners for corners, at in flat.edges if at == i]
        if edges:
            mesh.AddElements(
                dim=1, index=mesh.AddRegion(name, 1), data=np.array(edges, dtype=np.int32), base=0
            )
    return mesh
