"""Creep of a suspension in time: the logarithmic law as a row of springs with dampers beside the spring.

In frequency the compliance at small signals is (1 - λ lg(jω/ω₀))/K(0) (Knudsen and Jensen, "Low-Frequency Loudspeaker Models that Include
Suspension Creep", JAES 41(1/2), 1993, from memory), so the stiffness is K(0) G(jω) with G = 1/(1 - λ' ln(jω/ω₀)), λ' = λ/ln 10. As a row of
Maxwell elements, each a spring k behind a damper k τ, it is G_s + ∫ H(τ) jωτ/(1 + jωτ) d(ln τ) with the relaxation spectrum that G has on the
negative real axis (J. D. Ferry, "Viscoelastic Properties of Polymers", 3rd ed. 1980, chapter 4, from memory):

    H(τ) = λ'/((1 + λ' ln(ω₀τ))² + (πλ')²)

The elements are linear and stand beside K(x): the part of the stiffness that rises with travel, a wall that is stretched, does not creep in this
model. So it loses energy whatever the motion, and a steep spring stays playable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel, small_signal

SLOWEST_HZ, FASTEST_HZ = 0.05, 10_000.0
"""Corners between which the elements lie. Below the slowest the stiffness falls no more, so that a constant force has an end."""

PER_DECADE = 2
"""Elements per decade. With λ = 0.1 the compliance is then within 0.2 % of the law from 5 Hz to 1 kHz."""


@dataclass(frozen=True, kw_only=True, eq=False)
class CreepSpectrum:
    """What creep adds to the spring: `constant` (N/m, below zero), the stiffness (N/m) and relaxation time (s) of each element, shape (k,), and a
    `damper` (N s/m) for all that relaxes faster.
    """

    constant: float
    stiffness: FloatArray
    time_s: FloatArray
    damper: float

    def per_displacement(self, rate: ComplexArray) -> ComplexArray:
        """Force per displacement (N/m) at complex frequencies (rad/s), shape of `rate`."""
        turned = rate[..., None] * self.time_s
        return np.asarray(self.constant + self.damper * rate + (turned / (1.0 + turned)) @ self.stiffness)


def creep_spectrum(driver: DriverModel) -> CreepSpectrum:
    """The creep of a driver's suspension as elements beside its spring; none where it does not creep."""
    if driver.creep == 0.0:
        return CreepSpectrum(constant=0.0, stiffness=np.zeros(0), time_s=np.zeros(0), damper=0.0)
    decades = math.log10(FASTEST_HZ / SLOWEST_HZ)
    count = round(PER_DECADE * decades)
    width = math.log(10.0) * decades / count
    first, resonance = 1.0 / (2.0 * math.pi * FASTEST_HZ), 2.0 * math.pi * small_signal(driver).fs
    time = np.asarray(first * np.exp(width * (np.arange(count) + 0.5)), dtype=np.float64)
    rest, share = driver.K[0], driver.creep / math.log(10.0)
    stiffness = rest * width * _spectrum(share, resonance * time)
    damper = rest * float(_spectrum(share, np.array([resonance * first]))[0]) * first
    elements = CreepSpectrum(constant=0.0, stiffness=stiffness, time_s=time, damper=damper)
    at_resonance = elements.per_displacement(np.array([1j * resonance]))[0].real
    law = rest / (1.0 + (0.5 * math.pi * share) ** 2)
    return CreepSpectrum(
        constant=float(law - at_resonance) - rest, stiffness=stiffness, time_s=time, damper=damper
    )


def _spectrum(share: float, turned: FloatArray) -> FloatArray:
    """H(τ) over ω₀τ, with λ' = `share`."""
    return np.asarray(share / ((1.0 + share * np.log(turned)) ** 2 + (math.pi * share) ** 2))
