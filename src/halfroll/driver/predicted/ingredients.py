"""What a driver is put together from: the results of the studies of its motor, coil, suspension and moving parts, as plain arrays.

An assumption acts on ingredients, never on the finished model, so that what follows from it (a resonance, a loss, a creep) follows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import FloatArray
from halfroll.driver.predicted.eddy_fit import EddyFit
from halfroll.motor.results import Modulation
from halfroll.suspension.results import PartResult, StiffnessCurve


@dataclass(frozen=True, kw_only=True, eq=False)
class Holder:
    """A surround or spider: its force and tangent (n,) over x_m (n,), the loss factor and the log creep per decade of its plastic."""

    name: str
    x_m: FloatArray
    force_n: FloatArray
    tangent_n_per_m: FloatArray
    loss_factor: float
    creep_per_decade: float

    @staticmethod
    def of(part: PartResult, loss_factor: float, creep_per_decade: float) -> Holder:
        """That of a study's result."""
        curve = part.curve
        return Holder(name=part.name, x_m=curve.x_m, force_n=curve.force_n, tangent_n_per_m=curve.tangent_n_per_m,
                      loss_factor=loss_factor, creep_per_decade=creep_per_decade)  # fmt: skip

    @property
    def at_rest(self) -> float:
        """Stiffness at rest (N/m)."""
        return float(np.interp(0.0, self.x_m, self.tangent_n_per_m))

    def stiffer(self, factor: float) -> Holder:
        """The same with forces times a factor."""
        return replace(self, force_n=factor * self.force_n, tangent_n_per_m=factor * self.tangent_n_per_m)


@dataclass(frozen=True, kw_only=True, eq=False)
class CurrentTerms:
    """How the inductance changes with the current: L1(x) (H/A) and L2(x) (H/A²), lowest power first, good up to `current_a`."""

    l1: tuple[float, ...]
    l2: tuple[float, ...]
    current_a: float

    def moved(self, offset_m: float) -> CurrentTerms:
        """The same with the coil resting farther inwards (m)."""
        shift = np.polynomial.Polynomial([-offset_m, 1.0])
        l1, l2 = (
            tuple(float(c) for c in np.polynomial.Polynomial(one)(shift).coef) for one in (self.l1, self.l2)
        )
        return replace(self, l1=l1, l2=l2)


@dataclass(frozen=True, kw_only=True, eq=False)
class Ingredients:
    """All of it, SI.

    Parameters
    ----------
    re_ohm, alpha_per_k
        Of the coil at 20 °C.
    bl_x_m, bl
        Bl (T m) over displacement, (n,), above zero at rest.
    eddies
        Blocked impedance; `current_terms` how it changes with the current, None where that is not known.
    holders
        Surround and spider.
    moving_kg
        All that moves, without air.
    area_m2
        Sd.
    x_range
        Between which displacements the model is to hold (m).
    other_rms
        Mechanical resistance that is known otherwise, such as by measurement (N s/m); None: from the plastics' loss and the radiation.
    extra_rms
        Added to that (N s/m).
    air
        What it stands in.
    """

    re_ohm: float
    alpha_per_k: float
    bl_x_m: FloatArray
    bl: FloatArray
    eddies: EddyFit
    current_terms: CurrentTerms | None
    holders: tuple[Holder, ...]
    moving_kg: float
    area_m2: float
    x_range: tuple[float, float]
    other_rms: float | None = None
    extra_rms: float = 0.0
    air: Air = STANDARD_AIR

    def heavier(self, by_kg: float) -> Ingredients:
        """The same with so much more that moves (kg)."""
        return replace(self, moving_kg=self.moving_kg + by_kg)

    def stiffness(self) -> StiffnessCurve:
        """All holders together, over the travel all of them reach."""
        low = max(float(one.x_m[0]) for one in self.holders)
        high = min(float(one.x_m[-1]) for one in self.holders)
        half = max(len(one.x_m) for one in self.holders) // 2
        return sum_of(
            self.holders,
            np.concatenate([np.linspace(low, 0.0, half + 1), np.linspace(0.0, high, half + 1)[1:]]),
        )


def sum_of(holders: tuple[Holder, ...], x_m: FloatArray) -> StiffnessCurve:
    """The sum of holders at displacements that hold 0 in their middle."""
    from scipy.interpolate import CubicHermiteSpline

    force, slope = np.zeros_like(x_m), np.zeros_like(x_m)
    for one in holders:
        spline = CubicHermiteSpline(one.x_m, one.force_n, one.tangent_n_per_m)
        force += spline(x_m)
        slope += spline(x_m, 1)
    kms = np.divide(force, x_m, out=slope.copy(), where=x_m != 0.0)
    return StiffnessCurve(x_m=x_m, force_n=force, tangent_n_per_m=slope, kms_n_per_m=kms, u_relative=0.0)


def current_terms_of(found: Modulation, sign: float = 1.0) -> CurrentTerms:
    """L1 and L2 from the force factor and the flux linkage with current in the coil.

    By co-energy the force is Bl i + ½ Le' i² + ⅓ L1' i³ + ¼ L2' i⁴, so that L1'(x) = 3 [Bl(x, i) - Bl(x, 0)]/i²; L1(0) is what of the
    flux linkage does not turn with the current, over i²; L2 = [L(x, i) - L(x, 0)]/i². All by least squares over the currents, quadratic
    in x. `sign` -1 turns the current's sense round.
    """
    i, x = found.current_a[1:], found.x_m
    squared = i**2
    slope = 3.0 * squared @ (found.bl[1:] - found.bl[0]) / (squared @ squared)
    l2 = squared @ (found.inductance_h[1:] - found.inductance_h[0]) / (squared @ squared)
    even = found.even_linkage_wb
    rest = int(np.argmin(np.abs(x)))
    at_rest = 0.0 if even is None else float(squared @ even[1:, rest] / (squared @ squared))
    degree = min(2, len(x) - 1)
    steep = np.polynomial.polynomial.polyfit(x, slope, degree)
    l1 = np.polynomial.polynomial.polyint(steep, k=at_rest)
    return CurrentTerms(l1=tuple(sign * float(c) for c in l1), current_a=float(i[-1]),
                        l2=tuple(float(c) for c in np.polynomial.polynomial.polyfit(x, l2, degree)))  # fmt: skip
