"""The pull on a part while a motor is put together: how hard it snaps to its place, or is pushed away from it.

Parts come along the axis, one after the other from the bottom of the stack to its top, each to those already there.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Sequence

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Verdict
from halfroll.motor.field.free_mesh import free_mesh
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.force.assembly_cautions import cautions, uncomputed
from halfroll.motor.force.stress import axial_force
from halfroll.motor.placing.polygons import TOUCH_M, Polygon, distance, drop, moved, upside_down
from halfroll.motor.results import AssemblyForce
from halfroll.motor.types import Assembly, Body, Magnet, SoftSteel

DISTANCES_M = (0.1e-3, 0.2e-3, 0.5e-3, 1e-3, 2e-3, 5e-3, 10e-3, 20e-3, 40e-3)
"""Still to go (m). In its place the force is extrapolated from the first three."""

CLEAR_M = 0.02e-3
"""A part that passes another nearer than this slides on it: there is no air in between to take the stress from."""

_SKETCH = 2.0
"""Forces of this mesh are within 0.2 % of those of one twice as fine; the nearest distance shows it for every part."""


def building_order(assembly: Assembly) -> tuple[str, ...]:
    """Names of magnets and steel parts from the bottom of the stack to its top; at one height steel before magnets, then
    the inner one first.
    """
    bodies = [body for body in assembly.bodies if _pulls(body)]
    bodies.sort(key=lambda body: (body.bounds[2], isinstance(body.matter, Magnet), body.bounds[0]))
    return tuple(body.name for body in bodies)


def _pulls(body: Body) -> bool:
    """Whether a body counts while assembling: field coils carry no current then."""
    return isinstance(body.matter, Magnet | SoftSteel)


def assembly_forces(
    assembly: Assembly, distances_m: Sequence[float] = DISTANCES_M, progress: Progress = silent
) -> tuple[AssemblyForce, ...]:
    """Force on every magnet and steel part in building order, each brought to those already there.

    Parts that come before anything is magnetised around them, or that only steel waits for, feel nothing and are left out.
    Raises `CancelledError` when `progress` does.
    """
    order = building_order(assembly)
    steps = []
    for count, name in enumerate(order[1:], start=1):
        there = order[:count]
        if any(isinstance(assembly.body(n).matter, Magnet) for n in (*there, name)):
            steps.append((name, there))
    found = []
    for i, (name, there) in enumerate(steps):
        within = part(progress, i / len(steps), (i + 1) / len(steps))
        found.append(assembly_force(assembly, name, distances_m, there=there, progress=within))
    return tuple(found)


def assembly_force(
    assembly: Assembly,
    moving: str | Collection[str],
    distances_m: Sequence[float] = DISTANCES_M,
    *,
    there: Collection[str] | None = None,
    progress: Progress = silent,
) -> AssemblyForce:
    """Axial force while a part, or parts already joined, are brought to their place.

    Parameters
    ----------
    assembly
        The finished motor.
    moving
        Name of the part, or names of parts that move as one.
    distances_m
        Distances still to go (m), ascending, above 0.
    there
        Parts already in place; all other magnets and steel parts when not given.
    progress
        Called before every field; may raise `CancelledError`.

    Returns
    -------
    AssemblyForce
        `force_n` is positive towards the place, `contact_n` the same in its place, be it bare or on glue. Its relative standard uncertainty holds the discretisation error and that
        of the magnets' remanence (a force goes with its square), not that of unknown steel or of a part held off centre.
        Without values when the way is blocked or the parts slide on each other; a verdict says so.

    Raises
    ------
    InputError
        Names that are not magnets or steel of this motor; distances that are not ascending above 0.
    """
    names = (moving,) if isinstance(moving, str) else tuple(moving)
    distances = _checked(distances_m)
    movers = [_body(assembly, name) for name in names]
    rest = [
        body
        for body in assembly.bodies
        if _pulls(body) and body.name not in names and (there is None or body.name in there)
    ]
    title = " and ".join(names)
    way = _way(movers, rest)
    if way is None or not rest:
        reason = uncomputed(
            title, "nothing is there yet" if not rest else "another part is in the way along the axis"
        )
        return _empty(title, (reason,))
    side = _nearest(movers, rest, way * distances[-1])
    if min(side, _nearest(movers, rest, way * distances[0])) < CLEAR_M:
        reason = uncomputed(title, f"it slides along another part with less than {1e3 * CLEAR_M:g} mm of air")
        return _empty(title, (reason,))
    force = np.empty(len(distances))
    for i, away in enumerate(distances):
        progress(i / (len(distances) + 1), f"{title}, {1e3 * away:.3g} mm to go")
        force[i] = -way * _force(movers, rest, way * float(away), _SKETCH)
    progress(len(distances) / (len(distances) + 1), f"{title}, finer mesh")
    finer = -way * _force(movers, rest, way * float(distances[0]), 0.5 * _SKETCH)
    u = math.hypot(_relative(force[0] - finer, force), 2.0 * _remanence_u([*movers, *rest]))
    contact = contact_force(distances, force)
    said = cautions(title, movers, distances, force, contact)
    return AssemblyForce(
        body=title, distance_m=distances, force_n=force, contact_n=contact, u_rel=u, verdicts=said
    )


def contact_force(distance_m: FloatArray, force_n: FloatArray) -> float | None:
    """Force (N) at distance 0 from the three nearest distances; None when these are farther than 1 mm.

    Pole on pole, B falls as 1/(1 + distance/length), so one over the root of the force is nearly a straight line; a parabola
    through it meets the field at 0.02 mm within 2 % where the third distance is 0.5 mm.
    """
    if len(distance_m) < 3 or distance_m[2] > 1.001e-3:
        return None
    near, sign = force_n[:3], np.sign(force_n[0])
    if (near * sign <= 0.0).any():
        return float(np.polyval(np.polyfit(distance_m[:3], near, 2), 0.0))
    return float(sign * np.polyval(np.polyfit(distance_m[:3], np.abs(near) ** -0.5, 2), 0.0) ** -2)


def _checked(distances_m: Sequence[float]) -> FloatArray:
    distances = np.asarray(distances_m, dtype=float)
    if (
        not len(distances)
        or not np.isfinite(distances).all()
        or distances[0] <= 0
        or (np.diff(distances) <= 0).any()
    ):
        raise InputError("Distances still to go must ascend and lie above 0",
                         found=", ".join(f"{1e3 * d:g} mm" for d in distances) or "none")  # fmt: skip
    return distances


def _body(assembly: Assembly, name: str) -> Body:
    for body in assembly.bodies:
        if body.name == name and _pulls(body):
            return body
    raise InputError("A part that is brought to its place must be a magnet or of steel", found=name,
                     allowed=building_order(assembly))  # fmt: skip


def _way(movers: Sequence[Body], rest: Sequence[Body]) -> int | None:
    """1 when the parts can come from above, -1 when only from below, None when both ways are blocked."""
    pairs = [(one.outline, other.outline) for one in movers for other in rest]
    if all(_free(one, other) for one, other in pairs):
        return 1
    if all(_free(upside_down(one), upside_down(other)) for one, other in pairs):
        return -1
    return None


def _free(falling: Polygon, ground: Polygon) -> bool:
    lift = drop(falling, ground)
    return lift is None or lift <= TOUCH_M


def _nearest(movers: Sequence[Body], rest: Sequence[Body], dz: float) -> float:
    return min(distance(moved(one.outline, dz), other.outline) for one in movers for other in rest)


def _force(movers: Sequence[Body], rest: Sequence[Body], dz: float, refinement: float) -> float:
    lifted = [dataclasses.replace(body, outline=moved(body.outline, dz)) for body in movers]
    return axial_force(solve(free_mesh([*rest, *lifted], refinement)), [body.name for body in movers])


def _relative(difference: float, force: FloatArray) -> float:
    largest = float(np.abs(force).max())
    return abs(difference) / largest if largest > 0 else 0.0


def _remanence_u(bodies: Sequence[Body]) -> float:
    """Largest relative standard uncertainty of a remanence among bodies."""
    grades = [body.matter.grade for body in bodies if isinstance(body.matter, Magnet)]
    return max((grade.br_u_t / grade.br_t for grade in grades), default=0.0)


def _empty(title: str, verdicts: tuple[Verdict, ...]) -> AssemblyForce:
    nothing = np.empty(0)
    return AssemblyForce(body=title, distance_m=nothing, force_n=nothing, u_rel=0.0, verdicts=verdicts)
