"""Modulus from a measured stiffness curve, K(x) or F(x), against the curve predicted with a reference modulus.

Every point of the predicted curve goes with the modulus, so the measured one is s times the predicted: weighted least squares for
s. Whether what is left is no more than the readings' uncertainty says chi-squared (JCGM 100 H.2 fits so; W. T. Eadie et al.,
"Statistical Methods in Experimental Physics", 1971, 11.1): where it is more, the shape disagrees and no modulus mends it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.calibrate.resonance import PREDICTION_U
from halfroll.materials.calibrate.types import Estimate
from halfroll.materials.types import LineDirection

DOUBT = 0.01
"""Chance below which a shape is said to disagree."""

READING_U = 0.03
"""Relative standard uncertainty of a measured point of its own where none is stated (own choice), and as much of the largest value as
`FLOOR`."""

FLOOR = 0.01


@dataclass(frozen=True, kw_only=True, eq=False)
class CurvePair:
    """A measured curve and the one predicted with `reference_pa`, both stiffness (N/m) or both force (N) over displacement (m).

    `x_m`, `measured` (n,); `predicted_x_m`, `predicted` (m,), x rising. `u` (n,) standard uncertainties of the measured values.
    `predicted_u` is the relative standard uncertainty of the prediction at a known modulus, common to all points.
    """

    x_m: FloatArray
    measured: FloatArray
    predicted_x_m: FloatArray
    predicted: FloatArray
    reference_pa: float
    u: FloatArray | None = None
    predicted_u: float = PREDICTION_U
    lines: LineDirection = "across"


def curve_modulus(pair: CurvePair) -> Estimate:
    """The modulus that brings the predicted curve closest to the measured one.

    Raises
    ------
    InputError
        Fewer than three points, points beyond the predicted travel, or a curve that tells nothing (all zero).
    """
    x, y = np.asarray(pair.x_m, float), np.asarray(pair.measured, float)
    _check(pair, x, y)
    u = np.hypot(READING_U * y, FLOOR * np.abs(y).max()) if pair.u is None else np.asarray(pair.u, float)
    shape = _at(pair, x)
    weight = 1.0 / u**2
    information = float(np.sum(weight * shape**2))
    scale = float(np.sum(weight * shape * y)) / information
    if scale <= 0.0:
        raise InputError("The measured curve must have the same sign as the predicted one", key="measured", found=f"{scale:.3g} times it",
                         remedy="Displacement and force both count outwards, towards the listener.")  # fmt: skip
    dof = x.size - 1
    rest = (y - scale * shape) / u
    misfit = float(rest @ rest)
    chance = _chance(misfit, dof)
    widened = math.sqrt(max(1.0, misfit / dof)) if chance < DOUBT else 1.0
    budget = {"readings": widened / (math.sqrt(information) * scale), "predicted stiffness": pair.predicted_u}
    return Estimate(
        method="curve",
        modulus_pa=pair.reference_pa * scale,
        log_u=math.hypot(*budget.values()),
        lines=pair.lines,
        budget=budget,
        readings_pa=tuple((pair.reference_pa * y / np.where(shape == 0.0, np.nan, shape)).tolist()),
        verdicts=_verdicts(x, y - scale * shape, scale * shape, misfit / dof, chance),
    )


def _chance(misfit: float, dof: int) -> float:
    """Chance of a chi-squared as large or larger."""
    from scipy.special import chdtrc

    return float(chdtrc(dof, misfit))


def _at(pair: CurvePair, x: FloatArray) -> FloatArray:
    from scipy.interpolate import PchipInterpolator

    return np.asarray(PchipInterpolator(pair.predicted_x_m, pair.predicted)(x))


def _verdicts(
    x: FloatArray, rest: FloatArray, fitted: FloatArray, reduced: float, chance: float
) -> tuple[Verdict, ...]:
    if chance >= DOUBT:
        return (Verdict(code="curve-shape-agrees", severity=Severity.GOOD, data={"chi_squared_per_dof": reduced, "chance": chance},
                        text="The measured curve has the predicted shape; only its height was scaled."),)  # fmt: skip
    at = int(np.argmax(np.abs(rest)))
    off = float(rest[at] / np.abs(fitted).max())
    return (Verdict(code="curve-shape-disagrees", severity=Severity.CAUTION,
                    data={"chi_squared_per_dof": reduced, "chance": chance, "worst_at_mm": 1e3 * float(x[at]), "worst_percent": 100 * off},
                    text=f"The measured curve has another shape than the predicted one: most at {1e3 * x[at]:.3g} mm, by {100 * abs(off):.0f} % of the "
                    "largest value. A modulus cannot mend that, so the interval is wider.",
                    remedy="Compare the printed profile with the design: thickness, clamped width, rest position."),)  # fmt: skip


def _check(pair: CurvePair, x: FloatArray, y: FloatArray) -> None:
    if x.size < 3 or x.shape != y.shape:
        raise InputError("The measured curve must have three points or more", key="points", found=f"{x.size} displacements, {y.size} values")  # fmt: skip
    if not (np.isfinite(x).all() and np.isfinite(y).all() and np.abs(y).max() > 0.0):
        raise InputError("The measured curve must be numbers that are not all zero", key="points")
    xs = np.asarray(pair.predicted_x_m, float)
    if xs.size < 2 or (np.diff(xs) <= 0.0).any():
        raise InputError(
            "The predicted curve must have rising displacements", key="predicted", found=f"{xs.size} points"
        )
    slack = 1e-6 * (xs[-1] - xs[0])
    if x.min() < xs[0] - slack or x.max() > xs[-1] + slack:
        raise InputError("The measured curve goes beyond the predicted travel", key="points",
                         found=f"{1e3 * x.min():.3g} to {1e3 * x.max():.3g} mm", allowed=f"{1e3 * xs[0]:.3g} to {1e3 * xs[-1]:.3g} mm",
                         remedy="Predict over a longer travel, or leave points out.")  # fmt: skip
    if pair.u is not None and not (np.asarray(pair.u) > 0.0).all():
        raise InputError("Uncertainties of the measured curve must be above 0", key="u")
