"""How Bl(x) answers to each thing that is not known exactly: remanence of a magnet grade, field strength of a steel, gap, coil.

Everything is solved twice, moved down and up by its standard uncertainty, on one coarse mesh (Bl's change does not feel its coarseness;
Bl itself comes from `motor.field.study`). What changes the shape gets a mesh of its own, and is moved by `STEPS` times as much so that the
change stands far above the difference between meshes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.motor.coil.wound import HEIGHT_U
from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.results import FieldInfluences
from halfroll.motor.types import Assembly, Body, Magnet, SoftSteel, Winding

GAP_U_M = 0.04e-3
"""Standard uncertainty of the gap's width (m): bore and pole each within ±0.1 mm on the diameter, evenly (own choice)."""

REFINEMENT = 2.0
STEPS = 2.0
_TOUCH_M = 1e-6


def field_influences(assembly: Assembly, x_m: FloatArray, progress: Progress = silent) -> FieldInfluences:
    """Bl(x) with each uncertain thing moved down and up by its standard uncertainty.

    Parameters
    ----------
    assembly
        A motor with its winding.
    x_m
        Displacements (m), (n,).

    Raises
    ------
    InputError
        The half-section cannot be meshed.
    SolverError
        When Newton's method does not come to rest.
    """
    winding = assembly.winding
    assert winding is not None
    settings = MeshSettings(refinement=REFINEMENT, travel_m=float(np.abs(x_m).max()))
    base = solve(mesh_of(assembly, settings), progress=part(progress, 0.0, 0.2))
    bl = base.force_factor(winding, x_m)
    found: dict[str, tuple[float, FloatArray]] = {}
    moved = _by_matter(assembly)
    for number, (name, (u, change)) in enumerate(moved.items()):
        progress(0.2 + 0.5 * number / max(len(moved), 1), f"how Bl answers to {name}")
        low, high = (_same_mesh(base, change(sign), winding, x_m) for sign in (-1.0, 1.0))
        found[name] = (u, 0.5 * (high - low))
    progress(0.7, "how Bl answers to the gap's width")
    found["gap.width"] = (GAP_U_M, _by_gap(assembly, settings, winding, x_m))
    found["coil.height"] = (HEIGHT_U, _by_height(base, winding, x_m))
    progress(1.0, "done")
    return FieldInfluences(
        x_m=x_m, bl=bl, names=tuple(found), u=np.array([u for u, _ in found.values()]),
        change=np.array([change for _, change in found.values()]),
    )  # fmt: skip


def _by_matter(assembly: Assembly) -> dict[str, tuple[float, Callable[[float], Assembly]]]:
    """For every magnet grade and steel: its relative standard uncertainty, and the assembly with it moved by so many of them."""
    found: dict[str, tuple[float, Callable[[float], Assembly]]] = {}
    for body in assembly.bodies:
        matter = body.matter
        if isinstance(matter, Magnet) and matter.grade.br_u_t > 0.0:
            found.setdefault(
                f"magnet.{matter.grade.key}.remanence",
                (matter.grade.br_u_t / matter.grade.br_t, _changer(assembly, "magnet", matter.grade.key)),
            )
        elif isinstance(matter, SoftSteel) and matter.steel.h_factor_u > 0.0:
            found.setdefault(
                f"steel.{matter.steel.key}.field",
                (matter.steel.h_factor_u, _changer(assembly, "steel", matter.steel.key)),
            )
    return found


Kind = Literal["magnet", "steel"]


def _changer(assembly: Assembly, kind: Kind, key: str) -> Callable[[float], Assembly]:
    return lambda z: with_material_moved(assembly, kind, key, z)


def with_material_moved(assembly: Assembly, kind: Kind, key: str, z: float) -> Assembly:
    """The assembly with the magnet grade or the steel of a key moved by z standard uncertainties of its remanence or field strength, by ratio."""

    def changed(body: Body) -> Body:
        matter = body.matter
        if kind == "magnet" and isinstance(matter, Magnet) and matter.grade.key == key:
            grade = matter.grade
            return replace(
                body,
                matter=replace(
                    matter, grade=replace(grade, br_t=grade.br_t * math.exp(z * grade.br_u_t / grade.br_t))
                ),
            )
        if kind == "steel" and isinstance(matter, SoftSteel) and matter.steel.key == key:
            steel = matter.steel
            factor = math.exp(z * steel.h_factor_u)
            return replace(
                body, matter=SoftSteel(steel=replace(steel, h_a_m=tuple(factor * h for h in steel.h_a_m)))
            )
        return body

    return replace(assembly, bodies=tuple(changed(body) for body in assembly.bodies))


def with_gap_wider(assembly: Assembly, by_m: float) -> Assembly:
    """The assembly with the outer wall of the gap farther out by so much (m); the rest of the outer part stays."""
    gap = assembly.gap

    def wider(body: Body) -> Body:
        if body.name != gap.outer:
            return body
        outline = tuple((r + by_m if abs(r - gap.r_outer) < _TOUCH_M else r, z) for r, z in body.outline)
        return replace(body, outline=outline)

    return replace(
        assembly,
        bodies=tuple(wider(body) for body in assembly.bodies),
        gap=replace(gap, r_outer=gap.r_outer + by_m),
    )


def _same_mesh(base: StaticField, other: Assembly, winding: Winding, x_m: FloatArray) -> FloatArray:
    return solve(replace(base.motor, assembly=other), start=base).force_factor(winding, x_m)


def _by_gap(assembly: Assembly, settings: MeshSettings, winding: Winding, x_m: FloatArray) -> FloatArray:
    """Change of Bl by one standard uncertainty of the gap's width; the outer wall is moved."""
    room = 0.5 * (assembly.gap.r_outer - winding.r_outer)
    step = min(STEPS * GAP_U_M, room)
    low, high = (
        solve(mesh_of(with_gap_wider(assembly, sign * step), settings)).force_factor(winding, x_m)
        for sign in (-1.0, 1.0)
    )
    return np.asarray(0.5 * (high - low) * GAP_U_M / step)


def _by_height(base: StaticField, winding: Winding, x_m: FloatArray) -> FloatArray:
    """Change of Bl by one standard uncertainty of the winding's height, its middle and its turns the same."""
    low, high = (base.force_factor(_taller(winding, 1.0 + sign * HEIGHT_U), x_m) for sign in (-1.0, 1.0))
    return np.asarray(0.5 * (high - low))


def _taller(winding: Winding, factor: float) -> Winding:
    half = 0.5 * factor * winding.height_m
    return replace(winding, z_low=winding.centre_m - half, z_high=winding.centre_m + half)
