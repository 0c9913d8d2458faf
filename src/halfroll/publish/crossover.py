"""Charts of a crossover: ways and sum with the band of tolerances, off axis, impedance, phase, volts at the drivers, directivity."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray, db
from halfroll.core.text import THIN
from halfroll.driver.crossover.results import DRIVE_V, Result
from halfroll.driver.crossover.said import LEAST_OF_RATED
from halfroll.publish.charts import frequency_chart, impedance_chart, level_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hover import Readout
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

SUM_STYLE = 0
RANGE_HZ = (20.0, 20_000.0)
FAINT_DB = -40.0
"""Phase between ways is shown where both lie less than this below the sum."""

_QUANTITY = f"Level at {DRIVE_V:g}{THIN}V, brought to 1{THIN}m, in dB re 20{THIN}µPa"


def crossover_charts(result: Result, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """All charts by name, in the order in which they are looked at: ``sum``, ``horizontal``, ``vertical``, ``impedance``, ``volts``, ``phase``,
    ``directivity``.
    """
    return {
        name: make(result, theme=theme, width_px=width_px)
        for name, make in CHARTS.items()
        if _has(name, result)
    }


def sum_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """Each way and the sum with its band."""
    low, high = result.band_db
    curves = [
        NamedCurve(
            label="sum", curve=_curve(result, result.level_db(result.total), low, high), style=SUM_STYLE
        )
    ]
    for place, (name, pressure) in enumerate(result.parts.items()):
        data = result.data[name]
        curve = _curve(result, result.level_db(pressure), valid_hz=data.valid_hz)
        curves.append(NamedCurve(label=f"{name} ({data.source})", curve=curve, style=1 + place))
    at = result.asked.listener
    words = f"heard from {at.distance_m:g}{THIN}m, {at.horizontal_deg:g}° aside, {at.vertical_deg:g}° up"
    band = (
        "95 % of draws from the tolerances"
        if result.asked.method == "monte-carlo"
        else "every end of the tolerances"
    )
    return level_chart(
        curves, theme=theme, width_px=width_px, range_hz=RANGE_HZ, title="Ways and sum", quantity=_QUANTITY, notes=(words, *_one_watt(result.asked.rated_ohm)),
        band_note=f"shaded: {band} of coils, capacitors and resistors; the drivers' own spread is not in it", most_db=45.0,
    )  # fmt: skip


def _one_watt(rated_ohm: float | None) -> tuple[str, ...]:
    """How far the level at 1 W into the rated impedance lies from that at 2.83 V; nothing for 8 ohm, where they are the same."""
    if rated_ohm is None:
        return ()
    change = 10.0 * math.log10(rated_ohm / DRIVE_V**2)
    if abs(change) < 0.05:
        return ()
    return (
        f"at 1{THIN}W into {rated_ohm:g}{THIN}Ω it is {abs(change):.1f}{THIN}dB {'lower' if change < 0 else 'higher'}",
    )


def horizontal_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """The sum on axis and aside."""
    return _off_axis(result, 0, "Aside", theme=theme, width_px=width_px)


def vertical_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """The sum on axis, above and below."""
    return _off_axis(result, 1, "Above and below", theme=theme, width_px=width_px)


def whole_impedance_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """Impedance of the whole, and of each driver alone; with the least the rated one allows."""
    f = result.frequency_hz
    curves = [
        NamedCurve(
            label="whole", curve=Curve(frequency_hz=f, value=np.abs(result.input_ohm)), style=SUM_STYLE
        )
    ]
    for place, (name, data) in enumerate(result.data.items()):
        curves.append(
            NamedCurve(
                label=f"{name} alone",
                curve=Curve(frequency_hz=f, value=np.abs(data.impedance_ohm)),
                style=1 + place,
            )
        )
    rated = result.asked.rated_ohm
    if rated is not None:
        least = np.full(f.shape, LEAST_OF_RATED * rated)
        curves.append(
            NamedCurve(
                label=f"80{THIN}% of {rated:g}{THIN}Ω",
                curve=Curve(frequency_hz=f, value=least),
                style=1 + len(result.data),
            )
        )
    return impedance_chart(
        curves, theme=theme, width_px=width_px, range_hz=RANGE_HZ, ratio=None, title="Impedance"
    )


def volts_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """Voltage at each driver over the amplifier's, with the real impedances."""
    curves = [
        NamedCurve(label=name, curve=_curve(result, db(volts)), style=1 + place)
        for place, (name, volts) in enumerate(result.way_v.items())
    ]
    return level_chart(curves, theme=theme, width_px=width_px, range_hz=RANGE_HZ, title="Voltage at the drivers",
                       quantity="Voltage at the driver in dB re the amplifier's", most_db=45.0)  # fmt: skip


