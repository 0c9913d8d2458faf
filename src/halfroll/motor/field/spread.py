"""What the spread of bought materials does to gap and force factor: solved again with them, not guessed.

Steel sold without a data sheet needs half as much or twice the field strength for the same flux density; magnets of one
grade spread in remanence. Each is moved by its standard uncertainty, all parts of a kind together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part
from halfroll.motor.field.gap_flux import gap_mean
from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.types import Assembly, Body, Magnet, SoftSteel


@dataclass(frozen=True, kw_only=True, eq=False)
class Spread:
    """Standard uncertainties by materials: of Bl (n,) in T m, by steel and by magnets relative to Bl's maximum, and of the
    gap's mean, relative.
    """

    bl: FloatArray
    steel_rel: float
    magnet_rel: float
    gap_rel: float


def spread(field: StaticField, x_m: FloatArray, progress: Progress) -> Spread:
    """Solve again on the same mesh with harder steel and with stronger magnets."""
    steel = _changed(field, x_m, with_harder_steel(field.motor.assembly), part(progress, 0.0, 0.5))
    magnet = _changed(field, x_m, with_stronger_magnets(field.motor.assembly), part(progress, 0.5, 1.0))
    return Spread(
        bl=np.hypot(steel.bl, magnet.bl),
        steel_rel=steel.rel,
        magnet_rel=magnet.rel,
        gap_rel=float(np.hypot(steel.gap_rel, magnet.gap_rel)),
    )


def with_harder_steel(assembly: Assembly) -> Assembly:
    """All steels with their field strength raised by its standard uncertainty."""

    def harder(body: Body) -> Body:
        if not isinstance(body.matter, SoftSteel):
            return body
        steel = body.matter.steel
        h = tuple(value * (1.0 + steel.h_factor_u) for value in steel.h_a_m)
        return replace(body, matter=SoftSteel(steel=replace(steel, h_a_m=h)))

    return replace(assembly, bodies=tuple(harder(body) for body in assembly.bodies))


def with_stronger_magnets(assembly: Assembly) -> Assembly:
    """All magnets with their remanence raised by its standard uncertainty."""

    def stronger(body: Body) -> Body:
        if not isinstance(body.matter, Magnet):
            return body
        grade = body.matter.grade
        return replace(
            body, matter=replace(body.matter, grade=replace(grade, br_t=grade.br_t + grade.br_u_t))
        )

    return replace(assembly, bodies=tuple(stronger(body) for body in assembly.bodies))


@dataclass(frozen=True)
class _Change:
    bl: FloatArray
    rel: float
    gap_rel: float


def _changed(field: StaticField, x_m: FloatArray, other: Assembly, progress: Progress) -> _Change:
    """Size of the change of Bl and gap from the field to that of another assembly on the same mesh."""
    if other == field.motor.assembly:
        return _Change(np.zeros(len(x_m)), 0.0, 0.0)
    moved = solve(replace(field.motor, assembly=other), start=field, progress=progress)
    before = gap_mean(field)
    gap_rel = abs(gap_mean(moved) / before - 1.0) if before else 0.0
    winding = other.winding
    if winding is None:
        return _Change(np.zeros(len(x_m)), gap_rel, gap_rel)
    bl = field.force_factor(winding, x_m)
    change = np.abs(moved.force_factor(winding, x_m) - bl)
    return _Change(change, float(change.max() / np.abs(bl).max()), gap_rel)
