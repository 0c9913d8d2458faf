"""What of a strip counts as moving, and what area it adds to the diaphragm: from how it follows its inner edge near rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.equilibrium import State
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import sample_strip


@dataclass(frozen=True, kw_only=True)
class Share:
    """Mass of the strip between its clamps (kg), the part of it that counts as moving (kg), the area it adds (m²)."""

    mass_kg: float
    moving_kg: float
    area_m2: float


def share_of(profile: Profile, ring: Ring, state: State) -> Share:
    """Share of a strip about one state.

    Moving mass is the one that has the strip's kinetic energy at the inner edge's velocity: the integral of density times (v / v_edge)².
    Added area is the volume that the middle surface sweeps per length of the edge's travel, outside the edge's own circle: the
    integral of 2π r (v_z dr - v_r dz) / v_edge along it.
    """
    mesh, density = ring.mesh, ring.material.density_kg_m3
    velocity = ring.moved(mesh.shape[0], state.follow)
    points, weights = basis.gauss(mesh.order + 1)
    middle = sample_strip(profile, mesh.cuts, points, np.array([0.5]), order=mesh.order)
    v = ring.moved(middle.shape, state.follow)
    line = profile.curve(middle.at_s)
    step = weights * np.diff(mesh.cuts)[:, None]
    swept = 2 * np.pi * middle.at_r * (v[..., 1] * line.r1 - v[..., 0] * line.z1) * step
    return Share(
        mass_kg=density * float(mesh.weight.sum()),
        moving_kg=density * float((mesh.weight * (velocity**2).sum(axis=2)).sum()),
        area_m2=float(swept.sum()),
    )
