"""What the gap gets: flux density, its profile, its flux, and the share of the magnets' flux that goes elsewhere.

With the potential A, B_r = -dA/dz: over a height it integrates to a difference of two values.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.motor.field.magnetostatics import StaticField
from halfroll.motor.results import FieldMap
from halfroll.motor.types import Assembly, FieldCoil, Magnet

STRAY_M = 50e-3
"""How far outside the motor, on its axis, the stray field is told."""

_PROFILE_POINTS = 161


@dataclass(frozen=True, kw_only=True)
class GapFlux:
    """Flux through the gap at its middle radius, flux of the magnets (Wb), and the share of it that misses the gap."""

    gap_wb: float
    magnet_wb: float
    leakage_share: float


def gap_mean(field: StaticField) -> float:
    """Gap flux density (T): mean of B_r over the gap's height at its middle radius, as a search coil moved through it reads."""
    gap = field.motor.assembly.gap
    middle = 0.5 * (gap.r_inner + gap.r_outer)
    return _crossing(field) / (2.0 * np.pi * middle * (gap.z_high - gap.z_low))


def _crossing(field: StaticField) -> float:
    """Flux through the gap at its middle radius, outwards (Wb)."""
    gap = field.motor.assembly.gap
    middle = 0.5 * (gap.r_inner + gap.r_outer)
    low, high = field.flux(np.full(2, middle), np.asarray([gap.z_low, gap.z_high]))
    return float(low - high)


def gap_profile(field: StaticField) -> tuple[FloatArray, FloatArray]:
    """Heights (n,) in m over the strip the coil moves through and B_r (n,) in T at the coil's, or the gap's, middle radius."""
    assembly, (low, high) = field.motor.assembly, field.motor.strip_m
    if assembly.winding is None:
        low, high = 1.5 * low - 0.5 * high, 1.5 * high - 0.5 * low
    z = np.linspace(low, high, _PROFILE_POINTS)
    return z, field.flux_density(np.full(len(z), middle_radius(assembly)), z)[:, 0]


def middle_radius(assembly: Assembly) -> float:
    """Middle radius (m) of the winding, or of the gap when there is none."""
    of = assembly.winding or assembly.gap
    return 0.5 * (of.r_inner + of.r_outer)


def gap_flux(field: StaticField, drawn: FieldMap) -> GapFlux:
    """Flux of gap and magnets and the leakage share.

    2 pi r A is constant along a line of flux, so every line is known by its value. The magnets' flux is the measure of all
    values that occur inside magnets (and inside or around field coils): magnets that stand in one magnetic circuit behind
    each other count once. The gap's flux is the difference of the values at the two ends of its middle radius.
    """
    assembly = field.motor.assembly
    reaches = [
        _reach(drawn, i, around=isinstance(body.matter, FieldCoil))
        for i, body in enumerate(assembly.bodies)
        if isinstance(body.matter, Magnet | FieldCoil)
    ]
    total, crossing = _measure(reaches), abs(_crossing(field))
    share = min(1.0, max(0.0, 1.0 - crossing / total)) if total > 0 else 0.0
    return GapFlux(gap_wb=crossing, magnet_wb=total, leakage_share=share)


def _reach(drawn: FieldMap, body: int, around: bool) -> tuple[float, float]:
    """Smallest and largest flux inside a body; `around` it too, so from zero."""
    inside = drawn.flux_wb[drawn.triangles[drawn.body == body]]
    low, high = float(inside.min()), float(inside.max())
    return (min(0.0, low), max(0.0, high)) if around else (low, high)


def _measure(reaches: list[tuple[float, float]]) -> float:
    """Length of the union of intervals."""
    total, end = 0.0, -np.inf
    for low, high in sorted(reaches):
        total += max(0.0, high - max(low, end))
        end = max(end, high)
    return total


def stray(field: StaticField) -> float:
    """Flux density (T) on the axis `STRAY_M` outside the motor's outermost face."""
    top = max(z for body in field.motor.assembly.bodies for _, z in body.outline)
    return float(np.linalg.norm(field.flux_density(np.zeros(1), np.full(1, top + STRAY_M))))
