"""Charts of a suspension over displacement: stiffness with the range in which it stays soft enough, force, and strain with
what the plastic bears.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.publish.curves import NamedCurve
from halfroll.publish.displacement import AS_SAVED, NORMAL_95, WAS, chart_over, curve_over, outside
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.scales import linear_axis
from halfroll.publish.sketch import Dots
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme
from halfroll.suspension.results import PartResult, StiffnessCurve, SuspensionResult, TravelRange

LIMIT_SHARE = 0.75
"""Compliance may fall to this share of its value at rest (IEC 62458:2010, displacement limit by compliance; AES2-2012 practice)."""

STYLES = (0, 2, 3)
"""Styles of the curves of the whole and of its parts; `WAS` is kept for what was saved."""

Of = Callable[[StiffnessCurve], FloatArray]
"""What of a curve is drawn."""

_BAND = "shaded: 95 % band, of the material and the print"


def stiffness_chart(
    result: SuspensionResult,
    *,
    theme: Theme,
    width_px: float,
    before: SuspensionResult | None = None,
    measured: tuple[float, float] | None = None,
) -> Spec:
    """Kms(x) of all together and of each part, in N/mm, with its band; hatched where compliance is below 75 % of that at rest;
    what it was `before` a change; a `measured` Kms(0) (N/m) with its standard uncertainty.
    """
    curves = _all_and_parts(result, lambda curve: 1e-3 * curve.kms_n_per_m)
    whole = result.curve
    top = _highest(curves)
    ceiling = 1e-3 * whole.at_rest() / LIMIT_SHARE
    curves.append(curve_over(f"Kms(0)/{LIMIT_SHARE:g}", whole.x_m[[0, -1]], np.full(2, ceiling), style=4))
    if before is not None:
        curves.insert(1, _before(before, whole, lambda curve: 1e-3 * curve.kms_n_per_m))
        top = max(top, _highest(curves[1:2]))
    notes, dots = [_range_words(result.limit)], None
    if measured is not None:
        value, half = 1e-3 * measured[0], 1e-3 * NORMAL_95 * measured[1]
        dots = Dots(frequency_hz=np.zeros(1), value=np.array([value]), out=np.array([True]))
        notes.append(f"cross: {value:.3g} ± {half:.2g}{THIN}N/mm measured")
        top = max(top, value + half)
    axis = linear_axis(0.0, max(top, ceiling), title="Stiffness Kms in N/mm")
    return chart_over(
        curves, theme, width_px, axis, whole.x_m, "Stiffness over displacement", too_stiff(result.limit), notes, dots,
        band_note=_BAND, readout=Readout(number=".3r", spread=".2r", unit=" N/mm"),
    )  # fmt: skip


def force_chart(
    result: SuspensionResult, *, theme: Theme, width_px: float, before: SuspensionResult | None = None
) -> Spec:
    """The force (N) that holds the inner edge at x, of all together and of each part."""
    curves = _all_and_parts(result, lambda curve: curve.force_n)
    if before is not None:
        curves.insert(1, _before(before, result.curve, lambda curve: curve.force_n))
    values = np.concatenate([_edges(named) for named in curves])
    axis = linear_axis(float(values.min()), float(values.max()), title="Force in N")
    return chart_over(
        curves, theme, width_px, axis, result.curve.x_m, "Force over displacement", (), (), None,
        band_note=_BAND, readout=Readout(number=".3r", spread=".2r", unit=" N"),
    )  # fmt: skip


def strain_chart(
    parts: Sequence[PartResult],
    *,
    theme: Theme,
    width_px: float,
    bears: Mapping[str, float] | None = None,
) -> Spec:
    """The largest elongation (%) of each part over displacement, with the one its material `bears` for millions of
    cycles, by the part's name, as a line; hatched where a part is beyond.
    """
    bears = bears or {}
    curves, zones = [], []
    limits: dict[float, list[str]] = {}
    for number, part in enumerate(parts):
        x, stretched = part.curve.x_m, 100.0 * elongation(part.strain)
        curves.append(
            curve_over(part.name, x, stretched, style=STYLES[1 + number] if len(parts) > 1 else STYLES[0])
        )
        if part.name in bears:
            level = 100.0 * bears[part.name]
            limits.setdefault(level, []).append(part.name)
            zones += _beyond(x, stretched > level, f"{part.name} stretched too far")
    for number, (level, names) in enumerate(limits.items()):
        who = " and ".join(names) if len(limits) > 1 else "plastic"
        verb = "bear" if len(names) > 1 and len(limits) > 1 else "bears"
        ends = parts[0].curve.x_m[[0, -1]]
        curves.append(curve_over(f"{who} {verb}", ends, np.full(2, level), style=4 + number))
    top = max(float(np.nanmax(named.curve.value)) for named in curves)
    axis = linear_axis(0.0, 1.05 * top, title="Largest elongation in %")
    notes = ["away from the clamps"]
    notes += ["bears: for millions of cycles"] if bears else []
    return chart_over(
        curves, theme, width_px, axis, parts[0].curve.x_m, "Strain over displacement", zones, notes, None,
        readout=Readout(number=".2r", unit=" %"),
    )  # fmt: skip


def elongation(strain: FloatArray) -> FloatArray:
    """Elongation of what has a principal Green-Lagrange strain E: sqrt(1 + 2 E) - 1, by that strain's definition."""
    return np.asarray(np.sqrt(1.0 + 2.0 * strain) - 1.0)


