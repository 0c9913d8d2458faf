"""What a designed driver takes of the cabinet it stands in, and the room it needs there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.cabinet.fits import DriverSize
from halfroll.core.levels import FloatArray
from halfroll.motor.types import Assembly
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.profile.placed import moving_outlines

_WITHIN_M = 2e-5
_STEPS = 400


@dataclass(frozen=True, kw_only=True)
class DriverBody:
    """A driver's place in a front: `front_m` is the height of the front's outer face over the middle of the gap (m), where the surround's
    outer clamp lies; `hole_m` the radius of the opening; `taken_m3` what it takes of the inside; None of a part that is not designed.
    """

    size: DriverSize
    front_m: float
    hole_m: float
    taken_m3: float
    assembly: Assembly | None
    moving: MovingDesign | None


def ring_volume(outline: Sequence[tuple[float, float]]) -> float:
    """Volume (m³) of a closed half-section (r, z) turned about the axis (Pappus and Guldin)."""
    r, z = (np.array(axis) for axis in zip(*outline, strict=True))
    r2, z2 = np.roll(r, -1), np.roll(z, -1)
    cross = r * z2 - r2 * z
    return abs(float(math.pi / 3.0 * ((r + r2) * cross).sum()))


def driver_body(assembly: Assembly | None, moving: MovingDesign, wall_m: float) -> DriverBody | None:
    """The room a driver takes behind a front of a thickness; None without a surround, which says where the front is.

    Taken: the solid parts of the motor behind the front's inner face, and the space in front of cone and surround that lies behind that face;
    less what air behind them fills of the opening. The frame is not designed and not in it.
    """
    if moving.surround is None:
        return None
    outlines = moving_outlines(moving, _WITHIN_M)
    surround = np.concatenate(list(outlines["surround"]))
    widest = float(surround[:, 0].max())
    front = float(surround[surround[:, 0] > widest - 1e-4, 1].max())
    hole = moving.surround.outer_radius_m
    inner = front - wall_m
    bodies = () if assembly is None else assembly.bodies
    motor = sum(ring_volume([(r, min(z, inner)) for r, z in body.outline]) for body in bodies)
    lowest = min([float(surround[:, 1].min()), *(body.bounds[2] for body in bodies)])
    outer = max([widest, *(body.bounds[1] for body in bodies)])
    return DriverBody(
        size=DriverSize(outer_m=2.0 * outer, depth_m=max(inner - lowest, 0.0)), front_m=front, hole_m=hole,
        taken_m3=max(motor + _cavity(outlines, inner, hole), 0.0), assembly=assembly, moving=moving,
    )  # fmt: skip


def _cavity(outlines: dict[str, tuple[FloatArray, ...]], inner_m: float, hole_m: float) -> float:
    """∫ 2πr (z_inner - z_face) dr over the opening, z_face the outer face of cap, cone and surround; gaps between parts are bridged."""
    radii = np.linspace(0.0, hole_m, _STEPS)
    face = np.full(_STEPS, -np.inf)
    for name in ("cap", "cone", "surround"):
        for outline in outlines.get(name, ()):
            face = np.maximum(face, _upper(outline, radii))
    known = np.isfinite(face)
    if not known.any():
        return 0.0
    filled = np.interp(radii, radii[known], face[known])
    return float(np.trapezoid(2.0 * math.pi * radii * (inner_m - filled), radii))


def _upper(outline: FloatArray, radii: FloatArray) -> FloatArray:
    """Highest point of a closed outline at each radius; -inf where it does not reach."""
    highest = np.full(radii.shape, -np.inf)
    after = np.roll(outline, -1, axis=0)
    for (r1, z1), (r2, z2) in zip(outline, after, strict=True):
        low, high = min(r1, r2), max(r1, r2)
        on = (radii >= low) & (radii <= high)
        if high - low < 1e-12:
            highest[on] = np.maximum(highest[on], max(z1, z2))
        else:
            highest[on] = np.maximum(highest[on], z1 + (z2 - z1) * (radii[on] - r1) / (r2 - r1))
    return highest
