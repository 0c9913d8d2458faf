"""The field over straight triangles, for drawing: every element cut so finely that flux lines and colours look smooth."""

from __future__ import annotations

from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.motor.field.magnetostatics import StaticField
from halfroll.motor.results import FieldMap

CUTS = 3
"""Pieces an element's edge is cut into: a cubic potential drawn by nine flat triangles."""

REACH = 3.0
"""The map ends this many times the motor's extent away; beyond, the field is that of a dipole."""


def field_map(field: StaticField, cuts: int = CUTS, reach: float = REACH) -> FieldMap:
    """Flux and flux density over triangles that fit the bodies' faces."""
    corners, inside = _reference(cuts)
    points, region, flux, b = _sample(field, corners)
    kept = _near(field, points, reach)
    points, region, flux, b = points[kept], region[kept], flux[kept], b[kept]
    count, nodes = points.shape[:2]
    triangles = (inside[None] + nodes * np.arange(count)[:, None, None]).reshape(-1, 3)
    body = np.repeat(region, len(inside))
    return _joined(
        points.reshape(-1, 2), triangles, body, flux.ravel(), b.reshape(-1, 2), np.repeat(region, nodes)
    )


def _reference(cuts: int) -> tuple[FloatArray, FloatArray]:
    """Nodes (n, 2) of the reference triangle cut `cuts` times along each edge, and the triangles between (m, 3)."""
    at: dict[tuple[int, int], int] = {}
    for j in range(cuts + 1):
        for i in range(cuts + 1 - j):
            at[i, j] = len(at)
    triangles = []
    for i, j in at:
        if i + j < cuts:
            triangles.append((at[i, j], at[i + 1, j], at[i, j + 1]))
        if i + j < cuts - 1:
            triangles.append((at[i + 1, j], at[i + 1, j + 1], at[i, j + 1]))
    return np.asarray(list(at), dtype=float) / cuts, np.asarray(triangles)


def _sample(field: StaticField, corners: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Points (e, n, 2), body of the elements (e,), flux (e, n) and flux density (e, n, 2) at the nodes of all elements."""
    import ngsolve as ng

    mesh = field.motor.mesh
    rule = ng.IntegrationRule([tuple(map(float, c)) for c in corners], [1.0] * len(corners))
    where = mesh.MapToAllElements({ng.TRIG: rule}, ng.VOL)
    a, slope = field.potential, ng.grad(field.potential)
    axis = 1e-9 * field.motor.far_m
    over_r = ng.IfPos(ng.x - axis, a / ng.IfPos(ng.x - axis, ng.x, 1.0), slope[0])
    together: Any = ng.CF((ng.x, ng.y, a, ng.IfPos(ng.x - axis, -slope[1], 0.0), slope[0] + over_r))
    values = np.asarray(together(where)).reshape(mesh.ne, len(corners), 5)
    number = {name: int(name[4:]) if name.startswith("body") else -1 for name in mesh.GetMaterials()}
    names = [number[name] for name in mesh.GetMaterials()]
    elements = mesh.ngmesh.Elements2D().NumPy()["index"]
    region = np.asarray(names)[elements - 1]
    return values[..., :2], region, 2.0 * np.pi * values[..., 0] * values[..., 2], values[..., 3:]


def _near(field: StaticField, points: FloatArray, reach: float) -> FloatArray:
    extent = max(np.hypot(r, z) for body in field.motor.assembly.bodies for r, z in body.outline)
    return np.asarray(np.hypot(points[..., 0], points[..., 1]).min(1) < reach * extent)


def _joined(
    points: FloatArray,
    triangles: FloatArray,
    body: FloatArray,
    flux: FloatArray,
    b: FloatArray,
    owner: FloatArray,
) -> FieldMap:
    """Nodes at one place in one body made one, with the mean of the flux densities."""
    grid = 1e-9
    keys = np.column_stack([np.round(points / grid), owner])
    _, first, to = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    to = to.ravel()
    times = np.bincount(to)
    mean = np.column_stack([np.bincount(to, b[:, k]) / times for k in range(2)])
    return FieldMap(points_m=points[first], triangles=to[triangles], body=body, flux_wb=flux[first], b_t=mean)