def too_stiff(limit: TravelRange) -> list[Limit]:
    """Zones in which compliance is below its limit."""
    return outside(
        -np.inf if limit.full_low else limit.low_m, np.inf if limit.full_high else limit.high_m,
        f"compliance below {100 * LIMIT_SHARE:.0f}{THIN}%",
    )  # fmt: skip


def _range_words(limit: TravelRange) -> str:
    if limit.full_low and limit.full_high:
        return f"compliance stays above {100 * LIMIT_SHARE:.0f}{THIN}% of that at rest over the whole travel (IEC 62458)"
    return f"hatched: compliance below {100 * LIMIT_SHARE:.0f}{THIN}% of that at rest (IEC 62458)"


def _all_and_parts(result: SuspensionResult, of: Of) -> list[NamedCurve]:
    """The curve of the whole with its band, and that of every part where there is more than one: their bands would cover it."""
    named = [("together" if len(result.parts) > 1 else result.parts[0].name, result.curve)]
    named += [(part.name, part.curve) for part in result.parts] if len(result.parts) > 1 else []
    return [
        curve_over(name, curve.x_m, of(curve), None if number else NORMAL_95 * curve.u_relative * np.abs(of(curve)),
                   style=STYLES[min(number, 2)])
        for number, (name, curve) in enumerate(named)
    ]  # fmt: skip


def _before(before: SuspensionResult, now: StiffnessCurve, of: Of) -> NamedCurve:
    curve = before.curve
    there = (curve.x_m >= now.x_m[0]) & (curve.x_m <= now.x_m[-1])
    return curve_over(AS_SAVED, curve.x_m[there], of(curve)[there], style=WAS)


def _edges(named: NamedCurve) -> FloatArray:
    high, low = named.curve.high, named.curve.low
    return named.curve.value if high is None or low is None else np.concatenate([low, high])


def _highest(curves: Sequence[NamedCurve]) -> float:
    return max(float(_edges(named).max()) for named in curves)


def _beyond(x_m: FloatArray, where: NDArray[np.bool_], word: str) -> list[Limit]:
    """Zones from the travel's ends inwards to where it is no longer so."""
    zones = []
    if where.any():
        low, high = np.flatnonzero(~where)[[0, -1]] if (~where).any() else (len(x_m), -1)
        if low > 0:
            zones.append(Limit(word=word, from_x=-np.inf, to_x=1e3 * float(x_m[min(low, len(x_m) - 1)])))
        if high < len(x_m) - 1 and low < len(x_m):
            zones.append(Limit(word=word, from_x=1e3 * float(x_m[high]), to_x=np.inf))
    return zones
