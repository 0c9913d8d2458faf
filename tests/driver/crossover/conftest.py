"""Ways that need no driver: resistors that sound like a volt."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.crossover.responses import WayData, grid


def resistive(
    ohms: float = 8.0, *, frequency_hz: FloatArray | None = None, radius_m: float = 1e-6, **more: object
) -> WayData:
    """A driver that is a resistor and gives 1 Pa/V everywhere, all around."""
    f = grid() if frequency_hz is None else frequency_hz
    given: dict[str, object] = {"pressure_pa_per_v": np.ones(f.shape, dtype=np.complex128), **more}
    return WayData(
        frequency_hz=f, impedance_ohm=np.full(f.shape, ohms, dtype=np.complex128), radius_m=radius_m, **given
    )  # type: ignore[arg-type]


def driver_z(
    s: NDArray[np.complexfloating[Any, Any]],
    re: float,
    le: float,
    peak: tuple[float, float, float],
    eddy: tuple[float, float] = (0.0, 0.0),
) -> ComplexArray:
    """Impedance (ohm) of Re, Le, an eddy branch L beside R, and the resonance R beside L beside C."""
    res, lces, cmes = peak
    l2, r2 = eddy
    branch = s * l2 * r2 / (r2 + s * l2) if r2 else 0.0
    return np.asarray(re + s * le + branch + 1.0 / (1.0 / res + 1.0 / (s * lces) + s * cmes))
