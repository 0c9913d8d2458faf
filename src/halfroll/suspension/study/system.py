"""Surround and spider together under the moving mass: total stiffness, resonance, sag, rocking."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfroll.core.progress import Progress, part, silent
from halfroll.suspension.build import part_of
from halfroll.suspension.design import FlexureDesign, MovingDesign, StripDesign
from halfroll.suspension.results import (
    MovingMass,
    PartResult,
    Rocking,
    StiffnessCurve,
    SuspensionResult,
)
from halfroll.suspension.study.curves import asymmetry_of, limit_range
from halfroll.suspension.study.spread import stiffness_spread
from halfroll.suspension.study.whole import parts_in_system, system_verdicts

GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall (ISO 80000-3)."""
FIRST_S = 1.0
"""Log creep is counted from so long after the load came on."""
CREEP_DAYS = 365.0

PartDesign = StripDesign | FlexureDesign


def study_parts(design: MovingDesign, progress: Progress = silent) -> tuple[PartResult, ...]:
    """Surround and spider of a design, each on its own, over its travel.

    Raises
    ------
    InputError
        A part cannot be.
    CancelledError
        Through `progress`.
    """
    from halfroll.suspension.flexure import study_flexure
    from halfroll.suspension.study.strip import study_strip

    designs = _designs(design)
    found = []
    for number, one in enumerate(designs):
        told = part(progress, number / len(designs), (number + 1) / len(designs))
        if isinstance(one, FlexureDesign):
            found.append(study_flexure(one, design.travel_m, progress=told))
        else:
            strip = part_of(one)
            spread = stiffness_spread(one, strip)
            found.append(study_strip(strip, design.travel_m, u_relative=spread, progress=told))
    return tuple(found)


def together(
    design: MovingDesign, parts: Sequence[PartResult], mass: MovingMass | None = None
) -> SuspensionResult:
    """What parts already studied do together; `parts` in the order surround, spider of the design.

    Without a `mass` there is no resonance, sag and rocking.
    What is said of a part's own range of stiffness is put in proportion: a note with the part's share, or the system's own range.
    """
    designs = _designs(design)
    curve = total(parts, correlated=len({one.material.key for one in designs}) < len(designs))
    limit = limit_range(curve)
    result = SuspensionResult(
        parts=parts_in_system(parts, curve, limit), curve=curve, asymmetry=asymmetry_of(curve), limit=limit
    )
    if mass is not None:
        result = _with_mass(result, designs, mass)
    return replace(result, verdicts=system_verdicts(result, designs))


def _designs(design: MovingDesign) -> list[PartDesign]:
    return [one for one in (design.surround, design.spider) if one is not None]


def total(parts: Sequence[PartResult], *, correlated: bool) -> StiffnessCurve:
    """The sum of stiffness curves over the travel all of them reach.

    With one material in all of them their uncertainties go together and are added; otherwise they are added in squares.
    """
    from scipy.interpolate import CubicHermiteSpline

    low = max(float(one.curve.x_m[0]) for one in parts)
    high = min(float(one.curve.x_m[-1]) for one in parts)
    count = max(len(one.curve.x_m) for one in parts)
    half = count // 2
    x = np.concatenate([np.linspace(low, 0.0, half + 1), np.linspace(0.0, high, half + 1)[1:]])
    force, slope, spreads = np.zeros_like(x), np.zeros_like(x), []
    for one in parts:
        spline = CubicHermiteSpline(one.curve.x_m, one.curve.force_n, one.curve.tangent_n_per_m)
        force += spline(x)
        slope += np.interp(x, one.curve.x_m, one.curve.tangent_n_per_m)
        spreads.append(one.curve.u_relative * one.curve.at_rest())
    u = sum(spreads) if correlated else math.hypot(*spreads)
    kms = np.divide(force, x, out=slope.copy(), where=x != 0)
    return StiffnessCurve(
        x_m=x, force_n=force, tangent_n_per_m=slope, kms_n_per_m=kms, u_relative=u / kms[half]
    )


def _with_mass(result: SuspensionResult, designs: Sequence[PartDesign], mass: MovingMass) -> SuspensionResult:
    stiffness = result.curve.at_rest()
    resonance = math.sqrt(stiffness / mass.mms_kg) / (2 * math.pi)
    spread = 0.5 * math.hypot(result.curve.u_relative, mass.mass_u_kg / mass.mms_kg)
    weight = mass.mass_kg * GRAVITY_M_S2
    later = weight * (1 + _creep(result, designs) * math.log10(CREEP_DAYS * 86_400 / FIRST_S))
    return replace(
        result,
        moving_kg=mass.mms_kg,
        moving_u_kg=mass.mass_u_kg,
        resonance_hz=resonance,
        resonance_u_hz=spread * resonance,
        sag_m=sag(result.curve, weight),
        sag_later_m=sag(result.curve, later),
        creep_days=CREEP_DAYS,
        rocking=rocking(result, designs, mass),
    )


def _creep(result: SuspensionResult, designs: Sequence[PartDesign]) -> float:
    """Creep per decade of all parts, each counted by its share of the stiffness."""
    shares = [one.curve.at_rest() for one in result.parts]
    slopes = [one.material.creep_per_decade for one in designs]
    return sum(k * c for k, c in zip(shares, slopes, strict=True)) / sum(shares)


def sag(curve: StiffnessCurve, weight_n: float) -> float | None:
    """How far a weight (N) pushes the inner edge inwards (m, positive); None when the travel studied is too short to tell."""
    from scipy.interpolate import CubicHermiteSpline

    if curve.force_n[0] > -weight_n:
        return None
    spline = CubicHermiteSpline(curve.x_m, curve.force_n + weight_n, curve.tangent_n_per_m)
    roots = spline.roots(extrapolate=False)
    inwards = roots[roots <= 0]
    return -float(inwards.max()) if len(inwards) else None


def rocking(result: SuspensionResult, designs: Sequence[PartDesign], mass: MovingMass) -> Rocking | None:
    """The two sideways resonances of a rigid moving body on its suspension parts at rest, air and coil damping left out.

    Both turn the body about a point; the lower one is told as rocking, wherever that point is, because it is the one that rubs first.
    Shift at the centre of gravity and tilt about it are the coordinates; each part's stiffness is carried from its clamp's height there.
    """
    from scipy.linalg import eigh

    stiffness = np.zeros((2, 2))
    for one, drawn in zip(result.parts, designs, strict=True):
        own = np.array(
            [[one.radial_n_per_m, one.cross_n_per_rad], [one.cross_n_per_rad, one.tilt_nm_per_rad]]
        )
        carry = np.array([[1.0, drawn.height_over_gap_m - mass.centre_m], [0.0, 1.0]])
        stiffness += carry.T @ own @ carry
    if not np.isfinite(stiffness).all() or np.linalg.eigvalsh(stiffness)[0] <= 0:
        return None
    inertia = np.diag([mass.mass_kg, mass.diametral_kg_m2])
    squared, shapes = eigh(stiffness, inertia)
    hz = np.sqrt(squared) / (2 * math.pi)
    shift, tilt = shapes[:, 0]
    spread = 0.5 * math.hypot(result.curve.u_relative, mass.mass_u_kg / mass.mass_kg)
    return Rocking(
        rocking_hz=float(hz[0]),
        rocking_u_hz=float(spread * hz[0]),
        pivot_m=float(mass.centre_m - shift / (tilt or 1e-9)),
        shift_hz=float(hz[1]),
    )
