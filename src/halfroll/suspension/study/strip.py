"""A strip of revolution over its travel: all that a driver needs to know of a surround or spider."""

from __future__ import annotations

import numpy as np

from halfroll.core.progress import Progress, part, silent
from halfroll.suspension.results import PartResult
from halfroll.suspension.study.curves import asymmetry_of, curve_of, limit_range
from halfroll.suspension.study.judge import Found, verdicts_of
from halfroll.suspension.study.shapes import shapes_of
from halfroll.suspension.study.share import share_of
from halfroll.suspension.study.sideways import sideways
from halfroll.suspension.study.strain import strains_of
from halfroll.suspension.study.travel import STANDARD, TravelSettings, bend, mesh_error
from halfroll.suspension.types import SuspensionPart

SHAPES = 9
"""How many bent shapes are kept to look at, ends and rest among them."""


def study_strip(
    strip: SuspensionPart, travel_m: float, *, u_relative: float = 0.0, settings: TravelSettings = STANDARD,
    progress: Progress = silent, shapes: bool = True,
) -> PartResult:  # fmt: skip
    """Bend a strip by `travel_m` (m) both ways and tell what that takes.

    Parameters
    ----------
    strip, travel_m
        The strip between its clamps, and how far its inner edge goes along the axis.
    u_relative
        Standard uncertainty of the whole stiffness curve, as a share: modulus and thickness.
    shapes
        Whether bent shapes are kept.

    Raises
    ------
    InputError
        The travel is no length, or past what the strip can be stretched to.
    CancelledError
        Through `progress`.
    """
    bent = bend(strip, travel_m, settings, part(progress, 0.0, 0.5))
    curve = curve_of(bent.states, u_relative)
    profile, ring = strip.profile, bent.ring
    progress(0.5, "strain over the travel")
    strains = strains_of(profile, ring, curve.x_m, bent.at(curve.x_m))
    limit, error = limit_range(curve), mesh_error(strip, bent, settings)
    share = share_of(profile, ring, bent.rest)
    other = sideways(ring, bent.states, part(progress, 0.6, 1.0))
    found = Found(
        strip=strip, bent=bent, travel_m=travel_m, curve=curve, limit=limit, strains=strains, mesh_error=error, sideways=other
    )  # fmt: skip
    at = np.unique(np.append(np.linspace(curve.x_m[0], curve.x_m[-1], SHAPES), 0.0))
    return PartResult(
        name=strip.name, curve=curve, asymmetry=asymmetry_of(curve), limit=limit,
        strain=strains.strain, stress_pa=strains.stress_pa, hoop_strain=strains.hoop_strain,
        mass_kg=share.mass_kg, moving_kg=share.moving_kg, area_m2=share.area_m2,
        radial_n_per_m=other.radial_n_per_m, tilt_nm_per_rad=other.tilt_nm_per_rad, cross_n_per_rad=other.cross_n_per_rad,
        own_hz=other.own_hz, wrinkle_x_m=other.wrinkle_x_m, wrinkle_waves=other.wrinkle_waves,
        shapes=shapes_of(profile, ring, at, bent.at(at)) if shapes else (),
        mesh_error=error, curve_error=bent.curve_error, reached_m=(bent.states[0].x_m, bent.states[-1].x_m),
        verdicts=verdicts_of(found),
    )  # fmt: skip
