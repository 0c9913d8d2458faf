"""How a surround or spider of revolution moves along with its inner edge, for small travel: stiffness, moving mass, added area."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.suspension.elastic.equilibrium import settle
from halfroll.suspension.elastic.revolved import Solid, of_points
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip
from halfroll.suspension.study.cuts import cuts_of
from halfroll.suspension.study.share import share_of
from halfroll.suspension.types import SuspensionPart


@dataclass(frozen=True, kw_only=True)
class Follow:
    """What the linear solution of a clamped strip says: stiffness (N/m), its volume, the volume that counts as moving (by
    kinetic energy at unit velocity of the inner edge) with where it lies, and the area it adds (m²).
    """

    stiffness_n_per_m: float
    volume_m3: float
    moving: Solid
    area_m2: float


def follow(part: SuspensionPart, height_m: float = 0.0) -> Follow:
    """Solve the strip with its outer edge fast and its inner edge moved by one unit along the axis.

    `height_m` is where the profile's z = 0 stands over the gap.

    Raises
    ------
    RefusedError
        The strip has no equilibrium at rest: its middle line crosses or folds.
    """
    mesh = mesh_strip(part.profile, cuts_of(part.profile))
    body = Ring(mesh, part.material)
    state = settle(body, body.clamps(), 0.0, np.zeros(body.size))
    if state is None:
        raise RefusedError(f"The {part.name} cannot be solved at rest: its profile folds or crosses itself")
    velocity = body.moved(mesh.shape[0], state.follow)
    return Follow(
        stiffness_n_per_m=state.stiffness_n_per_m,
        volume_m3=float(mesh.weight.sum()),
        moving=of_points(mesh.weight * (velocity**2).sum(axis=2), mesh.at_r, mesh.at_z + height_m),
        area_m2=share_of(part.profile, body, state).area_m2,
    )
