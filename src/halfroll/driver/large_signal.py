"""Playing a voltage through a driver: the large-signal model solved in time.

    u  = Re i + d(Le(x) i)/dt + v_LR + Bl(x) v          v_LR: voltage over L2 parallel R2
    Bl(x) i + ½ Le'(x) i² = Mms dv/dt + Rms v + K(x) x,  v = dx/dt

(Klippel, "Loudspeaker Nonlinearities: Causes, Parameters, Symptoms", JAES 54, 2006; sign of the reluctance force by
co-energy.) In the model: travel-dependent Bl, K and Le, eddy currents as one linear branch, the reluctance force.
Not in it: creep and memory of the suspension, heating of the coil, flux modulation by current, Doppler shift, and
everything acoustic beyond the mass of air in Mms.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial import polynomial

from halfroll.core.errors import InputError, RefusedError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.lumped import DriverModel

if TYPE_CHECKING:
    from halfroll.driver.steps import Coefficients

STEP_RATE_HZ = 384_000.0
"""Least number of steps a second. Against steps twice as short, a sweep to 20 kHz then comes out within 2e-6 in
acceleration and far closer below 1 kHz, where the harmonics matter; half the rate costs a factor of 16."""

STIFFNESS_LIMIT = 0.3
"""Greatest step over the shortest electrical time constant Le/R; Runge-Kutta goes unstable near 2.8."""

CHUNK_S = 0.25
"""Stretch of signal between two progress reports (s); also bounds the memory of the fine time grid."""

LEAST_TERMS = 5
"""Polynomials up to the fourth power share one compiled loop; a longer one compiles its own, once a machine."""

RESAMPLING = "VHQ"
"""soxr quality: linear phase, flat to 0.91 of half the sample rate, aliases below -140 dB."""


@dataclass(frozen=True, kw_only=True)
class Motion:
    """What a driver did with a voltage; every array has shape (n,) and the sample rate of the voltage.

    Parameters
    ----------
    sample_rate_hz
        Sample rate (Hz).
    voltage_v
        Voltage at the terminals, behind the series resistance (V).
    current_a
        Coil current (A).
    velocity_m_s, displacement_m, acceleration_m_s2
        Motion of the cone, positive outwards.
    """

    sample_rate_hz: float
    voltage_v: FloatArray
    current_a: FloatArray
    velocity_m_s: FloatArray
    displacement_m: FloatArray
    acceleration_m_s2: FloatArray


class TravelError(RefusedError):
    """The cone would leave the displacements for which the driver's parameters hold."""

    def __init__(self, driver: DriverModel, time_s: float, displacement_m: float) -> None:
        self.time_s = time_s
        self.displacement_m = displacement_m
        low, high = driver.x_range
        travel = f"{displacement_m * 1e3:.2f} mm" if math.isfinite(displacement_m) else "no number"
        super().__init__(
            "Displacement of the cone must stay where the driver's parameters hold",
            found=f"{travel} at {time_s:.3f} s",
            allowed=f"{low * 1e3:g} mm to {high * 1e3:g} mm",
            remedy="Lower the drive level, or give parameters that hold for more travel.",
        )


