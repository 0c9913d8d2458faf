"""What steady tones of one unit say, as a value."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from halfroll.core.conditions import Conditions
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.measure.analysis.distortion import BoolArray, Distortion, ThdReference, distortion_of
from halfroll.measure.stepped.tones import Tone


@dataclass(frozen=True, kw_only=True)
class ToneResults:
    """Steady tones of one unit, in the order in which they were played; all complex values are r.m.s., e^{+jwt}.

    Parameters
    ----------
    tones
        The tones, n of them.
    frequency_hz, level_v
        Frequency played and terminal voltage wanted, shape (n,).
    voltage_v
        Terminal voltage measured (r.m.s., fundamental), or that wanted where none was recorded, shape (n,).
    pressure, voltage, current
        Orders 1 to 10, shape (10, n); NaN beyond half the sample rate. Phase of the fundamental re the voltage, of order
        n in the sense sin(n phi + theta) of a voltage sin(phi). None without the channel.
    pressure_noise, voltage_noise, current_noise
        Expected r.m.s. magnitude of noise in each, shape (10, n).
    settled
        Whether each tone had become steady, shape (n,).
    seconds
        Time averaged over, shape (n,).
    conditions
        `drive_v` is None: every tone has its own.
    calibrated
        Whether pressures are pascals, or only relative to full scale.
    microphone_u_db, voltage_u_db, current_u_db
        Standard uncertainty of the scales (dB).
    """

    tones: tuple[Tone, ...]
    rate_hz: int
    frequency_hz: FloatArray
    level_v: FloatArray
    voltage_v: FloatArray
    pressure: ComplexArray
    pressure_noise: FloatArray
    voltage: ComplexArray | None
    voltage_noise: FloatArray | None
    current: ComplexArray | None
    current_noise: FloatArray | None
    settled: BoolArray
    seconds: FloatArray
    conditions: Conditions
    calibrated: bool
    voltage_recorded: bool
    microphone_u_db: float = 0.0
    voltage_u_db: float = 0.0
    current_u_db: float = 0.0
    verdicts: tuple[Verdict, ...] = field(default=())

    def distortion(self, reference: ThdReference = "total") -> Distortion:
        """THD and orders of the sound pressure at every tone, by the house's one rule."""
        return distortion_of(
            self.frequency_hz, self.pressure[0], self.pressure[1:], self.pressure_noise, reference
        )

    @cached_property
    def pressure_u(self) -> FloatArray:
        """Standard uncertainty of the magnitude of each order from noise, shape (10, n): half its power lies in phase."""
        return np.asarray(self.pressure_noise / np.sqrt(2.0))

    @cached_property
    def impedance_ohm(self) -> ComplexArray | None:
        """Impedance at every tone, shape (n,); None without voltage and current."""
        if self.voltage is None or self.current is None:
            return None
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(self.voltage[0] / self.current[0])

    @cached_property
    def impedance_u_ohm(self) -> FloatArray | None:
        """Standard uncertainty of its modulus from noise, shape (n,)."""
        if self.voltage_noise is None or self.current_noise is None or self.impedance_ohm is None:
            return None
        assert self.voltage is not None
        assert self.current is not None
        relative = np.hypot(
            self.voltage_noise[0] / np.abs(self.voltage[0]), self.current_noise[0] / np.abs(self.current[0])
        )
        return np.asarray(np.abs(self.impedance_ohm) * relative / np.sqrt(2.0))

    @property
    def series(self) -> BoolArray:
        """Mask (n,) of the tones of the series, without those repeated at the end."""
        return np.array([not tone.closing for tone in self.tones], dtype=bool)
