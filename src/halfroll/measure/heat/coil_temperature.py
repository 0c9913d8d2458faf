"""How warm a voice coil is, from how much its resistance rose; and whether repeats drift.

R(T) = R₂₀ [1 + α₂₀ (T - 20 °C)], α₂₀ of copper and aluminium from `materials.conductors`. The straight line holds from about
-40 °C to 200 °C within 1 % of the rise; wires differ by about 1 % in α (common practice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.uncertainty import coverage_factor
from halfroll.materials.conductors import ALUMINIUM, COPPER

Metal = Literal["copper", "aluminium"]

ALPHA_20: dict[Metal, float] = {"copper": COPPER.alpha_per_k, "aluminium": ALUMINIUM.alpha_per_k}
"""Temperature coefficient of resistance at 20 °C (1/K)."""

ALPHA_U = 0.01
"""Relative standard uncertainty of α of a real winding wire; common practice, no source."""

COLDEST_C, HOTTEST_C = -40.0, 400.0
"""Beyond these no coil is (enamels char before), so a resistance that says so was misread."""


@dataclass(frozen=True, kw_only=True)
class CoilTemperature:
    """Temperature (°C), its rise over the reference (K), and their standard uncertainty (K)."""

    temperature_c: float
    rise_k: float
    u_k: float
    metal: Metal = "copper"


def resistance_factor(temperature_c: float, reference_c: float = 20.0, metal: Metal = "copper") -> float:
    """R(T)/R(T_ref); copper from 20 °C to 120 °C gives 1.393."""
    alpha = ALPHA_20[metal]
    return (1.0 + alpha * (temperature_c - 20.0)) / (1.0 + alpha * (reference_c - 20.0))


def level_change_db(rise_k: float, metal: Metal = "copper") -> float:
    """Change of level at constant voltage (dB) well above resonance for a rise over 20 °C; +100 K copper: -2.879 dB."""
    return -20.0 * math.log10(resistance_factor(20.0 + rise_k, 20.0, metal))


def from_resistance(
    cold_ohm: float,
    hot_ohm: float,
    *,
    reference_c: float = 20.0,
    metal: Metal = "copper",
    u_ratio: float = 0.0,
    u_reference_k: float = 0.0,
) -> CoilTemperature:
    """Temperature from two readings of the DC resistance.

    Parameters
    ----------
    cold_ohm, hot_ohm
        Resistance with the coil at the temperature of the air, and when warm (ohm).
    reference_c
        Temperature of the air at the cold reading (°C).
    u_ratio
        Relative standard uncertainty of hot over cold; the same meter and leads for both keep it small.
    u_reference_k
        Standard uncertainty of `reference_c` (K).

    Raises
    ------
    InputError
        A resistance is not above 0, or the temperature that follows cannot be that of a coil.
    """
    for name, value in (("cold", cold_ohm), ("warm", hot_ohm)):
        if not 0.0 < value < math.inf:
            raise InputError(f"The {name} resistance must be above 0 ohm", found=f"{value:g}")
    ratio = hot_ohm / cold_ohm
    alpha = ALPHA_20[metal]
    per_kelvin = 1.0 / alpha + reference_c - 20.0  # K of rise for a ratio of one more
    rise = (ratio - 1.0) * per_kelvin
    temperature = reference_c + rise
    if not COLDEST_C <= temperature <= HOTTEST_C:
        raise InputError(
            "The two resistances cannot be those of one coil", found=f"{cold_ohm:g} and {hot_ohm:g} ohm, {temperature:.0f} °C",
            allowed=f"{COLDEST_C:g} to {HOTTEST_C:g} °C", remedy="Read both again; leads and decimal point first",
        )  # fmt: skip
    u = math.sqrt(
        (per_kelvin * ratio * u_ratio) ** 2
        + ((ratio - 1.0) / alpha * ALPHA_U) ** 2
        + (ratio * u_reference_k) ** 2
    )
    return CoilTemperature(temperature_c=temperature, rise_k=rise, u_k=u, metal=metal)


def from_impedance(
    cold_ohm: complex,
    hot_ohm: complex,
    re_cold_ohm: float,
    *,
    reference_c: float = 20.0,
    metal: Metal = "copper",
    u_ohm: float = 0.0,
    u_reference_k: float = 0.0,
) -> CoilTemperature:
    """Temperature from the impedance at one frequency, of a pilot tone or at the impedance minimum, cold and warm.

    Only the wire's resistance warms up: what the real part gains is what Re gained, Re' = Re + Re{Z' - Z}. At the minimum
    above resonance the motion adds little, and a change of it falls into the second order.

    Parameters
    ----------
    cold_ohm, hot_ohm
        Impedance at the same frequency and drive (ohm). A modulus alone will do at the minimum.
    re_cold_ohm
        DC resistance of the cold coil (ohm).
    u_ohm
        Standard uncertainty of the difference of the two (ohm).
    """
    if not 0.0 < re_cold_ohm < math.inf:
        raise InputError("The DC resistance of the cold coil must be above 0 ohm", found=f"{re_cold_ohm:g}")
    gain = complex(hot_ohm).real - complex(cold_ohm).real
    return from_resistance(
        re_cold_ohm, re_cold_ohm + gain, reference_c=reference_c, metal=metal, u_ratio=u_ohm / re_cold_ohm,
        u_reference_k=u_reference_k,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Drift:
    """A straight line through repeats over time.

    Parameters
    ----------
    change
        Last minus first value of the line, in the unit of the values.
    u
        Its standard uncertainty from the scatter about the line, not below that of a single value over sqrt(n).
    dof
        Degrees of freedom, n - 2.
    significant
        Whether the interval of the change leaves out zero (Student's t, two-sided, 95 % unless asked otherwise).
    scatter, lever
        Standard deviation about the line that `u` was made with, in the unit of the values, and `u` for a scatter of 1.
    """

    change: float
    u: float
    dof: float
    significant: bool
    scatter: float
    lever: float

    def with_scatter(self, scatter: float, dof: float, probability: float = 0.95) -> Drift:
        """The same line judged by a scatter known from more repeats than its own."""
        u = self.lever * scatter
        significant = abs(self.change) > coverage_factor(dof, probability) * u
        return replace(self, u=u, dof=dof, significant=significant, scatter=scatter)


def linear_drift(time_s: Sequence[float], values: Sequence[float], u_value: float = 0.0) -> Drift:
    """Test repeats for a linear trend (least squares; JCGM 100:2008 H.3 for the uncertainty of slope).

    Parameters
    ----------
    time_s
        When each was made (s), any origin.
    values
        Level (dB), impedance (ohm) or any other quantity.
    u_value
        Known standard uncertainty of one value from noise; the scatter counts where it is larger.

    Raises
    ------
    InputError
        Fewer than three repeats, or all at one time.
    """
    t, y = np.asarray(time_s, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if t.size < 3 or t.size != y.size or not np.ptp(t) > 0.0:
        raise InputError("A trend needs three repeats at different times", found=f"{t.size} repeats")
    dof = t.size - 2
    spread = t - t.mean()
    slope = float(spread @ y / (spread @ spread))
    left = y - y.mean() - slope * spread
    sigma = max(math.sqrt(float(left @ left) / dof), u_value)
    change, lever = slope * float(np.ptp(t)), float(np.ptp(t)) / math.sqrt(float(spread @ spread))
    significant = abs(change) > coverage_factor(dof) * sigma * lever
    return Drift(change=change, u=sigma * lever, dof=dof, significant=significant, scatter=sigma, lever=lever)
