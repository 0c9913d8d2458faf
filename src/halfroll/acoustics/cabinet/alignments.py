"""Alignments of Thiele and Small: which volume and tuning make a driver's response one of the textbook high-passes.

Closed (Small 1972/73): α = Vas/V, fc = fs √(1 + α), Qtc = Qts √(1 + α). Vented (Thiele 1971, Small 1973), with h = fb/fs, s over 2π √(fb fs):

    G = s⁴/(s⁴ + a1 s³ + a2 s² + a3 s + 1),  a1 = (QL + h Qts)/(√h QL Qts),  a2 = (h + (α + 1 + h²) QL Qts)/(h QL Qts),  a3 = (h QL + Qts)/(√h QL Qts)

B4: |G|² = w⁸/(w⁸ + 1). QB3: its w⁶ and w⁴ terms vanish. C4: Butterworth's low-pass poles with real parts times k < 1, turned into a high-pass.
Solved from the polynomials, not looked up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError

Shape = Literal["QB3", "B4", "C4"]

CLOSED_QS = {
    "critically damped": 0.5,
    "Bessel": 1.0 / math.sqrt(3.0),
    "Butterworth": 1.0 / math.sqrt(2.0),
    "Chebyshev, 1.2 dB": 1.0,
}
"""Named Qtc of a closed cabinet."""
_A1_B4 = 2.613126
LEAST_K = 0.3
"""Below this k a C4 ripples by more than 2 dB and is no use."""


@dataclass(frozen=True, kw_only=True)
class ClosedAlignment:
    """Volume over Vas (1), fc and f3 (Hz over fs), Qtc and peak (dB)."""

    qtc: float
    volume_ratio: float
    fc_ratio: float
    f3_ratio: float
    peak_db: float


def closed_f3_ratio(qtc: float) -> float:
    """f3/fc of a second-order high-pass."""
    part = 1.0 / qtc**2 - 2.0
    return math.sqrt((part + math.sqrt(part**2 + 4.0)) / 2.0)


def closed_peak_db(qtc: float) -> float:
    """Rise over the pass band (dB), 0 up to Qtc 0.7071."""
    return 20.0 * math.log10(qtc**2 / math.sqrt(qtc**2 - 0.25)) if qtc > 1.0 / math.sqrt(2.0) else 0.0


def closed_alignment(qts: float, qtc: float) -> ClosedAlignment:
    """The closed cabinet in which a driver has a Qtc.

    Raises
    ------
    InputError
        Qtc is no higher than Qts: no cabinet lowers it (stuffing or a resistance can).
    """
    if not qtc > qts:
        raise InputError(
            f"Qtc must be above the driver's own Qts of {qts:.3g}: a closed cabinet only raises it",
            found=f"{qtc:g}",
        )
    ratio = qtc / qts
    return ClosedAlignment(qtc=qtc, volume_ratio=1.0 / (ratio**2 - 1.0), fc_ratio=ratio, f3_ratio=ratio * closed_f3_ratio(qtc),
                           peak_db=closed_peak_db(qtc))  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class VentedAlignment:
    """Shape, V/Vas, fb/fs, f3/fs, and the peak over the pass band (dB) of a vented cabinet with the leak QL."""

    shape: Shape
    volume_ratio: float
    tuning_ratio: float
    f3_ratio: float
    peak_db: float
    leak_q: float


def coefficients(alpha: float, h: float, qts: float, leak_q: float) -> tuple[float, float, float]:
    """a1, a2, a3 of the vented cabinet's high-pass."""
    inverse, root = 1.0 / leak_q, math.sqrt(h)
    a1 = (1.0 / qts + h * inverse) / root
    a2 = inverse / qts + (alpha + 1.0 + h**2) / h
    a3 = (h / qts + inverse) / root
    return a1, a2, a3


def squares(a: tuple[float, float, float]) -> tuple[float, float, float]:
    """A1, A2, A3 of |G|² = w⁸/(w⁸ + A1 w⁶ + A2 w⁴ + A3 w² + 1)."""
    a1, a2, a3 = a
    return a1**2 - 2.0 * a2, a2**2 + 2.0 - 2.0 * a1 * a3, a3**2 - 2.0 * a2


def f3_and_peak(a: tuple[float, float, float]) -> tuple[float, float]:
    """Highest -3 dB point and highest level over the pass band of G, w over 1."""
    one, two, three = squares(a)
    roots = np.roots([1.0, -one, -two, -three, -1.0])
    real = roots[(np.abs(roots.imag) < 1e-9) & (roots.real > 0.0)].real
    w = np.geomspace(0.1, 30.0, 4000)
    level = 10.0 * np.log10(w**8 / (w**8 + one * w**6 + two * w**4 + three * w**2 + 1.0))
    return float(math.sqrt(real.max())), max(float(level.max()), 0.0)


