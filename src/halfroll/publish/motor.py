"""Charts of a motor: force factor over displacement with the limits of travel, and flux density through the gap."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.motor.field.travel import GeometricTravel, TravelLimits, smooth
from halfroll.motor.results import ForceFactor, MotorResult
from halfroll.motor.types import Assembly
from halfroll.publish.displacement import AS_SAVED, NORMAL_95, WAS, chart_over, curve_over
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.scales import linear_axis
from halfroll.publish.sketch import Dots
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

_POINTS = 161


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A force factor fitted to measurements at rest (N/A), with its standard uncertainty, and what it was measured on."""

    bl: float
    u: float
    of: str


def force_factor_chart(
    bl: ForceFactor,
    limits: TravelLimits,
    *,
    theme: Theme,
    width_px: float,
    geometric: GeometricTravel | None = None,
    measured: Measured | None = None,
    before: ForceFactor | None = None,
) -> Spec:
    """Bl over displacement with its band; hatched where it is below the share that limits travel; measured Bl at rest; what Bl was
    `before` a change.
    """
    x = np.linspace(bl.x_m[0], bl.x_m[-1], _POINTS)
    sign = -1.0 if bl.at_rest < 0 else 1.0
    value, half = sign * smooth(bl)(x), NORMAL_95 * np.interp(x, bl.x_m, bl.u)
    share = limits.share * bl.at_rest
    curves = [
        curve_over("Bl", x, value, half),
        curve_over(f"{100 * limits.share:.0f}{THIN}% of Bl at rest", x[[0, -1]], np.full(2, share), style=4),
    ]
    top = float(np.max(np.abs(value) + half))
    if before is not None:
        at = x[(x >= before.x_m[0]) & (x <= before.x_m[-1])]
        old = sign * smooth(before)(at)
        curves.insert(1, curve_over(AS_SAVED, at, old, style=WAS))
        top = max(top, float(np.abs(old).max()))
    ends = [
        side.distance_m * way
        for side, way in ((limits.inwards, -1.0), (limits.outwards, 1.0))
        if side.reached
    ]
    zones = [
        Limit(word=f"below {100 * limits.share:.0f}{THIN}%", from_x=-np.inf if end < 0 else 1e3 * end, to_x=1e3 * end if end < 0 else np.inf)
        for end in ends
    ]  # fmt: skip
    notes, points = _marked(bl, value, x, geometric, measured)
    top = max(top, 0.0 if measured is None else abs(measured.bl) + NORMAL_95 * measured.u)
    axis = (
        linear_axis(0.0, top, title="Force factor in N/A")
        if sign > 0
        else linear_axis(-top, 0.0, title="Force factor in N/A")
    )
    return chart_over(curves, theme, width_px, axis, x, "Force factor over displacement", zones, notes, points,
                  band_note="shaded: 95 % band of the computation", readout=Readout(number=".3f", spread=".2r", unit=" N/A"))  # fmt: skip


def _marked(
    bl: ForceFactor,
    value: FloatArray,
    x: FloatArray,
    geometric: GeometricTravel | None,
    measured: Measured | None,
) -> tuple[list[str], Dots | None]:
    """Points on the curve and what they are."""
    notes: list[str] = []
    at: list[tuple[float, float, bool]] = []
    if geometric is not None and geometric.linear_m > 0.0:
        words = "coil less gap" if geometric.hang == "overhung" else "gap less coil"
        middle = -geometric.off_m
        for end in (middle - geometric.linear_m, middle + geometric.linear_m):
            if x[0] <= end <= x[-1]:
                at.append((1e3 * end, float(np.interp(end, x, value)), False))
        notes.append(f"circles: geometric travel ±{1e3 * geometric.linear_m:.3g}{THIN}mm, half of {words}")
    if measured is not None:
        at.append((0.0, float(np.copysign(measured.bl, bl.at_rest)), True))
        notes.append(
            f"cross: {measured.bl:.3g} ± {NORMAL_95 * measured.u:.2g}{THIN}N/A measured on {measured.of}"
        )
    if not at:
        return notes, None
    at.sort()
    columns = [np.array(column) for column in zip(*at, strict=True)]
    return notes, Dots(frequency_hz=columns[0], value=columns[1], out=columns[2].astype(bool))


def gap_chart(
    result: MotorResult,
    assembly: Assembly,
    *,
    theme: Theme,
    width_px: float,
    before: MotorResult | None = None,
) -> Spec:
    """Radial flux density through the gap over height, with the ends of gap and winding; what it was `before` a change."""
    gap, winding = assembly.gap, assembly.winding
    reach = gap.z_high - gap.z_low
    low, high = gap.z_low, gap.z_high
    marked = [(gap.z_low, False), (gap.z_high, False)]
    notes = [
        f"along the {'winding' if winding is not None else 'gap'}'s middle radius",
        "circles: ends of the gap",
    ]
    if winding is not None:
        low, high = min(low, winding.z_low), max(high, winding.z_high)
        marked += [(winding.z_low, True), (winding.z_high, True)]
        notes.append("crosses: ends of the winding at rest")
    shown = (result.gap_z_m >= low - reach) & (result.gap_z_m <= high + reach)
    z, b = result.gap_z_m[shown], result.gap_b_t[shown]
    at, ends = (np.array(column) for column in zip(*sorted(marked), strict=True))
    dots = Dots(frequency_hz=1e3 * at, value=np.interp(at, z, b), out=ends.astype(bool))
    curves, ends_at = [curve_over("B", z, b)], [float(b.min()), float(b.max())]
    if before is not None:
        there = (before.gap_z_m >= z[0]) & (before.gap_z_m <= z[-1])
        curves.append(curve_over(AS_SAVED, before.gap_z_m[there], before.gap_b_t[there], style=WAS))
        ends_at += [float(before.gap_b_t[there].min()), float(before.gap_b_t[there].max())]
    axis = linear_axis(min(0.0, *ends_at), max(0.0, *ends_at), title="Flux density in T")
    return chart_over(
        curves, theme, width_px, axis, z, "Radial flux density in the gap", [], notes, dots,
        x_title="Height over the gap's middle in mm", readout=Readout(number=".3f", unit=" T"),
    )  # fmt: skip
