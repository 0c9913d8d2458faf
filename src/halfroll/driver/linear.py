"""Small-signal response of a driver in closed form: impedance, displacement and pressure over frequency."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import piston_pressure
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel


@dataclass(frozen=True, kw_only=True)
class LinearResponse:
    """Response to a voltage at the terminals, e^{+jωt}; every array has the shape of `frequency_hz`.

    Parameters
    ----------
    frequency_hz
        Frequency (Hz), shape (n,).
    impedance_ohm
        Voltage over current (ohm).
    displacement_m_per_v
        Cone displacement, positive outwards (m/V).
    pressure_pa_per_v
        Far-field pressure on axis, half space, at the distance asked for, without propagation delay (Pa/V).
    """

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    displacement_m_per_v: ComplexArray
    pressure_pa_per_v: ComplexArray


def linear_response(
    driver: DriverModel, frequency_hz: FloatArray, *, distance_m: float = 1.0, air: Air = STANDARD_AIR
) -> LinearResponse:
    """Closed-form response of the driver about x = 0 in an infinite baffle.

    Z = Re + jωLe + jωL2R2/(R2 + jωL2) + Bl²/Zm with Zm = Rms + jωMms + K/(jω); v = Bl i/Zm.
    The air load is in Mms; radiation resistance is left out, as in the usual lumped model.
    """
    frequency_hz = np.asarray(frequency_hz, dtype=np.float64)
    s = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    bl = driver.Bl[0]
    mechanical = driver.Rms + s * driver.Mms + driver.K[0] / s
    eddy = s * driver.L2 * driver.R2 / (driver.R2 + s * driver.L2) if driver.R2 else 0.0
    impedance: ComplexArray = driver.Re + s * driver.Le[0] + eddy + bl**2 / mechanical
    displacement: ComplexArray = bl / (impedance * mechanical * s)
    return LinearResponse(
        frequency_hz=frequency_hz,
        impedance_ohm=impedance,
        displacement_m_per_v=displacement,
        pressure_pa_per_v=np.asarray(
            piston_pressure(displacement * s**2, driver.Sd, distance_m, air), dtype=np.complex128
        ),
    )
