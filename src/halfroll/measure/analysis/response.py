"""What analysis makes of a take: everything over frequency, with its limits and what must be said about it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from halfroll.core.conditions import Conditions
from halfroll.core.levels import ComplexArray, FloatArray, spl
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.residues.hum import Hum
from halfroll.measure.residues.residue import Residue

ORDERS = tuple(range(2, 11))
"""Harmonic orders that are analysed."""

WEAKEST_REFLECTION_DB = -20.0
"""Weaker reflections are not looked for; they move the level by less than 1 dB."""

SPEED_OF_SOUND = 343.0
"""m/s at 20 °C, where no better is known."""


@dataclass(frozen=True, kw_only=True)
class Gate:
    """The time window put on the impulse response.

    Parameters
    ----------
    length_s
        Time from arrival to the end of the window (s); None: the whole response is used.
    valid_from_hz
        Lowest frequency about which the window says anything, 1/length.
    reflection_s, reflection_db
        Delay (s) and level (dB re direct sound) of the first reflection found; None when none was found.
    """

    length_s: float | None = None
    valid_from_hz: float = 0.0
    reflection_s: float | None = None
    reflection_db: float | None = None

    def bass_gain(self, distance_m: float) -> float:
        """Relative amplitude a reflection may have in the bass, at a microphone distance (m).

        The amplitude found is that of the treble, where driver and microphone favour the direct sound.  In the bass a
        hard floor gives d/(d + c t) by its longer path alone (image source), so the larger of the two counts.  With none
        found it is the weakest that would have been.
        """
        if self.reflection_s is None or self.reflection_db is None:
            return float(10.0 ** (WEAKEST_REFLECTION_DB / 20.0))
        path = distance_m / (distance_m + SPEED_OF_SOUND * self.reflection_s)
        return float(min(max(10.0 ** (self.reflection_db / 20.0), path), 0.9))


@dataclass(frozen=True, kw_only=True)
class ImpulseResponse:
    """Pressure per volt as a time signal: `values` (n,) in Pa/V per sample, from `start_s` re arrival."""

    values: FloatArray
    start_s: float
    rate_hz: int


@dataclass(frozen=True, kw_only=True)
class Response:
    """The response of one unit in one take.

    All pressures are complex r.m.s. values at the microphone at the drive of the take, referred to the fundamental's
    frequency; phase follows e^{+jwt} re the terminal voltage (re the source when no voltage was recorded).

    Parameters
    ----------
    frequency_hz
        Excitation frequency, shape (n_f,), on the house grid.
    pressure_pa
        Fundamental after gating, complex, shape (n_f,).  Below ``gate.valid_from_hz`` it says nothing.
    pressure_full_pa
        Fundamental with the whole response, reflections included, complex, shape (n_f,).
    voltage_v
        R.m.s. terminal voltage at each frequency, shape (n_f,).
    harmonics_pa
        Orders 2 to 10, complex, shape (9, n_f); NaN where order times frequency lies beyond what was recorded.
        The phase of order n is re a harmonic in the sense sin(n phi + theta) of an excitation sin(phi).
    noise_pa
        Expected r.m.s. magnitude that noise alone gives to the fundamental (row 0) and the orders 2 to 10,
        shape (10, n_f); NaN when the recording holds no silence to read it from.
    impedance_ohm
        Terminal voltage over current, complex, shape (n_f,); None without a current channel.
    impulse
        Impulse response of the fundamental, pressure per volt.
    gate
        Window and reflection.
    valid_hz
        Range the sweep and its fades cover reliably (Hz).
    conditions
        Conditions of the take; ``conditions.drive_v`` is the mean measured terminal voltage when it was recorded.
    calibrated
        Whether pressures are pascals (True) or only relative to full scale (False).
    voltage_recorded
        Whether the terminal voltage was recorded (True) or only stated (False).
    microphone_u_db, voltage_u_db
        Standard uncertainty of the two scales (dB); the microphone's holds that of its correction curve.
    current_u_db, current_shares_voltage
        Standard uncertainty of the current's scale (dB) apart from what it shares with the voltage's, and whether it does.
    corrected_hz
        Range (Hz) in which the microphone's correction curve was taken off, at the frequency of what is heard; None
        without a curve. The impulse response is not corrected.
    verdicts
        What must be said about the recording.
    residue
        What is left above the harmonics, over the excitation; None where it was not read.
    hum
        Lines and level of the silence; None where it was not read.
    joined_u_db
        Standard uncertainty (n_f,) that joining near field and far field brings (dB); None for a single take.
    """

    frequency_hz: FloatArray
    pressure_pa: ComplexArray
    pressure_full_pa: ComplexArray
    voltage_v: FloatArray
    harmonics_pa: ComplexArray
    noise_pa: FloatArray
    impedance_ohm: ComplexArray | None
    impulse: ImpulseResponse
    gate: Gate
    valid_hz: tuple[float, float]
    conditions: Conditions
    calibrated: bool
    voltage_recorded: bool
    microphone_u_db: float = 0.0
    voltage_u_db: float = 0.0
    current_u_db: float = 0.0
    current_shares_voltage: bool = False
    corrected_hz: tuple[float, float] | None = None
    verdicts: tuple[Verdict, ...] = field(default=())
    joined_u_db: FloatArray | None = None
    residue: Residue | None = None
    hum: Hum | None = None

    @property
    def usable(self) -> bool:
        """False when a verdict takes the take out of the figures."""
        return worst(self.verdicts) < Severity.BAD

    def in_room(self) -> np.ndarray:
        """Mask (n_f,) of frequencies below the gate's limit, where only the ungated response exists."""
        return np.asarray(self.frequency_hz < self.gate.valid_from_hz)

    def level_pa(self) -> FloatArray:
        """R.m.s. magnitude (n_f,) of the fundamental: gated where the gate allows, with the room below."""
        return np.asarray(np.where(self.in_room(), np.abs(self.pressure_full_pa), np.abs(self.pressure_pa)))

    def spl_db(self) -> FloatArray:
        """Sound pressure level (n_f,) at the microphone at the take's drive (dB re 20 µPa)."""
        return spl(self.level_pa())

    def sensitivity_pa_per_v(self) -> FloatArray:
        """Pressure per terminal volt (n_f,), Pa/V."""
        return np.asarray(self.level_pa() / self.voltage_v)

    def room_u_db(self) -> FloatArray:
        """Standard uncertainty (n_f,) that a reflection adds below the gate's limit (dB).

        A reflection of relative amplitude g moves the level by 20 lg(1-g) to 20 lg(1+g); half of that width is taken as
        the half-width of a rectangular distribution and divided by sqrt(3) (JCGM 100:2008, 4.3.7). In a joined response
        the near field stands where the room was, and its uncertainty in place of the room's.
        """
        if self.joined_u_db is not None:
            return self.joined_u_db
        gain = self.gate.bass_gain(self.conditions.distance_m)
        half_width = 10.0 * np.log10((1.0 + gain) / (1.0 - gain))
        return np.where(self.in_room(), half_width / np.sqrt(3.0), 0.0)
