"""The parameters of a moving-coil driver and what follows from them at small signals.

Definitions: Thiele 1961/1971; Small, "Direct-Radiator Loudspeaker System Analysis", 1972.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import Polynomial, polynomial

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import P_REF_PA

_CHECK_POINTS = 401

CREEP_LOSS = math.pi / (2.0 * math.log(10.0))
"""Imaginary part of lg j: creep with λ loses as much as a loss factor of λ times this."""


@dataclass(frozen=True, kw_only=True)
class DriverModel:
    """Large-signal parameters of a driver; displacement x is positive outwards, towards the listener.

    Bl(x), K(x) and Le(x) are polynomials, lowest power first, in SI units; the restoring force is K(x)·x.

    Parameters
    ----------
    Re
        Direct-current resistance of the coil (ohm).
    Mms
        Moving mass with its air load (kg).
    Rms
        Mechanical resistance (N s/m).
    Sd
        Effective piston area (m²).
    Bl
        Force factor, coefficients in T m / mⁿ.
    K
        Stiffness, coefficients in N/m / mⁿ.
    Le
        Inductance, coefficients in H / mⁿ.
    L2, R2
        Eddy-current branch in series with Le: L2 (H) in parallel with R2 (ohm); both 0 when there is none.
    x_range
        Displacements (m) between which the polynomials hold, lower and upper.
    branches
        More eddy-current branches (L, R) in series with the first.
    eddy_follows
        Whether L and R of all branches change with x in proportion to Le(x)/Le(0), their stored energy with them; otherwise they stay.
    Le_i
        How the inductance changes with the current i (A): Le(x, i) = Le(x) + L1(x) i + L2(x) i² ..., each a polynomial in x (H/Aⁿ / mⁿ). The
        flux linkage is Le(x, i) i; by co-energy the force is ½ Le' i² + ⅓ L1' i³ + ¼ L2' i⁴.
    creep
        λ of the suspension's logarithmic creep (Knudsen and Jensen 1993) re the resonance `small_signal` gives: share of the compliance added per decade.
    alpha_per_k
        Relative change of Re per kelvin of the coil, from the temperature at which Re holds; 0: Re is constant.

    Raises
    ------
    InputError
        When a value is not finite or not positive, or Bl(x) changes sign, or K(x) or Le(x) is not positive, somewhere
        within `x_range`.
    """

    Re: float
    Mms: float
    Rms: float
    Sd: float
    Bl: tuple[float, ...]
    K: tuple[float, ...]
    Le: tuple[float, ...]
    x_range: tuple[float, float]
    L2: float = 0.0
    R2: float = 0.0
    branches: tuple[tuple[float, float], ...] = ()
    eddy_follows: bool = False
    Le_i: tuple[tuple[float, ...], ...] = ()
    creep: float = 0.0
    alpha_per_k: float = 0.0

    def __post_init__(self) -> None:
        self._check_scalars()
        self._check_curves()

    def _check_scalars(self) -> None:
        for name in ("Re", "Mms", "Rms", "Sd"):
            if not 0.0 < getattr(self, name) < math.inf:
                raise InputError(f"{name} of the driver must be above zero", found=f"{getattr(self, name):g}")
        none, both = self.L2 == self.R2 == 0.0, 0.0 < self.L2 < math.inf and 0.0 < self.R2 < math.inf
        if not (none or both):
            raise InputError(
                "L2 and R2 of the driver must both be above zero, or both zero",
                found=f"{self.L2:g} H, {self.R2:g} ohm",
            )
        low, high = self.x_range
        if not -math.inf < low < 0.0 < high < math.inf:
            raise InputError("x_range of the driver must enclose zero", found=f"{low:g} m to {high:g} m")

    def _check_curves(self) -> None:
        low, high = self.x_range
        x = np.linspace(low, high, _CHECK_POINTS)
        for name in ("Bl", "K", "Le"):
            curve = polynomial.polyval(x, getattr(self, name))
            worst = float(np.min(curve * np.sign(curve[_CHECK_POINTS // 2]) if name == "Bl" else curve))
            if not worst > 0.0:
                rule = "keep its sign" if name == "Bl" else "be above zero"
                raise InputError(
                    f"{name}(x) of the driver must {rule} from {low * 1e3:g} mm to {high * 1e3:g} mm",
                    found=f"{worst:g}",
                    remedy="Narrow the displacement range or correct the coefficients.",
                )

    @property
    def radius(self) -> float:
        """Radius (m) of the circle with the area Sd."""
        return math.sqrt(self.Sd / math.pi)

    @property
    def rms_at_resonance(self) -> float:
        """Mechanical resistance at resonance with all that loses there, as an impedance tells it (N s/m): `Rms`, and what creep loses by
        itself, λ π/(2 ln 10) K(0)/ωs.
        """
        return self.Rms + CREEP_LOSS * self.creep * math.sqrt(self.K[0] * self.Mms)

    def with_scaled(
        self, *, Re: float = 1.0, Mms: float = 1.0, Rms: float = 1.0, Bl: float = 1.0, K: float = 1.0
    ) -> DriverModel:
        """The same driver with some values times a factor; curves keep their shape."""
        return replace(
            self,
            Re=self.Re * Re,
            Mms=self.Mms * Mms,
            Rms=self.Rms * Rms,
            Bl=tuple(Bl * b for b in self.Bl),
            K=tuple(K * k for k in self.K),
        )

    def with_coil_moved(self, offset_m: float) -> DriverModel:
        """The same driver with the coil glued in farther inwards (m): Bl and Le at x are what they were at x - offset."""
        shift = Polynomial([-offset_m, 1.0])

        def moved(coefficients: tuple[float, ...]) -> tuple[float, ...]:
            return tuple(float(c) for c in Polynomial(coefficients)(shift).coef)

        return replace(self, Bl=moved(self.Bl), Le=moved(self.Le))

    def with_stiffness_added(self, stiffness: float) -> DriverModel:
        """The same driver with a linear spring (N/m) beside its suspension, such as the air of a closed cabinet; for one that creeps take a load."""
        return replace(self, K=(self.K[0] + stiffness, *self.K[1:]))


@dataclass(frozen=True, kw_only=True)
class SmallSignal:
    """Small-signal parameters about x = 0, named as the trade names them.

    fs (Hz), Qms, Qes, Qts (1), Cms (m/N), Vas (m³), eta0 (reference efficiency, 1); `level_1w_db` and `level_2v83_db`
    are half-space levels at 1 m (dB re 20 µPa) for 1 W into Re and for √8 V, above resonance and below the inductance.
    """

    fs: float
    Qms: float
    Qes: float
    Qts: float
    Cms: float
    Vas: float
    eta0: float
    level_1w_db: float
    level_2v83_db: float


def small_signal(driver: DriverModel, air: Air = STANDARD_AIR) -> SmallSignal:
    """Small-signal parameters of a driver.

    fs = 1/(2π√(Mms Cms)), Qms = ωs Mms/Rms, Qes = ωs Mms Re/Bl², Vas = ρc² Sd² Cms,
    η0 = ρ Bl² Sd²/(2π c Re Mms²) (half space). Electrical Q takes Re alone: no source resistance; Qms holds what creep loses, too.
    """
    bl, compliance = driver.Bl[0], 1.0 / driver.K[0]
    omega = 1.0 / math.sqrt(driver.Mms * compliance)
    q_mechanical = omega * driver.Mms / driver.rms_at_resonance
    q_electrical = omega * driver.Mms * driver.Re / bl**2
    rho, c = air.density, air.speed_of_sound
    efficiency = rho * bl**2 * driver.Sd**2 / (2.0 * math.pi * c * driver.Re * driver.Mms**2)
    level = 10.0 * math.log10(efficiency * rho * c / (2.0 * math.pi) / P_REF_PA**2)
    return SmallSignal(
        fs=omega / (2.0 * math.pi),
        Qms=q_mechanical,
        Qes=q_electrical,
        Qts=q_mechanical * q_electrical / (q_mechanical + q_electrical),
        Cms=compliance,
        Vas=rho * c**2 * driver.Sd**2 * compliance,
        eta0=efficiency,
        level_1w_db=level,
        level_2v83_db=level + 10.0 * math.log10(8.0 / driver.Re),
    )
