"""Bent shapes to look at: the outline, and a coarse map of strain."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.laws import BoolArray
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import IntArray, Sample
from halfroll.suspension.results import BentShape
from halfroll.suspension.study.strain import away_from_clamps, principal, surface


def shapes_of(profile: Profile, ring: Ring, x_m: FloatArray, u: FloatArray) -> tuple[BentShape, ...]:
    """A shape for each of the nodal displacements u (n, size) at x (n,)."""
    sample = surface(profile, ring)
    unique = _once_each(sample)
    away = away_from_clamps(profile, sample.at_r, sample.at_z).ravel()[unique]
    triangles = band_triangles(len(unique) // 3)
    return tuple(
        _shape(float(x), ring, sample, one, unique, away, triangles) for x, one in zip(x_m, u, strict=True)
    )


def outline_of(ring: Ring, sample: Sample, u: FloatArray, keep: BoolArray | None = None) -> FloatArray:
    """The bent outline (n, 2) as r, z (m): upper surface outwards, lower one back, closed by its first point again.

    `keep`, shaped as the sample, leaves out rows across of which a point is not to be in it.
    """
    unique = _once_each(sample)
    at = _moved(ring, sample, u)[unique].reshape(-1, 3, 2)
    if keep is not None:
        at = at[keep.ravel()[unique].reshape(-1, 3).all(axis=1)]
    return np.concatenate([at[:, 2], at[::-1, 0], at[:1, 2]])


def _shape(
    x_m: float,
    ring: Ring,
    sample: Sample,
    u: FloatArray,
    unique: IntArray,
    away: BoolArray,
    triangles: IntArray,
) -> BentShape:
    strain, _, hoop = (one.ravel()[unique] for one in principal(ring.gradient_at(sample, u)))
    return BentShape(
        x_m=x_m,
        outline_m=outline_of(ring, sample, u),
        places_m=_moved(ring, sample, u)[unique],
        triangles=triangles,
        strain=np.where(away, strain, np.nan),
        hoop_strain=np.where(away, hoop, np.nan),
    )


def _moved(ring: Ring, sample: Sample, u: FloatArray) -> FloatArray:
    at = np.stack([sample.at_r, sample.at_z], axis=-1) + ring.moved(sample.shape, u)
    return np.asarray(at.reshape(-1, 2))


def _once_each(sample: Sample) -> IntArray:
    """Rows of three across, without the first row of each element but the first: it is the last of the one before."""
    count, points = sample.at_s.shape
    keep = np.ones((count, points), dtype=bool)
    keep[1:, :3] = False
    return np.flatnonzero(keep.ravel())


def band_triangles(rows: int) -> IntArray:
    """Triangles (n, 3) over `rows` rows of three places each, across a strip or an arm."""
    lower = (3 * np.arange(rows - 1)[:, None] + np.arange(2)).ravel()
    first = np.stack([lower, lower + 3, lower + 4], axis=1)
    second = np.stack([lower, lower + 4, lower + 1], axis=1)
    return np.concatenate([first, second])
