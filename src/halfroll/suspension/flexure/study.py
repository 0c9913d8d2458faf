"""A planar flexure over its travel: all that a driver needs to know of it."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.flexure.arm import plastic_of
from halfroll.suspension.flexure.bend import BentArm, bend_arm
from halfroll.suspension.flexure.cuts import DEFAULT, FlexureSettings
from halfroll.suspension.flexure.error import mesh_error, stiffness_spread
from halfroll.suspension.flexure.hub import ArmAtRest, moving_share
from halfroll.suspension.flexure.judge import FlexureFound, verdicts_of
from halfroll.suspension.flexure.strain import Looked, shape_of, strains_over
from halfroll.suspension.profile.flexure import check_flexure
from halfroll.suspension.results import PartResult
from halfroll.suspension.study.curves import asymmetry_of, curve_of, limit_range

SHAPES = 9
"""How many bent shapes are kept to look at, ends and rest among them."""


def study_flexure(
    design: FlexureDesign,
    travel_m: float,
    *,
    settings: FlexureSettings = DEFAULT,
    progress: Progress = silent,
) -> PartResult:
    """Bend a flexure by `travel_m` (m) both ways and tell what that takes.

    One arm is computed, in three dimensions and with large rotations, clamped square at the rim and at a rigid hub; arms do not feel each
    other. `design.hub` says whether the hub is held or turns until no torque is left on it. Stiffness against a sideways shift and
    against tilting, and the arms' own resonances with both ends held, are those at rest.

    Raises
    ------
    InputError
        The flexure cannot be, or the travel is no length or past what the arms can be stretched to.
    CancelledError
        Through `progress`.
    """
    check_flexure(design)
    material, modulus_u = plastic_of(design)
    bent = bend_arm(design, material, travel_m, settings, part(progress, 0.0, 0.6))
    progress(0.6, "how sure the stiffness is")
    spread, error = stiffness_spread(design, material, modulus_u, settings), mesh_error(bent, settings)
    curve = curve_of(bent.both_sides(design.arms), spread)
    limit = limit_range(curve)
    progress(0.7, "strain over the travel")
    looked = Looked(bent)
    strains = strains_over(looked, curve.x_m)
    shapes = [shape_of(looked, float(x)) for x in np.linspace(curve.x_m[0], curve.x_m[-1], SHAPES)]
    progress(0.85, "sideways, tilting and own resonances")
    at_rest = ArmAtRest(bent.solid)
    hub, own = at_rest.hub_stiffness(design.arms), at_rest.own_hz()
    reached = float(bent.states[-1].x_m)
    mass, moving = moving_share(bent.solid, _velocity(bent))
    found = FlexureFound(
        design=design, material=material, bent=bent, travel_m=travel_m, curve=curve, limit=limit, strains=strains, hub=hub,
        mesh_error=error,
    )  # fmt: skip
    turn = None if bent.turning is None else np.array([bent.turn_rad(float(x)) for x in curve.x_m])
    return PartResult(
        name=design.name, curve=curve, asymmetry=asymmetry_of(curve), limit=limit,
        strain=strains.strain, stress_pa=strains.stress_pa, hoop_strain=np.full(len(curve.x_m), np.nan),
        mass_kg=design.arms * mass, moving_kg=design.arms * moving, area_m2=0.0,
        radial_n_per_m=hub.radial_n_per_m, tilt_nm_per_rad=hub.tilt_nm_per_rad, cross_n_per_rad=0.0,
        own_hz=tuple((float(f), 0) for f in own), hub_turn_rad=turn,
        shapes=tuple(one for one, _ in shapes), arm_shapes=tuple(one for _, one in shapes),
        mesh_error=error, curve_error=bent.curve_error, reached_m=(-reached, reached),
        verdicts=verdicts_of(found),
    )  # fmt: skip


def _velocity(bent: BentArm) -> FloatArray:
    """What the arm's nodes do (size,) per metre of the hub's travel at rest."""
    rest = bent.rest
    return rest.follow if bent.turning is None else bent.turning.velocity(rest.u, rest.follow)
