"""Lines of shells for tests, SI."""

from __future__ import annotations

from typing import Any

import numpy as np

from halfroll.suspension.diaphragm.shell import Shell, ShellLine, Spot
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.pieces import Arc, Curve, straight


def line(
    curve: Curve, wall: float, law: tuple[float, float, float] = (1e9, 0.3, 1000.0), **more: Any
) -> ShellLine:
    """A line of one wall and one material (modulus, Poisson's ratio, density)."""
    profile = Profile(
        title="line", curve=curve, thickness=lambda s: (np.full_like(s, wall), np.zeros_like(s))
    )
    return ShellLine(
        name="line", profile=profile, modulus_pa=law[0], poisson=law[1], density_kg_m3=law[2], **more
    )


def plate(radius: float, wall: float, **more: Any) -> ShellLine:
    """A flat disc."""
    return line(straight((0.0, 0.0), (radius, 0.0)), wall, **more)


def sphere(radius: float, first: float, last: float, wall: float, **more: Any) -> ShellLine:
    """Part of a sphere between two angles from its pole (rad)."""
    arc = Arc(r=0.0, z=0.0, along_r=radius, along_z=radius, start=np.pi / 2 - first, stop=np.pi / 2 - last)
    return line(arc.at, wall, **more)


def omega(shell: Shell, count: int) -> Any:
    """The lowest angular frequencies."""
    from scipy.linalg import eigh

    squared = eigh(shell.stiffness, shell.mass, eigvals_only=True, subset_by_index=[0, count - 1])
    return np.sqrt(np.maximum(squared, 0.0))


INNER, OUTER = Spot(line=0, s=0.0), Spot(line=0, s=1.0)
