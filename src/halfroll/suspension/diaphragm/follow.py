"""How a surround or spider of revolution moves along with its inner edge, for small travel: stiffness, moving mass, added area."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.core.levels import FloatArray
from halfroll.suspension.diaphragm.revolved import Solid, of_points
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.equilibrium import settle
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import StripMesh, mesh_strip

ELEMENTS, ORDER = 16, 4
GRADING = (0.1, 0.4)
"""Where the first and last element are cut again, as shares of them: the clamps need it."""


@dataclass(frozen=True, kw_only=True)
class Follow:
    """What the linear solution of a clamped strip says: stiffness (N/m), its volume, the volume that counts as moving (by
    kinetic energy at unit velocity of the inner edge) with where it lies, and the area it adds (m²).
    """

    stiffness_n_per_m: float
    volume_m3: float
    moving: Solid
    area_m2: float


def follow(profile: Profile, material: Elastic) -> Follow:
    """Solve the strip with its outer edge fast and its inner edge moved by one unit along the axis.

    Raises
    ------
    RefusedError
        The strip has no equilibrium at rest: its middle line crosses or folds.
    """
    mesh = mesh_strip(profile, graded_cuts(profile))
    body = Ring(mesh, material)
    state = settle(body, body.clamps(), 0.0, np.zeros(body.size))
    if state is None:
        raise RefusedError("The strip cannot be solved at rest: its profile folds or crosses itself")
    moved = state.follow.reshape(-1, 2)
    at = np.einsum("nqk,nkc->nqc", mesh.shape, moved[mesh.elements])
    share = (at**2).sum(axis=2)
    return Follow(
        stiffness_n_per_m=state.stiffness_n_per_m,
        volume_m3=float(mesh.weight.sum()),
        moving=of_points(mesh.weight * share, mesh.at_r, mesh.at_z),
        area_m2=_swept(profile, mesh, moved),
    )


def graded_cuts(profile: Profile, elements: int = ELEMENTS) -> FloatArray:
    """Element boundaries along s: even within each smooth piece, finer at both clamps."""
    breaks = np.asarray(profile.breaks)
    each = np.maximum(1, np.round(np.diff(breaks) * elements)).astype(int)
    cuts = np.concatenate([np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(breaks, breaks[1:], each, strict=False)])
    first, last = float(cuts[1]) if len(cuts) > 1 else 1.0, 1.0 - float(cuts[-1])
    shares = np.asarray(GRADING)
    return np.concatenate([[0.0], first * shares, cuts[1:], 1.0 - last * shares[::-1], [1.0]])


def _swept(profile: Profile, mesh: StripMesh, moved: FloatArray) -> float:
    """Volume the middle surface sweeps per unit of travel: the integral of 2 pi r u·n along the line."""
    order, across = mesh.order, mesh.across
    middle = moved[across // 2 :: across]
    cuts = _cuts_of(mesh)
    points, weights = basis.gauss(order + 2)
    values, _ = basis.values(order, points)
    total = 0.0
    for number, (a, b) in enumerate(zip(cuts, cuts[1:], strict=False)):
        u = values @ middle[number * order : (number + 1) * order + 1]
        line = profile.curve(a + (b - a) * points)
        total += float((2 * math.pi * line.r * (line.r1 * u[:, 1] - line.z1 * u[:, 0]) * weights).sum() * (b - a))
    return total


def _cuts_of(mesh: StripMesh) -> FloatArray:
    """Element boundaries, from the Gauss points of each element: their middle and their spread."""
    x, _ = basis.gauss(mesh.order + 1)
    low, high = mesh.at_s.min(axis=1), mesh.at_s.max(axis=1)
    size = (high - low) / (x.max() - x.min())
    start = low - size * x.min()
    return np.append(start, start[-1] + size[-1])
