"""From faces to triangles, and whether nothing was lost on the way.

The geometry kernel works to about 1e-7 of its unit, so shapes reach it in millimetres: in metres it lost a magnet beside a
glue line of 10 to 20 micrometres, without a word. So every mesh is also checked: its elements must fill each body and
the whole region, and lie nowhere over each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from halfroll.core.errors import InputError, OwnFaultError
from halfroll.core.levels import FloatArray
from halfroll.motor.placing.polygons import signed_area
from halfroll.motor.types import Assembly, Body, Gap, Winding

UNIT_M = 1e-3
"""Unit of length the kernel works in (m)."""

SIZES = (1.0, 0.7, 0.45)
"""Sizes of elements to try, relative to those asked for, until the mesh is whole."""

_AREA = 1e-5
"""Relative difference of areas taken for whole; the kernel moves corners by up to its tolerance."""


Section = TypeVar("Section", Gap, Winding)


class SolverError(OwnFaultError):
    """The field was not found: a fault of ours, not of the motor."""


def not_solved(what: str) -> SolverError:
    """The error that says `what` went wrong and what helps meanwhile."""
    return SolverError(
        f"{what}. This is a fault of halfroll, not of your motor, and nothing was changed. "
        "Another size by a hundredth of a millimetre may do. Please report it with the version's record."
    )


def in_units(assembly: Assembly) -> Assembly:
    """The same motor with its lengths in `UNIT_M`."""
    winding = assembly.winding
    return replace(
        assembly,
        bodies=tuple(body_in_units(body) for body in assembly.bodies),
        gap=_in_units(assembly.gap),
        winding=None if winding is None else _in_units(winding),
    )


def body_in_units(body: Body) -> Body:
    """The same body with its lengths in `UNIT_M`."""
    return replace(body, outline=tuple((r / UNIT_M, z / UNIT_M) for r, z in body.outline))


def _in_units(of: Section) -> Section:
    return replace(
        of,
        r_inner=of.r_inner / UNIT_M,
        r_outer=of.r_outer / UNIT_M,
        z_low=of.z_low / UNIT_M,
        z_high=of.z_high / UNIT_M,
    )


def meshed(
    shape_of: Callable[[float], Any], bodies: Sequence[Body], *, largest: float, grading: float
) -> Any:
    """Cut glued faces into triangles: an ``ngsolve.Mesh`` in metres.

    Parameters
    ----------
    shape_of
        ``shape_of(share)`` gives the faces in `UNIT_M`, sized for elements `share` times those asked for. Faces of the
        bodies are named ``body0``, ``body1`` ..., the outer edge ``far``.
    bodies
        The bodies, in metres.
    largest
        Largest element (in `UNIT_M`).
    grading
        How fast elements may grow, 0 to 1.

    Raises
    ------
    InputError
        Outlines that cannot be cut: parts far thinner than a hundredth of a millimetre, a profile that crosses itself.
    SolverError
        No size gives a mesh without a fault.
    """
    from netgen.meshing import NgException
    from netgen.occ import OCCGeometry
    from ngsolve import Mesh

    for share in SIZES:
        try:
            cut = OCCGeometry(shape_of(share), dim=2).GenerateMesh(maxh=share * largest, grading=grading)
        except NgException as fault:
            raise InputError("The half-section cannot be cut into elements", found=str(fault).strip(),
                             remedy="Look for parts much thinner than 0.01 mm or a profile that crosses itself") from None  # fmt: skip
        cut.Scale(UNIT_M)
        if _whole(cut, bodies):
            return Mesh(cut)
    raise not_solved("The half-section of the motor could not be cut into elements without a fault")


def _whole(cut: Any, bodies: Sequence[Body]) -> bool:
    names, edge_names = cut.GetRegionNames(dim=2), cut.GetRegionNames(dim=1)
    points, surface, line = cut.Coordinates()[:, :2], cut.Elements2D().NumPy(), cut.Elements1D().NumPy()
    outer = np.isin(line["index"], [i for i, name in enumerate(edge_names, 1) if name == "far"])
    return is_whole(points, surface["nodes"][:, :3] - 1, surface["index"] - 1, names,
                    line["nodes"][outer, :2] - 1, bodies)  # fmt: skip


def is_whole(
    points: FloatArray,
    corners: NDArray[np.integer[Any]],
    region: NDArray[np.integer[Any]],
    names: Sequence[str],
    outer: NDArray[np.integer[Any]],
    bodies: Sequence[Body],
) -> bool:
    """Whether triangles fill every body and lie nowhere over each other.

    Parameters
    ----------
    points
        (n, 2), in metres.
    corners, region
        (m, 3) indices into `points`, and (m,) indices into `names`.
    names
        Names of the regions; ``body0`` is the first body's.
    outer
        (k, 2) indices into `points`: the edges of the outer boundary, from axis to axis.
    bodies
        The bodies, in metres.
    """
    found = np.zeros(len(names))
    np.add.at(found, region, areas(points[corners]))
    for n, body in enumerate(bodies):
        filled = sum(found[i] for i, name in enumerate(names) if name == f"body{n}")
        if not math.isclose(filled, abs(signed_area(body.outline)), rel_tol=_AREA):
            return False
    # the triangles under the outer edges, seen from a place on the axis: together the region's area
    ends = points[outer]
    axis = np.array([0.0, float(np.mean(points[:, 1]))])
    around = areas(np.stack([np.broadcast_to(axis, ends[:, 0].shape), ends[:, 0], ends[:, 1]], axis=1))
    return math.isclose(float(found.sum()), abs(float(np.sum(around))), rel_tol=1e-9)


def areas(triangles: FloatArray) -> FloatArray:
    """Areas of triangles (n, 3, 2), above zero when anticlockwise."""
    one, two = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    return np.asarray(0.5 * (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]))