def phase_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """Phase of each further way against the first, where both are heard."""
    names = list(result.parts)
    first, sum_ = result.parts[names[0]], np.abs(result.total)
    curves = []
    for place, name in enumerate(names[1:], 2):
        other = result.parts[name]
        apart = np.degrees(np.angle(other / first))
        weak = np.minimum(np.abs(other), np.abs(first)) < 10.0 ** (FAINT_DB / 20.0) * sum_
        turned = np.append(np.abs(np.diff(apart)) > 180.0, False)
        value = np.where(weak | turned, np.nan, apart)
        curves.append(
            NamedCurve(label=f"{name} against {names[0]}", curve=_curve(result, value), style=place)
        )
    return frequency_chart(
        curves, theme=theme, width_px=width_px, range_hz=RANGE_HZ, y_range=(-180.0, 180.0), marks=(-180.0, -90.0, 0.0, 90.0, 180.0),
        title="Phase between the ways at the listener", quantity="Phase in degrees", readout=Readout(number="+.0f", unit="°"),
        notes=("0° adds up, 180° cancels; polarity and travel time are in it",),
    )  # fmt: skip


def directivity_chart(result: Result, *, theme: Theme, width_px: float) -> Spec:
    """The directivity index of the whole."""
    curve = NamedCurve(label="whole", curve=_curve(result, result.directivity_db), style=SUM_STYLE)
    top = max(20.0, 10.0 * math.ceil(float(np.nanmax(result.directivity_db)) / 10.0))
    return frequency_chart(
        [curve], theme=theme, width_px=width_px, range_hz=RANGE_HZ, y_range=(0.0, top), marks=tuple(np.arange(0.0, top + 1.0, 5.0)), title="Directivity index",
        quantity="Directivity index in dB", readout=Readout(number=".1f", unit=" dB"), notes=("stiff pistons in a large baffle",),
    )  # fmt: skip


CHARTS: dict[str, Callable[..., Spec]] = {
    "sum": sum_chart, "horizontal": horizontal_chart, "vertical": vertical_chart, "impedance": whole_impedance_chart,
    "volts": volts_chart, "phase": phase_chart, "directivity": directivity_chart,
}  # fmt: skip


def _has(name: str, result: Result) -> bool:
    return name != "phase" or len(result.parts) > 1


def _off_axis(result: Result, which: int, title: str, *, theme: Theme, width_px: float) -> Spec:
    at = result.asked.listener
    own = (at.horizontal_deg, at.vertical_deg)
    curves = [
        NamedCurve(label=f"{own[which]:g}°", curve=_curve(result, result.level_db(result.total)), style=0)
    ]
    angles = sorted(
        ((there[which], p) for there, p in result.off_axis.items() if there[1 - which] == own[1 - which]),
        key=lambda one: (abs(one[0]), -one[0]),
    )
    shown = [one for one in angles if which == 0 or abs(one[0]) in (15.0, 30.0)]
    for place, (angle, pressure) in enumerate(shown, 1):
        label = f"{angle:g}°" if which == 0 or angle < 0 else f"+{angle:g}°"
        curves.append(
            NamedCurve(
                label=label.replace("-", "−"), curve=_curve(result, result.level_db(pressure)), style=place
            )
        )
    return level_chart(curves, theme=theme, width_px=width_px, range_hz=RANGE_HZ, title=title, quantity=_QUANTITY, most_db=45.0,
                       notes=("stiff pistons in a large baffle",))  # fmt: skip


def _curve(
    result: Result,
    value: FloatArray,
    low: FloatArray | None = None,
    high: FloatArray | None = None,
    *,
    valid_hz: Sequence[float] | None = None,
) -> Curve:
    start, stop = result.valid_hz if valid_hz is None else valid_hz
    if math.isnan(start):
        start, stop = math.inf, math.inf
    f = result.frequency_hz
    known = (f >= start) & (f <= stop)  # beyond it the driver's last value was carried on: that is not shown

    def shown(values: FloatArray | None) -> FloatArray | None:
        return None if values is None else np.where(known, values, np.nan)

    return Curve(
        frequency_hz=f,
        value=np.where(known, value, np.nan),
        low=shown(low),
        high=shown(high),
        valid_from_hz=start,
        valid_to_hz=stop,
    )
