"""Moving mass by added masses, by a known closed volume, by the scales; each as a function of the numbers it rests on.

Every method takes plain numbers and returns the moving mass Mms (kg) that goes with the free-air fit, so that uncertainty
follows by differences. Added mass and known volume: Small, "Direct-Radiator Loudspeaker System Analysis" and "Closed-Box
Loudspeaker Systems", JAES 20, 1972. Air load: Beranek, *Acoustics*, 1954.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.acoustics.radiation import air_mass
from halfroll.core.levels import FloatArray
from halfroll.measure.lumped.impedance_model import dynamic_compliance
from halfroll.measure.lumped.parameter_types import Fit

Mounting = Literal["free air", "baffle"]

AIR_SHARE: dict[Mounting, float] = {"free air": 0.5, "baffle": 1.0}
"""Air load of a disc over that of a piston in an infinite baffle, both sides: (8/3)ρa³ against (16/3)ρa³ (Beranek 1954)."""


@dataclass(frozen=True)
class Resonance:
    """What one fit says of its resonance: fs (Hz), Q's (1), Re (ohm) and the creep λ (0 without)."""

    fs: float
    qms: float
    qes: float
    re: float
    creep: float = 0.0

    @property
    def stiffness(self) -> float:
        """Stiffness over Bl², ωs Qes/Re; the mass does not enter."""
        return 2.0 * math.pi * self.fs * self.qes / self.re

    @property
    def loss(self) -> float:
        """Mechanical resistance over Bl², Qes/(Re Qms)."""
        return self.qes / (self.re * self.qms)

    @property
    def mass(self) -> float:
        """Moving mass over Bl², Qes/(Re ωs)."""
        return self.qes / (self.re * 2.0 * math.pi * self.fs)


RESONANCE_NAMES = ("fs_hz", "qms", "qes", "re_ohm", "creep_lambda")


def resonance_of(fit: Fit) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Numbers for `Resonance` (5,), their covariance without the shared scale (5, 5), and the scale's share (5,)."""
    estimates = fit.estimates
    at = [estimates.names.index(n) if n in estimates else -1 for n in RESONANCE_NAMES]
    known = np.array([i >= 0 for i in at])
    values = np.where(known, estimates.values[at], 0.0)
    covariance = np.where(np.outer(known, known), estimates.covariance[np.ix_(at, at)], 0.0)
    shared = np.array([0.0, 0.0, 0.0, fit.scale_u * values[3], 0.0])
    return values, covariance - np.outer(shared, shared), shared


@dataclass(frozen=True)
class MassLine:
    """The line through 1/(2πf)² over the mass added.

    Parameters
    ----------
    mass_kg
        Mms, where it meets zero.
    u
        Relative standard uncertainty of that from the weights of the points.
    off
        How far each point lies off the line over its standard deviation, shape (n,).
    """

    mass_kg: float
    u: float
    off: FloatArray


def mass_line(
    free: Resonance, loaded: list[Resonance], masses_kg: list[float], weights: FloatArray
) -> MassLine:
    """Mms by added masses: a straight line through 1/(2πf)² over the mass added.

    1/(2πf)² = C(Mms + m); with one mass Mms = m/[(fs/f')² - 1]. A creeping suspension is softer at the lower resonance;
    with the λ of the free fit its compliance there is taken back to that at fs.

    Parameters
    ----------
    weights
        Of the points over that without mass, without mass first, shape (1 + number of masses,).
    """
    every = [free, *loaded]
    line = np.array(
        [(2.0 * math.pi * r.fs) ** -2 / dynamic_compliance(r.fs, free.fs, free.creep) for r in every]
    )
    root = np.sqrt(weights)
    unit = max(masses_kg)
    columns = root[:, None] * np.stack([np.array([0.0, *masses_kg]) / unit, np.ones(len(every))], axis=1)
    wanted = root * line / line[0]
    (slope, foot), *_ = np.linalg.lstsq(columns, wanted, rcond=None)
    covariance = np.linalg.inv(columns.T @ columns)
    lever = np.array([-1.0 / slope, 1.0 / foot])
    return MassLine(
        mass_kg=float(unit * foot / slope),
        u=math.sqrt(float(lever @ covariance @ lever)),
        off=np.asarray(wanted - columns @ np.array([slope, foot])),
    )


def mass_by_strength(free: Resonance, loaded: Resonance, mass_kg: float) -> float:
    """Mms (kg) by an added mass out of Mms/Bl² instead of the resonance: no stiffness enters, so no creep either.

    The motional impedance above resonance alone, as Candy and Futtrup (JAES 65(12), 2017) use it.
    """
    return mass_kg / (loaded.mass / free.mass - 1.0)


def volume_ratio(free: Resonance, boxed: Resonance) -> float:
    """Vas/Vb by the stiffness the box adds, (fc Qec)/(fs Qes) - 1 (Small 1972), each Q over its own Re.

    The moving mass, which changes with the air load of the box, cancels. A creeping suspension is stiffer at fc.
    """
    suspension = 1.0 / dynamic_compliance(boxed.fs, free.fs, free.creep)
    return boxed.stiffness / free.stiffness - suspension


def volume_ratio_by_frequency(free: Resonance, boxed: Resonance) -> float:
    """Vas/Vb by the resonance alone, (fc/fs)² - 1: the moving mass is taken to be the same in the box."""
    return (boxed.fs / free.fs) ** 2 - 1.0 / dynamic_compliance(boxed.fs, free.fs, free.creep)


def mass_by_volume(free: Resonance, ratio: float, volume_m3: float, area_m2: float, air: Air) -> float:
    """Mms (kg) of Vas: Cms = Vas/(ρc² Sd²), Mms = 1/(ωs² Cms)."""
    compliance = ratio * volume_m3 / (air.density * air.speed_of_sound**2 * area_m2**2)
    return 1.0 / ((2.0 * math.pi * free.fs) ** 2 * compliance)


def air_load(area_m2: float, air: Air, mounting: Mounting) -> float:
    """Mass of air (kg) that moves with a flat disc of this area in the mounting, for ka << 1."""
    return AIR_SHARE[mounting] * air_mass(math.sqrt(area_m2 / math.pi), air)


def absolute_of(mass_kg: float, free: Resonance, area_m2: float, air: Air) -> FloatArray:
    """The values of `ABSOLUTE_NAMES` (8,) that follow from the moving mass and the free-air fit.

    Rms holds all mechanical loss at fs. eta0 = ρ Bl² Sd²/(2π c Re Mms²), half space (Small 1972).
    """
    omega = 2.0 * math.pi * free.fs
    compliance = 1.0 / (omega**2 * mass_kg)
    strength = omega * mass_kg * free.re / free.qes
    rho, c = air.density, air.speed_of_sound
    efficiency = rho * strength * area_m2**2 / (2.0 * math.pi * c * free.re * mass_kg**2)
    level = 10.0 * math.log10(efficiency * rho * c / (2.0 * math.pi) / 4e-10)
    return np.array(
        [
            mass_kg,
            compliance,
            omega * mass_kg / free.qms,
            math.sqrt(strength),
            rho * c**2 * area_m2**2 * compliance,
            efficiency,
            level,
            level + 10.0 * math.log10(8.0 / free.re),
        ]
    )
