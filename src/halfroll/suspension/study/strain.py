"""How far a strip's material is strained and stressed over the travel, away from the clamps.

At a clamp's corners strain has no finite value, so nothing within one thickness of a clamped face is counted: there the glue and
the radius of the print decide, not the strip.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.laws import BoolArray, green
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import Sample, place, sample_strip

_ALONG = np.linspace(0.0, 1.0, 7)
_ACROSS = np.array([0.0, 0.5, 1.0])
"""Both surfaces, where bending strains most, and the middle."""


@dataclass(frozen=True, kw_only=True)
class Peak:
    """A largest value: how large, at which displacement (m), at which radius at rest (m), on which surface."""

    value: float
    x_m: float
    r_m: float
    surface: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Strains:
    """Over the displacements asked for (n,): largest and smallest principal Green-Lagrange strain, largest principal true stress (Pa),
    lowest hoop strain of the middle surface; and where the extremes are.
    """

    strain: FloatArray
    least_strain: FloatArray
    stress_pa: FloatArray
    hoop_strain: FloatArray
    most_strained: Peak
    most_stressed: Peak
    most_shrunk: Peak


def strains_of(profile: Profile, ring: Ring, x_m: FloatArray, u: FloatArray) -> Strains:
    """Strain over the travel from nodal displacements u (n, size) at x (n,)."""
    sample = surface(profile, ring)
    away = away_from_clamps(profile, sample.at_r, sample.at_z)
    middle = away & (sample.at_t == 0)
    rows = [_of_one(ring, sample, one) for one in u]
    strain, least, stress, hoop = (np.array([row[k] for row in rows]) for k in range(4))
    # A cubic between two crushed shapes may turn a point inside out: it has no stress.
    strain, stress = np.where(away, strain, -np.inf), np.where(away & ~np.isnan(stress), stress, -np.inf)
    least, hoop = np.where(away, least, np.inf), np.where(middle, hoop, np.inf)
    return Strains(
        strain=strain.max(axis=(1, 2)), least_strain=least.min(axis=(1, 2)), stress_pa=stress.max(axis=(1, 2)),
        hoop_strain=hoop.min(axis=(1, 2)), most_strained=_peak(strain, x_m, sample), most_stressed=_peak(stress, x_m, sample),
        most_shrunk=_peak(-hoop, x_m, sample),
    )  # fmt: skip


def surface(profile: Profile, ring: Ring) -> Sample:
    """Both surfaces and the middle of every element; for meshes of one layer."""
    return sample_strip(profile, ring.mesh.cuts, _ALONG, _ACROSS, order=ring.mesh.order)


def away_from_clamps(profile: Profile, r: FloatArray, z: FloatArray) -> BoolArray:
    """Whether places are farther than one thickness from both clamped faces, in the shape of r."""
    away = np.ones(r.shape, dtype=bool)
    for s in (0.0, 1.0):
        ends = np.full(2, s)
        h = float(profile.thickness(ends)[0][0])
        face_r, face_z, *_ = place(profile, ends, np.array([-0.5, 0.5]))
        along = (r - face_r[0]) * np.diff(face_r) + (z - face_z[0]) * np.diff(face_z)
        share = np.clip(along / h**2, 0, 1)
        distance = np.hypot(r - face_r[0] - share * np.diff(face_r), z - face_z[0] - share * np.diff(face_z))
        away &= distance > h
    return away


def principal(gradient: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Largest and smallest principal Green-Lagrange strain, and hoop strain, of axisymmetric gradients (..., 3, 3)."""
    e = green(gradient)
    high, low = _in_plane(e)
    hoop = e[..., 2, 2]
    return np.maximum(high, hoop), np.minimum(low, hoop), hoop


def _of_one(
    ring: Ring, sample: Sample, u: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    gradient = ring.gradient_at(sample, u)
    strain, least, hoop = principal(gradient)
    stress = ring.material.cauchy(gradient)
    return strain, least, np.maximum(_in_plane(stress)[0], stress[..., 2, 2]), hoop


def _in_plane(tensor: FloatArray) -> tuple[FloatArray, FloatArray]:
    mean = 0.5 * (tensor[..., 0, 0] + tensor[..., 1, 1])
    radius = np.hypot(0.5 * (tensor[..., 0, 0] - tensor[..., 1, 1]), tensor[..., 0, 1])
    return mean + radius, mean - radius


def _peak(values: FloatArray, x_m: FloatArray, sample: Sample) -> Peak:
    which, *at = np.unravel_index(int(values.argmax()), values.shape)
    place_in = tuple(at)
    t = float(sample.at_t[place_in])
    names = {-1: "lower", 0: "middle", 1: "upper"}
    return Peak(
        value=float(values[(which, *place_in)]), x_m=float(x_m[which]), r_m=float(sample.at_r[place_in]),
        surface=names[int(np.sign(t))],
    )  # fmt: skip
