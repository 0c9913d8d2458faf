"""Charts of the blocked impedance of a coil: inductance and added resistance over frequency, inductance over displacement."""

from __future__ import annotations

import math

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.motor.results import BlockedImpedance
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hover import Readout
from halfroll.publish.scales import (
    Axis,
    frequency_axis,
    frequency_range,
    linear_axis,
    log_axis,
    log_height,
    tallest_log_ratio,
)
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

NORMAL_95 = 1.96
BAND = "shaded: 95 % band by the mesh alone"
AT_HZ = (100.0, 1_000.0, 10_000.0)
"""Frequencies whose inductance is drawn over displacement: the nearest ones computed."""

_POINTS = 81
_LEAST_OHM = 1e-6


def inductance_chart(found: BlockedImpedance, *, theme: Theme, width_px: float) -> Spec:
    """Inductance over frequency at the innermost, the rest and the outermost position, and at rest for a low level."""
    return _over_frequency(
        found, 1e3, "inductance_h", theme, width_px, title="Inductance of the blocked coil", quantity="Inductance in mH",
        unit=" mH",
    )  # fmt: skip


def loss_chart(found: BlockedImpedance, *, theme: Theme, width_px: float) -> Spec:
    """Resistance that eddy currents add to that of the wire, over frequency; curves as `inductance_chart`."""
    return _over_frequency(
        found, 1.0, "resistance_ohm", theme, width_px, title="Resistance added by eddy currents",
        quantity="Added resistance in Ω", unit=" Ω",
    )  # fmt: skip


def position_chart(found: BlockedImpedance, *, theme: Theme, width_px: float) -> Spec:
    """Inductance over displacement at a low, a middle and a high frequency; at least two displacements."""
    order = np.argsort(found.x_m)
    x = 1e3 * found.x_m[order]
    nearest = sorted({int(np.argmin(np.abs(np.log(found.frequency_hz / f)))) for f in AT_HZ})
    curves = []
    for n, k in enumerate(nearest):
        frequency = float(found.frequency_hz[k])
        label = f"{frequency:g}{THIN}Hz" if frequency < 1e3 else f"{frequency / 1e3:g}{THIN}kHz"
        fine, value = _finely(x, 1e3 * found.inductance_h[order, k])
        curves.append(_named(label, n, fine, value, found.u_rel))
    top = max(float(c.curve.value.max()) for c in curves)
    quantity, letters = "Inductance in mH", 5.0 * theme.sizes.text
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title="Inductance over displacement", quantity=quantity, zones=(),
            x=lambda px: _ending(x, max(2, int(px / letters))), y=linear_axis(0.0, top, title=quantity), height=lambda px: px / 2.2,
            readout=Readout(number=".3f", spread=".1r", unit=" mH"), band_note=BAND,
        )
    )  # fmt: skip


def _ending(x_mm: FloatArray, count: int) -> Axis:
    """An axis that ends where the displacements end."""
    low, high = float(x_mm[0]), float(x_mm[-1])
    wide = linear_axis(low, high, title="Displacement, outwards +, in mm", count=count)
    marks = tuple(m for m in wide.marks if low <= m <= high)
    return Axis(low=low, high=high, marks=marks, title=wide.title)


def _over_frequency(
    found: BlockedImpedance, scale: float, which: str, theme: Theme, width_px: float, *,
    title: str, quantity: str, unit: str,
) -> Spec:  # fmt: skip
    curves = [
        _smooth(_place(x), n, found.frequency_hz, scale * getattr(found, which)[k], found.u_rel)
        for n, (k, x) in enumerate(_three(found.x_m))
    ]
    low = getattr(found, f"low_level_{which}")
    if low is not None:
        rest = int(np.argmin(np.abs(found.x_m)))
        curves.append(
            _smooth("at rest, low level", len(curves), found.frequency_hz, scale * low[rest], found.u_rel)
        )
    reach = frequency_range(float(found.frequency_hz.min()), float(found.frequency_hz.max()))
    axis = log_axis(np.concatenate([c.curve.value for c in curves]), title=quantity)
    decades = math.log10(axis.high / axis.low)
    ratio = tallest_log_ratio(reach, decades)
    count = "decade" if ratio <= 1.0 else "decades"
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=quantity, zones=(),
            x=lambda px: frequency_axis(*reach, width_px=px, text_px=theme.sizes.text), y=axis,
            height=lambda px: log_height(px, reach, decades, ratio),
            readout=Readout(number=".3r", spread=".1r", unit=unit), band_note=BAND,
            notes=(f"{ratio:g} {count} up as long as one across (IEC 60263)",),
        )
    )  # fmt: skip


def _finely(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A monotone cubic through three points or more."""
    from scipy.interpolate import PchipInterpolator

    if len(x) < 3:
        return x, y
    fine = np.union1d(np.linspace(x[0], x[-1], _POINTS), x)
    return fine, np.asarray(PchipInterpolator(x, y)(fine))


def _smooth(label: str, style: int, frequency_hz: FloatArray, value: FloatArray, u_rel: float) -> NamedCurve:
    """The computed points joined in logarithms of both."""
    order = np.argsort(frequency_hz)
    f, y = np.log(frequency_hz[order]), np.log(np.maximum(value[order], _LEAST_OHM))
    f, y = _finely(f, y)
    return _named(label, style, np.exp(f), np.exp(y), u_rel)


def _named(label: str, style: int, x: FloatArray, y: FloatArray, u_rel: float) -> NamedCurve:
    half = NORMAL_95 * u_rel * np.abs(y)
    low, high = (None, None) if math.isnan(u_rel) else (np.maximum(y - half, 1e-3 * np.abs(y)), y + half)
    return NamedCurve(
        label=label,
        style=style,
        curve=Curve(frequency_hz=x, value=y, low=low, high=high, valid_from_hz=-np.inf),
    )


def _three(x_m: FloatArray) -> list[tuple[int, float]]:
    places = [int(np.argmin(x_m)), int(np.argmin(np.abs(x_m))), int(np.argmax(x_m))]
    return [(k, float(x_m[k])) for k in dict.fromkeys(places)]


def _place(x_m: float) -> str:
    if abs(x_m) < 1e-6:
        return "at rest"
    return f"{1e3 * abs(x_m):.3g}{THIN}mm {'outwards' if x_m > 0 else 'inwards'}"
