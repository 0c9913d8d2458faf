"""How a playback level is looked for, and what was found."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.core.levels import db


@dataclass(frozen=True, kw_only=True)
class RampSettings:
    """How the level is looked for. The values are the project's choice.

    Parameters
    ----------
    frequency_hz
        Of the tone. Above the resonance and below the coil's rise, the impedance is lowest and the cone moves little.
    start_db
        Level of the first burst re full scale; lower where the output's scale shows that the target is near.
    step_db
        Largest rise from one burst to the next.
    tolerance_db
        How near the target is near enough.
    blind_db
        Highest level that is played while the voltage channel shows nothing yet.
    """

    frequency_hz: float = 315.0
    start_db: float = -60.0
    step_db: float = 8.0
    tolerance_db: float = 0.05
    blind_db: float = -30.0

    def __post_init__(self) -> None:
        checks = (
            ("frequency_hz", 20 <= self.frequency_hz <= 20_000, "20 to 20000 Hz"),
            ("start_db", -120 <= self.start_db <= -20, "-120 to -20 dB"),
            ("step_db", 1 <= self.step_db <= 12, "1 to 12 dB"),
            ("tolerance_db", 0.005 <= self.tolerance_db <= 1, "0.005 to 1 dB"),
            ("blind_db", -60 <= self.blind_db <= -20, "-60 to -20 dB"),
        )
        for name, holds, allowed in checks:
            if not holds:
                raise InputError(f"{name} of the level search is out of range", key=name,
                                 found=f"{getattr(self, name):g}", allowed=allowed)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class RampStep:
    """One burst: peak level re full scale, and the voltage that was read (V r.m.s.; None: too small to be read)."""

    level: float
    voltage_v: float | None

    @property
    def level_db(self) -> float:
        """The level in decibels re full scale."""
        return float(db(self.level))


@dataclass(frozen=True, kw_only=True)
class FoundLevel:
    """The level that gives the wanted voltage.

    Parameters
    ----------
    level
        Peak re full scale of a sine or a sweep.
    voltage_v, place
        Voltage at that level, V r.m.s.: as read, or as the output's scale says; and where it stands.
    u_db
        Its standard uncertainty (dB), that of the scale and of the reading.
    measured
        Whether it was read from a voltage channel.
    frequency_hz
        Frequency of the tone.
    steps
        All bursts in order.
    """

    level: float
    voltage_v: float
    u_db: float
    measured: bool
    frequency_hz: float
    steps: tuple[RampStep, ...]
    place: str = "at the terminals"

    def as_dict(self) -> dict[str, object]:
        """Plain values for JSON, keys carry units."""
        return {
            "level": self.level,
            "level_db": float(db(self.level)),
            "voltage_v": self.voltage_v,
            "voltage_u_db": self.u_db,
            "measured": self.measured,
            "frequency_hz": self.frequency_hz,
            "steps": [{"level_db": step.level_db, "voltage_v": step.voltage_v} for step in self.steps],
        }