def butterworth_qts(leak_q: float) -> float:
    """Qts that makes a B4: 1/(2.6131 - 1/QL), 0.383 without loss."""
    return 1.0 / (_A1_B4 - 1.0 / leak_q)


def vented_alignment(qts: float, leak_q: float = math.inf) -> VentedAlignment:
    """The alignment for a driver's Qts: QB3 below that of the B4, C4 above it.

    Raises
    ------
    InputError
        There is none: Qts is out of their reach.
    """
    if not 0.1 <= qts <= 0.8:
        raise InputError(
            "A vented alignment needs a Qts of 0.1 to 0.8", found=f"{qts:.3g}", remedy="Use a closed cabinet"
        )
    middle = butterworth_qts(leak_q)
    if abs(qts - middle) < 2e-4 * middle:
        shape: Shape = "B4"
        alpha, h = math.sqrt(2.0) - 1.0 / (leak_q * qts), 1.0
    else:
        shape = "QB3" if qts < middle else "C4"
        alpha, h = _qb3(qts, leak_q) if shape == "QB3" else _c4(qts, leak_q)
    f3, peak = f3_and_peak(coefficients(alpha, h, qts, leak_q))
    return VentedAlignment(
        shape=shape,
        volume_ratio=1.0 / alpha,
        tuning_ratio=h,
        f3_ratio=f3 * math.sqrt(h),
        peak_db=peak,
        leak_q=leak_q,
    )


def _qb3(qts: float, leak_q: float) -> tuple[float, float]:
    """α and h with A1 = A2 = 0: α from A1, h where A2 vanishes."""
    from scipy.optimize import brentq

    def alpha_of(h: float) -> float:
        a1 = coefficients(0.0, h, qts, leak_q)[0]
        return h * (a1**2 / 2.0 - 1.0 / (leak_q * qts)) - 1.0 - h**2

    def rest(h: float) -> float:
        return squares(coefficients(alpha_of(h), h, qts, leak_q))[1]

    # In the lossless case h = 1 is the B4's; below its Qts the root lies above.
    grid = np.geomspace(1.0, 12.0, 60)
    signs = [rest(float(h)) for h in grid]
    for low, high, before, after in zip(grid, grid[1:], signs, signs[1:], strict=False):
        if before * after <= 0.0 and alpha_of(float(high)) > 0.0:
            h = float(brentq(rest, float(low), float(high), xtol=1e-12))
            return alpha_of(h), h
    raise InputError("There is no QB3 alignment for this driver", found=f"Qts {qts:.3g}")


def _c4(qts: float, leak_q: float) -> tuple[float, float]:
    """α and h for the k that fits Qts: h from a1, k where a3 agrees, α from a2."""
    from scipy.optimize import brentq

    inverse = 1.0 / leak_q

    def h_of(a1: float) -> float:
        # a1 √h = 1/Qts + h/QL; the smaller root, which is h = (1/(Qts a1))² without loss
        if inverse == 0.0:
            return (1.0 / (qts * a1)) ** 2
        part = a1**2 - 4.0 * inverse / qts
        return ((a1 - math.sqrt(part)) / (2.0 * inverse)) ** 2 if part > 0.0 else math.nan

    def rest(k: float) -> float:
        a1, _, a3 = _c4_coefficients(k)
        h = h_of(a1)
        return coefficients(1.0, h, qts, leak_q)[2] - a3

    grid = np.linspace(1.0, LEAST_K, 71)
    values = [rest(float(k)) for k in grid]
    for high, low, before, after in zip(grid, grid[1:], values, values[1:], strict=False):
        if before * after <= 0.0:
            k = float(brentq(rest, float(low), float(high), xtol=1e-12))
            a1, a2, _ = _c4_coefficients(k)
            h = h_of(a1)
            alpha = h * (a2 - inverse / qts) - 1.0 - h**2
            if alpha > 0.0:
                return alpha, h
    raise InputError("There is no C4 alignment for this driver with a ripple one can use", found=f"Qts {qts:.3g}",
                     remedy="Use a closed cabinet, or lower Qts")  # fmt: skip


def _c4_coefficients(k: float) -> tuple[float, float, float]:
    """a1, a2, a3 of a C4 high-pass with so much of Butterworth's damping."""
    d = (k**4 + 6.0 * k**2 + 1.0) / 8.0
    a3 = k * math.sqrt(4.0 + 2.0 * math.sqrt(2.0)) / d**0.25
    a2 = (1.0 + k**2 * (1.0 + math.sqrt(2.0))) / math.sqrt(d)
    a1 = (a3 / math.sqrt(d)) * (1.0 - (1.0 - k**2) / (2.0 * math.sqrt(2.0)))
    return a1, a2, a3
