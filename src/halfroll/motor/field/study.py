"""The static study of a motor: from parts in their places to field, force factor, saturation and operating points.

One solution gives everything. A second one on another mesh judges its discretisation error, and further ones with other
steel and other magnets say what the spread of bought materials does to the force factor.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Verdict
from halfroll.motor.field.field_map import field_map
from halfroll.motor.field.gap_flux import gap_flux, gap_mean, gap_profile, stray
from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.field.operating_point import operating_points
from halfroll.motor.field.saturation import saturation
from halfroll.motor.field.spread import Spread, spread
from halfroll.motor.field.study_verdicts import study_verdicts
from halfroll.motor.field.travel import most_symmetric_shift
from halfroll.motor.results import ForceFactor, MotorResult
from halfroll.motor.types import Assembly, Magnet

JUDGED_BY = 2.0
"""The mesh that judges the error is coarser by this factor. With less the difference of both is at times below the error."""

UNJUDGED = 2e-3
"""Relative discretisation error stated for the standard mesh when it is not judged: ten times that of the reference motors."""


@dataclass(frozen=True, kw_only=True)
class StudySettings:
    """What is computed.

    Parameters
    ----------
    travel_m
        Bl is computed over displacements from minus to plus this (m); None: so far that the coil leaves the gap.
    points
        Number of displacements, odd so that rest is one of them.
    refinement
        Size of elements relative to the standard mesh: 2 for a sketch, 0.5 for one digit more.
    temperature_c
        Temperature of all magnets (°C); None: that of the assembly.
    judge_error
        Estimate the discretisation error by a second mesh; without it the usual error of such a mesh is stated.
    material_spread
        Solve again with harder steel and with stronger magnets, as far as bought ones spread, and widen the uncertainty.
    cuts
        Pieces an element's edge is cut into for the field map.
    """

    travel_m: float | None = None
    points: int = 33
    refinement: float = 1.0
    temperature_c: float | None = None
    judge_error: bool = True
    material_spread: bool = False
    cuts: int = 3

    def __post_init__(self) -> None:
        if self.points < 3 or self.points % 2 == 0:
            raise InputError("The number of displacements must be odd and 3 at least", found=f"{self.points}")
        if self.travel_m is not None and not 0.0 < self.travel_m <= 0.1:
            raise InputError("The range of displacement must be a possible length", found=f"{1e3 * self.travel_m:g} mm",
                             allowed="above 0 to 100 mm, each way")  # fmt: skip
        if not 0.2 <= self.refinement <= 4.0:
            raise InputError(
                "The refinement of the mesh must be possible",
                found=f"{self.refinement:g}",
                allowed="0.2 to 4",
            )


def study(
    assembly: Assembly, settings: StudySettings | None = None, progress: Progress = silent
) -> MotorResult:
    """Find the field of a motor and what the trade reads from it.

    Raises
    ------
    InputError
        When the half-section cannot be meshed or the coil leaves the field region.
    SolverError
        When Newton's method does not come to rest.
    CancelledError
        From `progress`.
    """
    settings = settings or StudySettings()
    warm = assembly if settings.temperature_c is None else at_temperature(assembly, settings.temperature_c)
    travel = settings.travel_m or usual_travel(warm)
    shares = (
        (0.1, 0.6, 0.8, 0.95) if settings.judge_error or settings.material_spread else (0.2, 0.9, 0.9, 0.9)
    )
    progress(0.0, "mesh")
    mesh = MeshSettings(refinement=settings.refinement, travel_m=travel)
    field = solve(mesh_of(warm, mesh), progress=part(progress, shares[0], shares[1]))
    x = displacements(travel, settings.points)
    rough = None
    if settings.judge_error:
        coarse = replace(mesh, refinement=JUDGED_BY * settings.refinement)
        rough = solve(mesh_of(warm, coarse), progress=part(progress, shares[1], shares[2]))
    known = spread(field, x, part(progress, shares[2], shares[3])) if settings.material_spread else None
    progress(shares[3], "figures")
    result = _result(field, rough, known, x, settings)
    progress(1.0, "done")
    return result


def usual_travel(assembly: Assembly) -> float:
    """Displacement (m) at which the coil has left the gap, one way; the gap's height without a coil."""
    gap, winding = assembly.gap, assembly.winding
    height = gap.z_high - gap.z_low
    return height if winding is None else 0.5 * (winding.height_m + height) + abs(winding.centre_m)


def displacements(travel_m: float, points: int) -> FloatArray:
    """Displacements (points,) from minus to plus the travel, rest among them (m)."""
    half = np.linspace(0.0, travel_m, points // 2 + 1)
    return np.concatenate([-half[:0:-1], half])


def at_temperature(assembly: Assembly, temperature_c: float) -> Assembly:
    """The same motor with all magnets at a temperature (°C)."""
    return replace(
        assembly,
        bodies=tuple(
            replace(body, matter=replace(body.matter, temperature_c=temperature_c))
            if isinstance(body.matter, Magnet)
            else body
            for body in assembly.bodies
        ),
    )


def _result(
    field: StaticField,
    rough: StaticField | None,
    known: Spread | None,
    x: FloatArray,
    settings: StudySettings,
) -> MotorResult:
    assembly = field.motor.assembly
    drawn = field_map(field, settings.cuts)
    flux, mean, profile = gap_flux(field, drawn), gap_mean(field), gap_profile(field)
    bl, error = _force_factor(field, rough, known, x)
    shift = None if bl is None else most_symmetric_shift(bl)
    result = MotorResult(
        field=drawn,
        gap_mean_t=mean,
        gap_u_t=abs(mean) * float(np.hypot(_gap_error(mean, rough), known.gap_rel if known else 0.0)),
        gap_z_m=profile[0],
        gap_b_t=profile[1],
        gap_flux_wb=flux.gap_wb,
        magnet_flux_wb=flux.magnet_wb,
        leakage_share=flux.leakage_share,
        force_factor=bl,
        offset_best_m=None
        if shift is None or assembly.winding is None
        else assembly.winding.centre_m + shift,
        steel=saturation(field),
        magnets=operating_points(field),
        stray_t=stray(field),
        error=error,
        unknowns=field.unknowns,
    )
    verdicts: tuple[Verdict, ...] = study_verdicts(assembly, result, known)
    return replace(result, verdicts=verdicts)


def _gap_error(mean: float, rough: StaticField | None) -> float:
    if rough is None or mean == 0.0:
        return UNJUDGED
    return abs(mean - gap_mean(rough)) / abs(mean)


def _force_factor(
    field: StaticField, rough: StaticField | None, known: Spread | None, x: FloatArray
) -> tuple[ForceFactor | None, float]:
    """Bl(x) with its uncertainty, and the relative discretisation error of Bl at rest (of the gap's mean without a coil).

    The error over the whole range is the largest difference between both meshes: where it passes zero it says nothing.
    """
    winding = field.motor.assembly.winding
    if winding is None:
        return None, _gap_error(gap_mean(field), rough)
    bl = field.force_factor(winding, x)
    size = float(np.abs(bl).max())
    error = UNJUDGED * size if rough is None else float(np.abs(bl - rough.force_factor(winding, x)).max())
    material = np.zeros(len(x)) if known is None else known.bl
    at_rest = abs(float(bl[len(x) // 2]))
    return ForceFactor(x_m=x, bl=bl, u=np.hypot(error, material)), error / at_rest if at_rest else 0.0
