"""What of a shell radiates: cone outside the cap, cap, surround; a neck that is open counts as closed."""

from __future__ import annotations

import math

import numpy as np

from halfroll.suspension.diaphragm.joints import place_at
from halfroll.suspension.diaphragm.shell import Shell, Spot, Surface
from halfroll.suspension.elastic import basis

LEAST_NECK_M = 1e-6
"""A line that begins nearer to the axis than this (m) begins on it."""


def radiating(
    shell: Shell, cone: int, cap: int | None, cap_s: float, surround: int | None
) -> tuple[Surface, ...]:
    """Surfaces of the numbered lines; the cone's begins at `cap_s`, where the cap sits. Without a cap a flat disc without mass that
    moves with the neck closes it.
    """
    found = [shell.surface(cone, cap_s, 1.0)]
    if cap is not None:
        found.append(shell.surface(cap))
    else:
        r, z = place_at(shell.lines[cone].profile, 0.0)
        if r > LEAST_NECK_M:
            found.append(_plug(shell, Spot(line=cone, s=0.0), r, z))
    if surround is not None:
        found.append(shell.surface(surround))
    return tuple(found)


def _plug(shell: Shell, rim: Spot, radius: float, z: float) -> Surface:
    """A flat disc that moves along the axis with a rim."""
    x, w = basis.gauss(12)
    r = radius * x
    rows = np.broadcast_to(shell.row(rim, 1), (len(r), shell.size))
    circle = 2 * math.pi * r * radius * w
    return Surface(
        r=r,
        z=np.full_like(r, z),
        u_r=np.zeros_like(rows),
        u_z=rows,
        along=circle,
        up=circle,
        out=np.zeros_like(r),
    )
