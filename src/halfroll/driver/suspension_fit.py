"""A computed suspension and a computed motor as the polynomials that the large-signal model plays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import Chebyshev, polynomial

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.results import StiffnessCurve

DEGREES = (4, 6, 8, 10, 12)
"""Degrees of the polynomial that are tried for K(x), the lowest that fits."""

GOOD_FIT = 2e-4
"""Largest misfit of K(x), as a share of K(0), with which the search ends."""


@dataclass(frozen=True, kw_only=True)
class FittedStiffness:
    """K(x) as a polynomial (N/m / mⁿ, lowest power first), and its largest misfit as a share of K(0)."""

    coefficients: tuple[float, ...]
    x_range: tuple[float, float]
    misfit: float


def fit_stiffness(curve: StiffnessCurve, degrees: tuple[int, ...] = DEGREES) -> FittedStiffness:
    """K(x) = F/x of a curve as a polynomial over its travel.

    Least squares on Kms with the even weights of the Chebyshev points, the lowest of `degrees` whose largest misfit is below
    `GOOD_FIT`, else the best; K(0) is met exactly.

    Raises
    ------
    InputError
        The stiffness is not above zero all over the travel: the part snaps through.
    """
    from scipy.interpolate import CubicHermiteSpline

    x = np.asarray(curve.x_m, dtype=np.float64)
    low, high = float(x[0]), float(x[-1])
    nodes = 0.5 * (low + high) + 0.5 * (high - low) * np.cos(np.pi * (np.arange(200) + 0.5) / 200)
    force = CubicHermiteSpline(x, curve.force_n, curve.tangent_n_per_m)(nodes)
    kms = force / nodes
    rest = curve.at_rest()
    if kms.min() <= 0.0 or rest <= 0.0:
        raise InputError("The suspension must pull back all over its travel to be played", key="moving.travel_mm",
                         found=f"{min(float(kms.min()), rest):.4g} N/m", allowed="a stiffness above 0",
                         remedy="State less travel, or a suspension that does not snap through")  # fmt: skip
    best = None
    for degree in degrees:
        fitted = _polynomial(nodes, kms, rest, degree, (low, high))
        best = fitted if best is None or fitted.misfit < best.misfit else best
        if fitted.misfit < GOOD_FIT:
            break
    assert best is not None
    return best


def _polynomial(
    x: FloatArray, kms: FloatArray, rest: float, degree: int, x_range: tuple[float, float]
) -> FittedStiffness:
    """The polynomial K(0) + x q(x) with q of least squares."""
    scale = max(abs(x_range[0]), abs(x_range[1]))
    unit = x / scale
    rows = unit[:, None] ** np.arange(1, degree + 1)
    found, *_ = np.linalg.lstsq(rows, kms - rest, rcond=None)
    coefficients = (rest, *(float(c) / scale**n for n, c in enumerate(found, 1)))
    misfit = float(np.max(np.abs(polynomial.polyval(x, coefficients) - kms))) / rest
    return FittedStiffness(coefficients=coefficients, x_range=x_range, misfit=misfit)


def fit_force_factor(x_m: FloatArray, bl: FloatArray, x_range: tuple[float, float]) -> tuple[float, ...]:
    """Bl(x) of a motor as a polynomial of degree 6 over a travel, coefficients with the lowest power first.

    Raises
    ------
    InputError
        The motor was not computed over all of the travel.
    """
    low, high = x_range
    if x_m[0] > low or x_m[-1] < high:
        raise InputError("Bl(x) must be known over the suspension's travel", found=f"{1e3 * x_m[0]:.3g} to {1e3 * x_m[-1]:.3g} mm",
                         allowed=f"{1e3 * low:.3g} to {1e3 * high:.3g} mm")  # fmt: skip
    from scipy.interpolate import PchipInterpolator

    nodes = np.linspace(low, high, 201)
    series = Chebyshev.fit(nodes, PchipInterpolator(x_m, bl)(nodes), 6, domain=[low, high])
    return tuple(float(c) for c in series.convert(kind=np.polynomial.Polynomial).coef)
