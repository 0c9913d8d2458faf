"""A driver in a vented box at small signals: what cone and port move, in closed form.

The usual lumped model (Thiele 1961, Small 1973): the air in the box is a compliance V/(ρc²), the port a mass that resonates with it at
the tuning frequency, leaks a resistance beside both. Port without loss, no mutual load of cone and port.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel


@dataclass(frozen=True, kw_only=True)
class VentedBox:
    """Net volume (m³), tuning frequency of the port (Hz), Q of the leaks at that frequency."""

    volume_m3: float
    tuning_hz: float
    leak_q: float = 7.0


@dataclass(frozen=True, kw_only=True)
class VentedResponse:
    """Response to a voltage at the terminals, e^{+jωt}; every array has the shape of `frequency_hz`.

    Parameters
    ----------
    frequency_hz
        Frequency (Hz), shape (n,).
    impedance_ohm
        Voltage over current (ohm).
    cone_flow, port_flow
        Volume acceleration of cone and port, positive outwards (m³/s² per V); ρ/(2πr) times it is the pressure in half
        space.
    """

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    cone_flow: ComplexArray
    port_flow: ComplexArray


def vented_response(
    driver: DriverModel, box: VentedBox, frequency_hz: FloatArray, air: Air = STANDARD_AIR
) -> VentedResponse:
    """Closed-form response of a driver about x = 0 in a vented box."""
    s = np.asarray(2j * np.pi * np.asarray(frequency_hz, dtype=np.float64), dtype=np.complex128)
    bl, tuning = driver.Bl[0], 2.0 * np.pi * box.tuning_hz
    compliance = box.volume_m3 / (air.density * air.speed_of_sound**2)
    port = s / (tuning**2 * compliance)
    inside = 1.0 / (s * compliance + 1.0 / port + tuning * compliance / box.leak_q)
    mechanical = driver.Rms + s * driver.Mms + driver.K[0] / s + driver.Sd**2 * inside
    eddy = s * driver.L2 * driver.R2 / (driver.R2 + s * driver.L2) if driver.R2 else 0.0
    impedance: ComplexArray = driver.Re + s * driver.Le[0] + eddy + bl**2 / mechanical
    flow: ComplexArray = driver.Sd * bl / (impedance * mechanical) * s
    return VentedResponse(
        frequency_hz=frequency_hz, impedance_ohm=impedance, cone_flow=flow, port_flow=-flow * inside / port
    )
