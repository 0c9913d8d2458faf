"""Chart of what a suspension adds to the bass distortion, over frequency."""

from __future__ import annotations

import math

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.driver.suspension_distortion import SuspensionDistortion
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hover import Readout
from halfroll.publish.scales import frequency_axis, frequency_range, log_axis, log_height, tallest_log_ratio
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

LEAST_PERCENT = 0.01
"""Distortion below this is drawn at it: no room and no ear tells less."""


def distortion_chart(
    found: SuspensionDistortion, *, theme: Theme, width_px: float, number: int = 0
) -> Spec | None:
    """Distortion in percent at one of the voltages (`number`): of the suspension alone, and of the motor and both where Bl(x) is known, else
    the suspension's second and third harmonic. None where no tone stays in the travel.
    """
    alone = found.alone[number]
    if not np.isfinite(alone.thd).any():
        return None
    if found.motor:
        told = [
            ("suspension alone", alone.thd),
            ("motor alone", found.motor[number].thd),
            ("both", found.both[number].thd),
        ]
    else:
        told = [("THD", alone.thd), ("H2", alone.pressure_ratio[1]), ("H3", alone.pressure_ratio[2])]
    curves = [_named(label, n, alone.frequency_hz, share) for n, (label, share) in enumerate(told)]
    reach = frequency_range(float(alone.frequency_hz[0]), float(alone.frequency_hz[-1]))
    axis = log_axis(np.concatenate([curve.curve.value for curve in curves]), title="Distortion in %")
    decades = math.log10(axis.high / axis.low)
    ratio = tallest_log_ratio(reach, decades)
    notes = [f"{alone.voltage_v:.3g}{THIN}V, sound pressure in a large baffle, no box"]
    if alone.left_travel:
        notes.append("gaps: the cone leaves the travel that was computed")
    elif "not found" in alone.standing:
        notes.append("gaps: no steady motion")
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title="Bass distortion of the suspension", quantity=axis.title, zones=(),
            x=lambda px: frequency_axis(*reach, width_px=px, text_px=theme.sizes.text), y=axis,
            height=lambda px: log_height(px, reach, decades, ratio),
            readout=Readout(number=".2r", unit=" %"), notes=tuple(notes),
        )
    )  # fmt: skip


def _named(label: str, style: int, frequency_hz: FloatArray, share: FloatArray) -> NamedCurve:
    inside = np.isfinite(share)
    percent = np.maximum(100.0 * share[inside], LEAST_PERCENT)
    curve = Curve(
        frequency_hz=frequency_hz[inside], value=percent, low=None, high=None, valid_from_hz=-np.inf
    )
    return NamedCurve(label=label, style=style, curve=curve)
