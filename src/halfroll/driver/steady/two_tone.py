"""Two tones at once: what a low tone does to a high one.

Modulation distortion as IEC 60268-5 has it (from memory): of order 2 the sum of the pressures at f2 ± f1 over that at f2, of order 3 that at
f2 ± 2 f1; f1 low and four times as large in voltage, f2 at 8.5 f1 as in IEC 62458 and AES2 (from memory). The ratio of the frequencies is made a
fraction of small numbers that is not whole, so that the pair repeats after a few periods of f1 and no product falls on a harmonic of f1. Shift of
frequency by the moving cone (Doppler) is not in it, as nowhere in the model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.solve import check_tones, settled
from halfroll.driver.steady.types import Standing

RATIO = 8.5
VOLTAGES = 4.0
"""High over low frequency, and low over high voltage, where nothing else is asked for."""

LEAST_RATIO, MOST_RATIO = 3.0, 40.0
"""Ratios of frequency that are solved: products of two tones nearer than this mix with harmonics; far apart they take too many points."""

NEAR = 0.04
MOST_PERIODS = 4
"""The ratio is met within this share by as few periods of f1 as possible, and by the nearest fraction of so many otherwise."""

SIDES = 3
"""Pairs of products about f2 that are told."""


@dataclass(frozen=True, kw_only=True, eq=False)
class TwoTone:
    """Steady state under two tones; NaN where `standing` is not ``steady``.

    Parameters
    ----------
    low_v, low_hz, high_v, high_hz
        R.m.s. source voltages and the frequencies really used.
    asked_high_hz
        The high frequency that was asked for.
    base_hz
        The frequency all others are multiples of.
    low_order, high_order
        Which multiples the two tones are.
    pressure_pa, displacement_m, current_a
        Complex peak harmonics of `base_hz`, row 0 the mean, shape (orders + 1,), as in `SteadyTones`.
    x_low_m, x_high_m
        Extremes of the displacement.
    """

    low_v: float
    low_hz: float
    high_v: float
    high_hz: float
    asked_high_hz: float
    base_hz: float
    low_order: int
    high_order: int
    pressure_pa: ComplexArray
    displacement_m: ComplexArray
    current_a: ComplexArray
    x_low_m: float
    x_high_m: float
    standing: Standing

    def product(self, n: int) -> complex:
        """Pressure (Pa, complex peak) at f2 + n f1."""
        return complex(self.pressure_pa[self.high_order + n * self.low_order])

    def modulation(self, order: int) -> float:
        """Modulation distortion of order 2 or more: |p(f2 - n f1)| + |p(f2 + n f1)| over |p(f2)| with n = order - 1, as a ratio."""
        n = order - 1
        return (abs(self.product(-n)) + abs(self.product(n))) / abs(self.product(0))

    @property
    def total(self) -> float:
        """Root of the sum of squares of orders 2 and 3."""
        return math.hypot(self.modulation(2), self.modulation(3))


def two_tone(
    driver: DriverModel,
    low: tuple[float, float],
    high: tuple[float, float] | None = None,
    *,
    load: AcousticLoad | None = None,
    series_ohm: float = 0.0,
    air: Air = STANDARD_AIR,
    progress: Progress = silent,
) -> TwoTone:
    """Steady state under a low and a high tone, each (V r.m.s., Hz); by default the high one a quarter of the voltage at 8.5 times the frequency.

    Raises
    ------
    InputError
        A voltage or frequency is not above zero, or the frequencies are too near or too far apart.
    """
    high = high or (low[0] / VOLTAGES, low[1] * RATIO)
    check_tones(np.array([low[0], high[0]]), np.array([low[1], high[1]]), series_ohm, 1)
    if not LEAST_RATIO <= high[1] / low[1] <= MOST_RATIO:
        raise InputError(
            "The high tone must lie well above the low one", found=f"{high[1]:g} Hz over {low[1]:g} Hz",
            allowed=f"{LEAST_RATIO:g} to {MOST_RATIO:g} times its frequency",
        )  # fmt: skip
    ratio = near_ratio(high[1] / low[1])
    m, k = ratio.denominator, ratio.numerator
    base = low[1] / m
    spectrum = np.zeros((1, k + 1), dtype=np.complex128)
    spectrum[0, m], spectrum[0, k] = math.sqrt(2.0) * low[0], math.sqrt(2.0) * high[0]
    found = settled(
        driver, spectrum, np.array([base]), np.array([low[0]]), load=load, series_ohm=series_ohm, orders=k + SIDES * m, air=air,
        progress=progress,
    )  # fmt: skip
    return TwoTone(
        low_v=low[0], low_hz=low[1], high_v=high[0], high_hz=base * k, asked_high_hz=high[1], base_hz=base, low_order=m, high_order=k,
        pressure_pa=found.pressure_pa[:, 0], displacement_m=found.displacement_m[:, 0], current_a=found.current_a[:, 0],
        x_low_m=float(found.x_low_m[0]), x_high_m=float(found.x_high_m[0]), standing=found.standing[0],
    )  # fmt: skip


def near_ratio(wanted: float) -> Fraction:
    """The fraction of small numbers, not whole, that stands for a ratio of frequencies."""
    best = Fraction(0)
    for m in range(2, MOST_PERIODS + 1):
        around = range(math.floor(wanted * m) - m, math.ceil(wanted * m) + m + 1)
        here = min(
            (Fraction(k, m) for k in around if math.gcd(k, m) == 1), key=lambda r: abs(float(r) - wanted)
        )
        if abs(float(here) / wanted - 1.0) <= NEAR:
            return here
        if abs(float(here) - wanted) < abs(float(best) - wanted):
            best = here
    return best
