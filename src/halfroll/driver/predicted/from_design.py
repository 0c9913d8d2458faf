"""From ingredients to the model of a driver: curves as polynomials, the air load, what Rms is made of, creep.

Creep: a plastic's `creep_per_decade` c says that a constant load's deflection J(t) grows by c J(1 s) per decade of time. The compliance
C(jω) = C0 [1 - λ lg(jω/ω0)] of Knudsen and Jensen (JAES 41(1/2), 1993) answers a step with C0 [1 + λ (lg(ω0 t) + γ/ln 10)], γ Euler's
constant (the Laplace transform of ln t is -(ln s + γ)/s), so that both say the same when λ = c / [1 - c (lg(ω0 · 1 s) + γ/ln 10)].
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from halfroll.acoustics.radiation import air_mass, piston_impedance
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import CREEP_LOSS, DriverModel
from halfroll.driver.predicted.ingredients import Ingredients
from halfroll.driver.suspension_fit import DEGREES, fit_force_factor, fit_stiffness

LEAST_RMS_SHARE = 0.1
"""Where creep alone would lose more than the plastics' loss factors say, so much of their resistance stays (own choice)."""

_EULER = 0.5772156649015329


@dataclass(frozen=True, kw_only=True)
class Built:
    """The model and what it was built with.

    Parameters
    ----------
    model
        Its Rms leaves out what creep loses by itself.
    rms_parts
        What the mechanical resistance at resonance is made of (N s/m), all of it: creep's own share among them.
    stiffness_degree
        Degree of K(x).
    misfits
        Largest misfits of K(x) and Bl(x) over their values at rest.
    """

    model: DriverModel
    rms_parts: tuple[tuple[str, float], ...]
    stiffness_degree: int
    misfits: tuple[float, float]

    @property
    def rms(self) -> float:
        """Mechanical resistance at resonance with all that loses there, as an impedance tells it (N s/m)."""
        return sum(value for _, value in self.rms_parts)


def build(found: Ingredients, degrees: tuple[int, ...] = DEGREES) -> Built:
    """The model of a driver at its ingredients.

    Parameters
    ----------
    found
        What it is put together from.
    degrees
        Degrees that K(x) may have.

    Raises
    ------
    InputError
        The suspension snaps through, the motor was not computed over the range, or a value is none a driver can have.
    """
    curve = found.stiffness()
    stiffness = fit_stiffness(curve, degrees)
    bl, bl_misfit = _bl(found)
    mms = found.moving_kg + air_mass(math.sqrt(found.area_m2 / math.pi), found.air)
    omega = math.sqrt(stiffness.coefficients[0] / mms)
    creep = _creep(found, omega)
    rms, parts = _losses(found, omega, creep, stiffness.coefficients[0])
    eddies, terms = found.eddies, found.current_terms
    first = eddies.branches[0] if eddies.branches else (0.0, 0.0)
    model = DriverModel(
        Re=found.re_ohm, Mms=mms, Rms=rms, Sd=found.area_m2, Bl=bl, K=stiffness.coefficients, Le=eddies.le, x_range=found.x_range,
        L2=first[0], R2=first[1], branches=eddies.branches[1:], eddy_follows=eddies.follows,
        Le_i=() if terms is None else (terms.l1, terms.l2), creep=creep, alpha_per_k=found.alpha_per_k,
    )  # fmt: skip
    return Built(model=model, rms_parts=parts, stiffness_degree=len(stiffness.coefficients) - 1,
                 misfits=(stiffness.misfit, bl_misfit))  # fmt: skip


def _bl(found: Ingredients) -> tuple[tuple[float, ...], float]:
    """Bl(x) over the range, and its largest misfit as a share of Bl at rest."""
    bl = fit_force_factor(found.bl_x_m, found.bl, found.x_range)
    inside = (found.bl_x_m >= found.x_range[0]) & (found.bl_x_m <= found.x_range[1])
    off = polynomial.polyval(found.bl_x_m[inside], bl) - found.bl[inside]
    return bl, float(np.abs(off).max()) / abs(bl[0])


def knudsen(creep_per_decade: float, omega_0: float) -> float:
    """λ re the angular frequency ω0 (1/s) of a plastic whose deflection under a constant load grows by so much of that at 1 s per decade.

    Raises
    ------
    InputError
        So much creep that nothing stiff would be left at ω0.
    """
    left = 1.0 - creep_per_decade * (math.log10(omega_0) + _EULER / math.log(10.0))
    if creep_per_decade < 0.0 or left < 0.2:
        raise InputError("The creep per decade must be a small share", key="creep_per_decade", found=f"{creep_per_decade:g}",
                         allowed="0 to about 0.2")  # fmt: skip
    return creep_per_decade / left


def _creep(found: Ingredients, omega: float) -> float:
    """λ of all holders together: each by its share of the stiffness."""
    stiff = [one.at_rest for one in found.holders]
    slopes = [knudsen(one.creep_per_decade, omega) for one in found.holders]
    return sum(k * c for k, c in zip(stiff, slopes, strict=True)) / sum(stiff)


def _losses(
    found: Ingredients, omega: float, creep: float, stiffness: float
) -> tuple[float, tuple[tuple[str, float], ...]]:
    """Rms beside creep's own loss, and what the whole is made of.

    A plastic with loss factor tan d loses as much at resonance as a resistance K tan d/ω (complex stiffness, any textbook of vibration);
    what creep loses is part of that and stands in the model already.
    """
    if found.other_rms is not None:
        total, names = found.other_rms, [("measured or stated", found.other_rms)]
    else:
        names = [(f"{one.name}'s plastic", one.at_rest * one.loss_factor / omega) for one in found.holders]
        total = sum(value for _, value in names)
    by_creep = creep * CREEP_LOSS * stiffness / omega
    rest = max(total - by_creep, LEAST_RMS_SHARE * total)
    if rest > total - by_creep:
        names.append(("creep beyond the loss factors", rest - (total - by_creep)))
    sound = radiation_resistance(found, omega) if found.other_rms is None else 0.0
    parts = [
        *names,
        *([("radiation", sound)] if sound else []),
        *([("stated", found.extra_rms)] if found.extra_rms else []),
    ]
    return rest + sound + found.extra_rms, tuple(parts)


def radiation_resistance(found: Ingredients, omega: float) -> float:
    """Mechanical resistance of both sides' radiation in an infinite baffle (N s/m), 2 ρ c Sd R1(2ka)."""
    air = found.air
    ka = omega / air.speed_of_sound * math.sqrt(found.area_m2 / math.pi)
    return float(2.0 * air.density * air.speed_of_sound * found.area_m2 * piston_impedance(ka).real)


def coil_impedance(model: DriverModel, frequency_hz: FloatArray) -> FloatArray:
    """Series inductance of the blocked coil at rest (H) over frequency, branches among it, shape (f,)."""
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=np.float64)
    z = s * model.Le[0]
    for inductance, resistance in ((model.L2, model.R2), *model.branches):
        if inductance > 0.0:
            z = z + s * inductance * resistance / (resistance + s * inductance)
    return np.asarray((z / s).real)
