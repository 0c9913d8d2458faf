"""What the steady-state solver gives: harmonics of everything that moves, sounds and flows, at steady tones.

Time factor e^{+jωt}: the source voltage is √2 U cos ωt, and y(t) = Y₀ + Σ |Yₙ| cos(nωt + arg Yₙ): amplitudes are PEAK values.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray

Standing = Literal["steady", "beyond travel", "not found"]
"""`steady`: solved, and reached by raising the level from rest without a jump; `beyond travel`: the cone would leave the displacements
for which the model holds; `not found`: no solution was reached by raising the level, and none is guessed."""


@dataclass(frozen=True, kw_only=True, eq=False)
class SteadyTones:
    """Steady tones, one column a tone; NaN where `standing` is not ``steady``.

    Parameters
    ----------
    frequency_hz, voltage_v
        Frequency and r.m.s. source voltage of each tone, shape (n,).
    displacement_m, current_a, pressure_pa
        Complex peak harmonics, shape (orders + 1, n); row 0 is the mean (real), row 1 the fundamental. Pressure on axis in half space at
        1 m without delay, by the volume acceleration of the cone and of all outlets of the load (a leak included).
    flows_m3_s
        Complex peak harmonics of the volume flow of each outlet of the load, shape (outlets, orders + 1, n).
    x_low_m, x_high_m
        Extremes of the displacement over the period, shape (n,).
    coil_w
        Mean power lost in Re, shape (n,); `eddy_w` in the eddy-current branches.
    standing
        How each tone ended, (n,).
    """

    frequency_hz: FloatArray
    voltage_v: FloatArray
    displacement_m: ComplexArray
    current_a: ComplexArray
    pressure_pa: ComplexArray
    flows_m3_s: ComplexArray
    x_low_m: FloatArray
    x_high_m: FloatArray
    coil_w: FloatArray
    eddy_w: FloatArray
    standing: tuple[Standing, ...]

    def thd(self, orders: int = 5) -> FloatArray:
        """Root of the sum of squares of orders 2 to `orders` over the fundamental, in pressure, shape (n,)."""
        size = np.abs(self.pressure_pa)
        return np.asarray(np.sqrt(np.sum(size[2 : orders + 1] ** 2, axis=0)) / size[1])
