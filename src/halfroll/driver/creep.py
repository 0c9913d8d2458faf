"""Creep of a suspension in time: the logarithmic law as a row of springs with dampers.

In frequency the creep displacement per force is -λ lg(jω/ω₀)/K(0) (Knudsen and Jensen, "Low-Frequency Loudspeaker Models that Include
Suspension Creep", JAES 41(1/2), 1993, from memory). Because ∫ d(ln τ)/(1 + jωτ) from τ₁ to τ₂ is -ln(jωτ₁) wherever ωτ₁ ≪ 1 ≪ ωτ₂, equal
Kelvin-Voigt elements evenly spaced in ln τ give it but for a constant, λ lg(ω₀τ₁)/K(0), which is negative: the law makes the suspension
stiffer than K(x) above ω₀.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel, small_signal

SLOWEST_HZ, FASTEST_HZ = 0.05, 10_000.0
"""Corners between which the elements lie. Below the slowest the compliance grows no more, so that a constant force has an end."""

LEAST_GIVE = 0.1
"""Least share of the spring's own give that the constant may leave where the spring is steepest; for steep springs the fastest corner lies
lower. The law then holds less far above resonance, where the mass alone decides what moves."""

LOWEST_TOP = 3.0
"""The fastest corner is never lower than so many times the resonance."""

PER_DECADE = 2
"""Elements per decade. With λ = 0.1 the compliance is then within 0.1 % of the law from 5 Hz to 1 kHz; one a decade would ripple by
0.6 %."""


@dataclass(frozen=True, kw_only=True, eq=False)
class CreepSpectrum:
    """`constant` (m/N), then the compliance (m/N) and retardation time (s) of each element, shape (k,)."""

    constant: float
    compliance: FloatArray
    time_s: FloatArray

    @property
    def rest(self) -> float:
        """Creep displacement per constant force in the end (m/N)."""
        return self.constant + float(np.sum(self.compliance))

    def per_force(self, frequency_hz: FloatArray) -> ComplexArray:
        """Creep displacement per force (m/N), e^{+jωt}, shape of `frequency_hz`."""
        s = 2j * np.pi * np.asarray(frequency_hz, dtype=np.float64)
        return np.asarray(self.constant + (1.0 / (1.0 + s[..., None] * self.time_s)) @ self.compliance)


def creep_spectrum(driver: DriverModel) -> CreepSpectrum:
    """The creep of a driver's suspension as elements in series with its spring; none where it does not creep."""
    if driver.creep == 0.0:
        return CreepSpectrum(constant=0.0, compliance=np.zeros(0), time_s=np.zeros(0))
    fastest_hz, resonance = _fastest_hz(driver), small_signal(driver).fs
    decades = math.log10(fastest_hz / SLOWEST_HZ)
    count = round(PER_DECADE * decades)
    width, scale = decades / count, driver.creep / driver.K[0]
    first = 1.0 / (2.0 * math.pi * fastest_hz)
    time = np.asarray(first * 10.0 ** (width * (np.arange(count) + 0.5)), dtype=np.float64)
    compliance = np.full(count, scale * width)
    # The fastest element stands for those beyond as well, which together act as a damper; the constant takes back what it yields too much.
    beyond = scale / math.log(10.0) * first / float(time[0])
    compliance[0] += beyond
    return CreepSpectrum(
        constant=scale * math.log10(resonance / fastest_hz) - beyond, compliance=compliance, time_s=time,
    )  # fmt: skip


def steepest(driver: DriverModel) -> tuple[float, float]:
    """Greatest slope of the spring's force over that at rest within `x_range`, and the displacement (m) where."""
    x = np.linspace(*driver.x_range, 101)
    slope = polynomial.polyval(x, polynomial.polyder((0.0, *driver.K))) / driver.K[0]
    at = int(np.argmax(slope))
    return float(slope[at]), float(x[at])


def _fastest_hz(driver: DriverModel) -> float:
    """The fastest corner: `FASTEST_HZ`, or what leaves a steep spring `LEAST_GIVE`."""
    decades = (1.0 - LEAST_GIVE) / (driver.creep * steepest(driver)[0])
    beyond = 10.0 ** (-0.5 / PER_DECADE) / math.log(10.0)
    resonance = small_signal(driver).fs
    least, most = LOWEST_TOP * resonance, FASTEST_HZ
    return max(least, min(most, resonance * math.pow(10.0, min(decades - beyond, 6.0))))
