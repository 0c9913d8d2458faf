"""Charts of an impedance and its fit: modulus, phase, residual, and pairs of parameters with their ellipses of confidence."""

from __future__ import annotations

import math
from typing import TypedDict

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.measure.lumped.parameter_types import Estimates, Fit
from halfroll.publish.charts import frequency_chart, impedance_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.ellipses import Ellipse, ellipse_chart
from halfroll.publish.hover import Readout
from halfroll.publish.scales import frequency_range
from halfroll.publish.sketch import Dots
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme
from halfroll.workshop.fitted import UnitParameters

OUTLIER = 0.5
"""Points of less weight are drawn as crosses."""

PAIRS: tuple[tuple[str, str], ...] = (("fs_hz", "qts"), ("qms", "qes"), ("mms_kg", "bl_n_per_a"))
"""Pairs of parameters that are shown together."""

LABELS = {
    "fs_hz": ("fs", "Hz", 1.0), "qts": ("Qts", "", 1.0), "qms": ("Qms", "", 1.0), "qes": ("Qes", "", 1.0),
    "mms_kg": ("Mms", "g", 1e3), "bl_n_per_a": ("Bl", "N/A", 1.0), "re_ohm": ("Re", "Ω", 1.0),
    "cms_m_per_n": ("Cms", "mm/N", 1e3), "vas_m3": ("Vas", "l", 1e3),
}  # fmt: skip
"""Symbol, unit as shown, and its size in SI."""


class _Look(TypedDict):
    theme: Theme
    width_px: float


def fit_charts(fit: Fit, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """``modulus``, ``phase`` (where it was measured) and ``residual`` of a fit, measured points and fitted curve."""
    look: _Look = {"theme": theme, "width_px": width_px}
    charts = {"modulus": _modulus(fit, look)}
    if fit.phase_known:
        charts["phase"] = _phase(fit, look)
    return {**charts, "residual": _residual(fit, look)}


def pair_charts(found: UnitParameters, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """Ellipses of confidence of `PAIRS`, by ``first:second``: one for each run without mass and box, or for each method."""
    charts = {}
    for first, second in PAIRS:
        ellipses = _ellipses(found, first, second)
        if ellipses:
            charts[f"{first}:{second}"] = ellipse_chart(
                ellipses, x=_axis_words(first), y=_axis_words(second), theme=theme, width_px=width_px,
                title=f"{LABELS[first][0]} and {LABELS[second][0]}",
            )  # fmt: skip
    return charts


def _axis_words(name: str) -> str:
    symbol, unit, _ = LABELS[name]
    return f"{symbol} in {unit}" if unit else symbol


def _ellipses(found: UnitParameters, first: str, second: str) -> list[Ellipse]:
    if first == "mms_kg":
        if found.parameters is None:
            return []
        of_methods = [(f"by {m.method}", m.estimates) for m in found.parameters.methods]
        together = [("combined", found.parameters.estimates)] if len(of_methods) > 1 else []
        named = [*together, *of_methods]
    else:
        named = [
            (run.name, run.fit.estimates)
            for run in found.runs
            if run.resonant and run.record.free and run.fit is not None
        ]
    return [_ellipse(name, e, first, second) for name, e in named if first in e and second in e]


def _ellipse(name: str, estimates: Estimates, first: str, second: str) -> Ellipse:
    scale = np.array([LABELS[first][2], LABELS[second][2]])
    return Ellipse(
        label=name,
        centre=(scale[0] * estimates.value(first), scale[1] * estimates.value(second)),
        covariance=estimates.pair(first, second) * np.outer(scale, scale),
        dof=estimates.dof,
    )


def _dots(fit: Fit, values: FloatArray) -> Dots:
    return Dots(frequency_hz=fit.frequency_hz, value=values, out=fit.weights < OUTLIER)


def _notes(fit: Fit) -> list[str]:
    crossed = int(np.sum(fit.weights < OUTLIER))
    return ["open points: measured", *([f"crosses: {crossed} points that hardly count"] if crossed else [])]


def _modulus(fit: Fit, look: _Look) -> Spec:
    return impedance_chart(
        [_curve("fitted", fit, np.abs(fit.fitted_ohm))], **look, ratio=None, title="Impedance", range_hz=_reach(fit),
        dots=_dots(fit, np.abs(fit.measured_ohm)), notes=_notes(fit),
    )  # fmt: skip


def _phase(fit: Fit, look: _Look) -> Spec:
    return frequency_chart(
        [_curve("fitted", fit, np.degrees(np.angle(fit.fitted_ohm)))], **look, title="Phase of impedance",
        quantity="Voltage before current in degrees", range_hz=_reach(fit), y_range=(-90.0, 90.0),
        marks=(-90.0, -45.0, 0.0, 45.0, 90.0), readout=Readout(number=".1f", unit="°"),
        dots=_dots(fit, np.degrees(np.angle(fit.measured_ohm))),
    )  # fmt: skip


def _residual(fit: Fit, look: _Look) -> Spec:
    """Relative residual in percent: along the modulus, and with a phase also across it."""
    residual = 100.0 * fit.residual
    if fit.phase_known:
        residual = residual * np.exp(-1j * np.angle(fit.fitted_ohm))
    curves = [_curve("modulus", fit, np.real(residual))]
    if fit.phase_known:
        curves.append(_curve("across (phase)", fit, np.imag(residual)))
    reach = max(_robust_reach(np.concatenate([c.curve.value for c in curves])), 0.1)
    marks = (-reach, -reach / 2.0, 0.0, reach / 2.0, reach)
    return frequency_chart(
        curves, **look, title="What the fit leaves", quantity="Measured minus fitted in % of the fitted", range_hz=_reach(fit),
        y_range=(-reach, reach), marks=marks, readout=Readout(number=".2f", unit=" %"),
        notes=[f"1 % across is {math.degrees(0.01):.2f}° of phase"] if fit.phase_known else [],
    )  # fmt: skip


def _robust_reach(values: FloatArray) -> float:
    """A round number that holds nearly all values."""
    top = float(np.quantile(np.abs(values), 0.995)) * 1.2
    if top <= 0.0:
        return 0.1
    power = 10.0 ** math.floor(math.log10(top))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= top)


def _curve(label: str, fit: Fit, value: FloatArray) -> NamedCurve:
    return NamedCurve(label=label, curve=Curve(frequency_hz=fit.frequency_hz, value=value))


def _reach(fit: Fit) -> tuple[float, float]:
    return frequency_range(float(fit.frequency_hz[0]), float(fit.frequency_hz[-1]))
