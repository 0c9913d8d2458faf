"""Charts of a predicted driver over displacement: Bl, stiffness and inductance, each with the band of what was assumed."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.polynomial import polynomial

from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.publish.displacement import NORMAL_95, chart_over, curve_over
from halfroll.publish.hover import Readout
from halfroll.publish.scales import linear_axis
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

CurveName = Literal["bl", "kms", "le"]
CURVES: dict[CurveName, tuple[str, str, str, float]] = {
    "bl": ("Bl", "Force factor", "N/A", 1.0), "kms": ("Kms", "Stiffness", "N/mm", 1e-3), "le": ("Le", "Inductance above eddy currents", "mH", 1e3),
}  # fmt: skip
"""Symbol, words, unit and its size in SI."""

_POINTS = 81
_STEP = 0.25
_BAND = "shaded: 95 % band, of everything that was assumed"


def curve_values(model: DriverModel, name: CurveName, x_m: FloatArray) -> FloatArray:
    """A curve of a model at displacements (n,), in the unit of `CURVES`."""
    coefficients = {"bl": model.Bl, "kms": model.K, "le": model.Le}[name]
    return np.asarray(CURVES[name][3] * polynomial.polyval(x_m, coefficients))


def curve_spread(found: PredictedDriver, name: CurveName, x_m: FloatArray) -> FloatArray:
    """Its standard uncertainty at the same displacements, to first order."""
    centre, total = pack(found.model), np.zeros(len(x_m))
    for slope in found.slopes:
        low, high = (
            curve_values(unpack(centre + sign * _STEP * slope, found.model), name, x_m)
            for sign in (-1.0, 1.0)
        )
        total += ((high - low) / (2.0 * _STEP)) ** 2
    return np.asarray(np.sqrt(total))


def curve_chart(found: PredictedDriver, name: CurveName, *, theme: Theme, width_px: float) -> Spec:
    """One curve over the range the prediction holds in."""
    symbol, words, unit, _ = CURVES[name]
    x = np.linspace(*found.model.x_range, _POINTS)
    values = curve_values(found.model, name, x)
    half = NORMAL_95 * curve_spread(found, name, x) if len(found.assumptions) else None
    top = float((values if half is None else values + half).max())
    axis = linear_axis(0.0, top, title=f"{words} {symbol} in {unit}")
    return chart_over(
        [curve_over(f"{symbol} predicted", x, values, half)], theme, width_px, axis, x, f"{words} over displacement", (), (), None,
        band_note=_BAND if half is not None else "", readout=Readout(number=".3r", spread=".2r", unit=f" {unit}"),
    )  # fmt: skip
