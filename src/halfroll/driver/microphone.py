"""The sound pressure at a microphone in front of a driver in a large baffle.

In the model: Rayleigh's piston on its axis at any distance with the time the sound takes, cone modes, one reflection
from the floor with the piston's directivity and the longer way, noise. Not in it: edges of the baffle, a second
reflection, and the microphone's own response, which belongs to the rig.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.nearfield import axial_transfer
from halfroll.acoustics.radiation import directivity
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.cone import ConeMode, cone_transfer
from halfroll.driver.large_signal import Motion

_PADDING_S = 0.25  # room for ringing and for the way of the sound, so that nothing wraps round


@dataclass(frozen=True, kw_only=True)
class Floor:
    """A floor under driver and microphone, both at `height_m`; `gain` is its reflection factor for pressure."""

    height_m: float
    gain: float = 1.0

    def path_m(self, distance_m: float) -> float:
        """Way of the reflected sound (m), 2 √((d/2)² + h²); less d it is what the reflection comes late by."""
        return 2.0 * math.hypot(distance_m / 2.0, self.height_m)

    def angle_rad(self, distance_m: float) -> float:
        """Angle from the driver's axis at which that sound leaves."""
        return math.atan2(2.0 * self.height_m, distance_m)


@dataclass(frozen=True, kw_only=True)
class Position:
    """Where the microphone stands: distance on axis (m) and the floor it hears, if any."""

    distance_m: float
    floor: Floor | None = None
    air: Air = STANDARD_AIR


def pressure_transfer(
    frequency_hz: FloatArray, radius_m: float, position: Position, modes: Sequence[ConeMode] = ()
) -> ComplexArray:
    """Pressure at the microphone per acceleration of the coil (Pa per m/s²), e^{+jωt}, shape of `frequency_hz`."""
    distance, air = position.distance_m, position.air
    transfer = axial_transfer(frequency_hz, radius_m, distance, air)
    if position.floor is not None:
        wave_number = 2.0 * np.pi * frequency_hz / air.speed_of_sound
        path = position.floor.path_m(distance)
        pattern = directivity(wave_number * radius_m, position.floor.angle_rad(distance))
        far = air.density * radius_m**2 / (2.0 * path) * np.exp(-1j * wave_number * path)
        transfer = transfer + position.floor.gain * pattern * far
    return np.asarray(transfer * cone_transfer(frequency_hz, modes), dtype=np.complex128)


def outlet_transfer(frequency_hz: FloatArray, position: Position) -> ComplexArray:
    """Pressure at the microphone per volume flow (Pa s/m³) of a port or another small outlet beside the cone, as far away as the cone.

    ρ jω e^{-jkr}/(2πr): a small source in a large baffle (Beranek, "Acoustics", from memory). Of a floor nothing is counted.
    """
    omega = 2.0 * np.pi * np.asarray(frequency_hz, dtype=np.float64)
    distance, air = position.distance_m, position.air
    size = 1j * omega * air.density / (2.0 * math.pi * distance)
    return np.asarray(size * np.exp(-1j * omega * distance / air.speed_of_sound), dtype=np.complex128)


def outlet_pressure(flows_m3_s: FloatArray, sample_rate_hz: float, position: Position) -> FloatArray:
    """Sound pressure (Pa) at the microphone over time, shape (n,), of all outlets together; volume flows (outlets, n)."""
    return _heard(
        np.asarray(flows_m3_s.sum(axis=0)),
        sample_rate_hz,
        lambda frequency: outlet_transfer(frequency, position),
    )


def sound_pressure(
    motion: Motion, radius_m: float, position: Position, modes: Sequence[ConeMode] = ()
) -> FloatArray:
    """Sound pressure (Pa) at the microphone over time, shape (n,) like the motion, without noise."""
    return _heard(
        motion.acceleration_m_s2,
        motion.sample_rate_hz,
        lambda frequency: pressure_transfer(frequency, radius_m, position, modes),
    )


def _heard(
    signal: FloatArray, sample_rate_hz: float, transfer: Callable[[FloatArray], ComplexArray]
) -> FloatArray:
    """A signal (n,) through a transfer over frequency, shape (n,)."""
    from scipy.fft import irfft, next_fast_len, rfft

    length = next_fast_len(signal.size + round(_PADDING_S * sample_rate_hz), real=True)
    frequency: FloatArray = np.asarray(np.fft.rfftfreq(length, 1.0 / sample_rate_hz), dtype=np.float64)
    spectrum = rfft(signal, length) * transfer(frequency)
    return np.asarray(irfft(spectrum, length)[: signal.size], dtype=np.float64)