def play(
    driver: DriverModel,
    voltage_v: FloatArray,
    sample_rate_hz: float,
    *,
    series_ohm: float = 0.0,
    oversampling: int | None = None,
    progress: Progress = silent,
) -> Motion:
    """Play a source voltage through a driver from rest.

    Parameters
    ----------
    driver
        The driver.
    voltage_v
        Source voltage (V), shape (n,), band-limited to 0.91 of half the sample rate.
    sample_rate_hz
        Sample rate (Hz).
    series_ohm
        Resistance between source and terminals (ohm), such as a current shunt.
    oversampling
        Steps per sample; by default what `STEP_RATE_HZ` and `STIFFNESS_LIMIT` ask for.
    progress
        Called every `CHUNK_S` of signal; may raise `CancelledError`.

    Raises
    ------
    InputError
        When the voltage holds a value that is not finite, or is empty.
    TravelError
        When the cone leaves `driver.x_range`.
    """
    voltage_v = np.ascontiguousarray(voltage_v, dtype=np.float64)
    if voltage_v.ndim != 1 or voltage_v.size == 0 or not np.all(np.isfinite(voltage_v)):
        raise InputError(
            "The voltage to play must be one row of finite numbers", found=f"shape {voltage_v.shape}"
        )
    steps = oversampling or _steps_per_sample(driver, sample_rate_hz, series_ohm)
    track = _solve(driver, voltage_v, sample_rate_hz, series_ohm, steps, progress)
    current, velocity, displacement, acceleration = np.ascontiguousarray(track.T)
    return Motion(
        sample_rate_hz=sample_rate_hz,
        voltage_v=voltage_v - series_ohm * current,
        current_a=current,
        velocity_m_s=velocity,
        displacement_m=displacement,
        acceleration_m_s2=acceleration,
    )


def _solve(
    driver: DriverModel,
    voltage: FloatArray,
    rate: float,
    series: float,
    steps: int,
    progress: Progress,
) -> FloatArray:
    """Current, velocity, displacement, acceleration at the rate of the voltage, shape (n, 4)."""
    import soxr

    from halfroll.driver.steps import runge_kutta

    up = soxr.ResampleStream(rate, 2 * steps * rate, 1, dtype="float64", quality=RESAMPLING)
    down = soxr.ResampleStream(steps * rate, rate, 4, dtype="float64", quality=RESAMPLING)
    coefficients = _coefficients(driver, series)
    chunk = max(1, round(CHUNK_S * rate))
    state, done, waiting, parts = (0.0, 0.0, 0.0, 0.0), 0, np.empty(0), []
    for start in range(0, voltage.size, chunk):
        progress(start / voltage.size, "Playing the signal through the driver")
        last = start + chunk >= voltage.size
        waiting = np.concatenate([waiting, up.resample_chunk(voltage[start : start + chunk], last=last)])
        if last:
            waiting = np.pad(waiting, (0, 1), mode="edge")
        count = max(0, (waiting.size - 1) // 2)
        if count == 0 and not last:  # at a low rate the resampler holds the first stretches back
            continue
        track, state, stopped = runge_kutta(
            state, waiting[: 2 * count + 1], 1.0 / (steps * rate), coefficients, driver.x_range
        )
        if stopped >= 0:
            raise TravelError(driver, (done + stopped) / (steps * rate), float(track[stopped, 2]))
        done, waiting = done + count, waiting[2 * count :]
        parts.append(down.resample_chunk(track, last=last))
    progress(1.0, "Playing the signal through the driver")
    return np.concatenate(parts)[: voltage.size]


def _coefficients(driver: DriverModel, series_ohm: float) -> Coefficients:
    from halfroll.driver.steps import Coefficients

    terms = max(LEAST_TERMS, len(driver.Bl), len(driver.K), len(driver.Le))

    def padded(coefficients: Iterable[float]) -> tuple[float, ...]:
        row = tuple(float(c) for c in coefficients)
        return row + (0.0,) * (terms - len(row))

    return Coefficients(
        resistance=driver.Re + series_ohm,
        l2=driver.L2,
        r2=driver.R2,
        mms=driver.Mms,
        rms=driver.Rms,
        bl=padded(driver.Bl),
        k=padded(driver.K),
        le=padded(driver.Le),
        dle=padded(polynomial.polyder(driver.Le)),
    )


def _steps_per_sample(driver: DriverModel, rate: float, series_ohm: float) -> int:
    """Steps per sample so that steps are short beside the sample, and beside the electrical time constant."""
    least = float(np.min(polynomial.polyval(np.linspace(*driver.x_range, 101), driver.Le)))
    fastest = (driver.Re + series_ohm + driver.R2) / least  # rad/s, the coil current alone
    if driver.L2 > 0.0:
        fastest = max(fastest, driver.R2 / driver.L2)
    return math.ceil(max(STEP_RATE_HZ, fastest / STIFFNESS_LIMIT) / rate)
