"""Impedance of a driver on the bench at small signals: with a mass on its cone, on a closed box, with a creeping suspension."""

from __future__ import annotations

import numpy as np
from scipy import fft

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.measure.lumped.impedance_model import creep_compliance


def bench_impedance(
    driver: DriverModel,
    frequency_hz: FloatArray,
    *,
    added_kg: float = 0.0,
    box_m3: float | None = None,
    creep_lambda: float = 0.0,
    air: Air = STANDARD_AIR,
) -> ComplexArray:
    """Impedance (ohm), shape (n,), about rest, e^{+jwt}.

    Z = Re + jwLe + jwL2R2/(R2 + jwL2) + Bl²/(Rms + jw(Mms + m) + 1/(jwC) + Kb/(jw)); C = (1 - λ lg(jw/ws))/K (Knudsen and
    Jensen 1993), Kb = ρc²Sd²/V of a lossless closed box.

    Parameters
    ----------
    driver
        Its curves count at rest only.
    frequency_hz
        Above 0, shape (n,).
    added_kg
        Mass stuck to the cone.
    box_m3
        Volume behind the cone; None: none.
    creep_lambda
        λ of the suspension; 0: a spring.
    """
    s = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    compliance = creep_compliance(frequency_hz, small_signal(driver).fs, creep_lambda) / driver.K[0]
    air_spring = 0.0 if box_m3 is None else air.density * air.speed_of_sound**2 * driver.Sd**2 / box_m3
    mechanical = driver.Rms + s * (driver.Mms + added_kg) + (1.0 / compliance + air_spring) / s
    eddy = s * driver.L2 * driver.R2 / (driver.R2 + s * driver.L2) if driver.R2 else 0.0
    return np.asarray(
        driver.Re + s * driver.Le[0] + eddy + driver.Bl[0] ** 2 / mechanical, dtype=np.complex128
    )


def current_of(
    driver: DriverModel, voltage_v: FloatArray, rate_hz: int, *, creep_lambda: float = 0.0
) -> FloatArray:
    """Current (A), shape (n,), that a terminal voltage (V) drives through the driver at small signals.

    Worked out on the spectrum of the whole signal, which must end in silence long enough for the driver to come to rest.
    """
    n = fft.next_fast_len(len(voltage_v) + rate_hz, real=True)
    frequency = fft.rfftfreq(n, 1.0 / rate_hz)
    impedance = bench_impedance(driver, np.maximum(frequency, 0.5 * frequency[1]), creep_lambda=creep_lambda)
    return np.asarray(fft.irfft(fft.rfft(voltage_v, n) / impedance, n)[: len(voltage_v)], dtype=np.float64)
