"""Group delay of a response."""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.response import Response


def group_delay_s(response: Response) -> FloatArray:
    """Group delay (s), shape (n_f,): minus the slope of phase over angular frequency, travel time included.

    Read between neighbours of the log-frequency grid and centred; NaN below the gate's limit, where the phase says
    nothing about the driver.
    """
    phase = np.unwrap(np.angle(response.pressure_pa))
    delay = -np.gradient(phase, 2 * np.pi * response.frequency_hz)
    return np.where(response.in_room(), np.nan, delay)
