"""A unit of the demonstration behind an amplifier and before a microphone, as something that plays (`Player`)."""

from __future__ import annotations

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.cone import ConeMode
from halfroll.driver.demo.types import Rig
from halfroll.driver.large_signal import play
from halfroll.driver.lumped import DriverModel
from halfroll.driver.microphone import Position, sound_pressure
from halfroll.driver.noise import room_noise, white_noise
from halfroll.measure.recording import Role

_INPUT_NOISE = 1.5e-6  # r.m.s. re full scale, a converter with 113 dB


class DemoPlayer:
    """Plays through the large-signal model; the inputs are microphone, voltage and current of a rig with a shunt.

    Parameters
    ----------
    driver, modes
        The unit's physics.
    rig
        Its scales and shunt.
    v_per_full_scale
        Voltage of the amplifier for a sample of 1.0.
    position
        Of the microphone.
    noise_dba
        Noise at the place.
    seed
        Of the noise.
    """

    channels = 3
    roles = (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)

    def __init__(
        self,
        driver: DriverModel,
        modes: tuple[ConeMode, ...],
        rig: Rig,
        *,
        v_per_full_scale: float,
        distance_m: float,
        temperature_c: float,
        noise_dba: float,
        seed: tuple[int, ...],
        rate_hz: int = 48_000,
    ) -> None:
        self.rate_hz = rate_hz
        self._driver, self._modes, self._rig = driver, modes, rig
        self._volts, self._noise_dba = v_per_full_scale, noise_dba
        self._position = Position(distance_m=distance_m, air=Air.at(temperature_c))
        self._rng = np.random.default_rng(seed)

    def play(self, signal: FloatArray, progress: Progress = silent) -> FloatArray:
        """Samples of all inputs re full scale, shape (3, n)."""
        rig, n = self._rig, signal.size
        clean = np.zeros((3, n))
        if np.any(signal):
            motion = play(
                self._driver, signal * self._volts, self.rate_hz, series_ohm=rig.shunt_ohm, oversampling=4, progress=progress
            )  # fmt: skip
            clean[0] = sound_pressure(motion, self._driver.radius, self._position, self._modes)
            clean[1], clean[2] = motion.voltage_v, motion.current_a
        clean[0] += room_noise(n, self.rate_hz, self._noise_dba, self._rng)
        scaled = clean / np.array([[rig.microphone_pa], [rig.voltage_v], [rig.current_a or 1.0]])
        noisy = scaled + white_noise(3 * n, _INPUT_NOISE, self._rng).reshape(3, n)
        return np.asarray(np.clip(noisy, -1.0, 1.0), dtype=np.float64)
