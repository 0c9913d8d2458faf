"""Value objects of the demonstration. Dates and times are ISO 8601 text: this room knows no calendar."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.core.conditions import Space
from halfroll.driver.cone import ConeMode
from halfroll.driver.lumped import DriverModel
from halfroll.driver.microphone import Floor


@dataclass(frozen=True)
class Change:
    """One thing that differs from the parent version: what, before, after, why."""

    what: str
    before: str
    after: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Version:
    """A version of an invented driver, with the physics that stands behind its recordings.

    Parameters
    ----------
    name, parent
        ``v4`` and the version it came from; None for a first version.
    date, measured
        When it was designed, and when its units were measured (``2026-03-15``).
    rated_impedance_ohm, rated_power_w
        As its maker rates it.
    units
        How many copies were built.
    model, modes
        The driver and the modes of its cone.
    coil_spread_m
        Standard deviation of where the coil ends up when it is glued in (m).
    temperature_c
        Air on the day of measuring (°C).
    """

    name: str
    title: str
    parent: str | None
    date: str
    measured: str
    summary: str
    changes: tuple[Change, ...] = ()
    rated_impedance_ohm: float
    rated_power_w: float
    units: int
    model: DriverModel
    modes: tuple[ConeMode, ...]
    coil_spread_m: float = 0.1e-3
    temperature_c: float = 18.0


@dataclass(frozen=True, kw_only=True)
class Driver:
    """A line of versions."""

    name: str
    title: str
    aim: str
    versions: tuple[Version, ...]


@dataclass(frozen=True, kw_only=True)
class Rig:
    """What was measured with: physical value of full scale of each channel, and the standard uncertainty of that (dB).

    `current_a` is None when there is no shunt.
    """

    name: str
    title: str
    date: str
    notes: str
    microphone_pa: float
    microphone_u_db: float
    voltage_v: float
    voltage_u_db: float
    current_a: float | None = None
    current_u_db: float = 0.0

    @property
    def shunt_ohm(self) -> float:
        """Resistance before the terminals (ohm)."""
        return 0.0 if self.current_a is None else 0.1


@dataclass(frozen=True, kw_only=True)
class Unit:
    """One built copy: what its builder noted, and its own physics."""

    driver: str
    version: str
    name: str
    built_by: str
    built_on: str
    re_ohm: float
    moving_mass_g: float
    print_settings: dict[str, float]
    model: DriverModel


@dataclass(frozen=True, kw_only=True)
class Scrape:
    """A coil that scrapes where it stands further out than `beyond_m`, at a level re the driver's sound there (dB)."""

    beyond_m: float
    level_db: float


@dataclass(frozen=True, kw_only=True)
class Take:
    """One recording: what the record will say, and what really happened where that differs.

    Parameters
    ----------
    unit, name, when, note
        Its place and time.
    rig
        The rig that the record names.
    used
        The rig that was really used.
    drive_v
        R.m.s. voltage at the terminals (V).
    distance_m, space, temperature_c
        Conditions as recorded; they are also true.
    box_m3
        Volume of the closed cabinet (m³) when the driver sits in one.
    floor
        Floor that the microphone hears.
    gain
        By how much the input gain of the microphone was really higher than the rig says.
    stiffness, drive_error
        Factors: how far the suspension has warmed up and crept by now, and by how much the drive was off.
    noise_dba
        Noise at the place (dB(A)).
    scrape
        How the coil scrapes; None when it is free.
    seed
        Seeds of this take's noise.
    """

    unit: Unit
    name: str
    when: str
    note: str
    rig: Rig
    used: Rig
    drive_v: float
    distance_m: float
    space: Space
    temperature_c: float
    box_m3: float | None
    floor: Floor | None
    gain: float
    stiffness: float
    drive_error: float
    noise_dba: float
    scrape: Scrape | None
    seed: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Reference:
    """A driver known only from a printed sheet.

    `level_db` over `frequency_hz` at `drive_v`; `figures` holds value and standard uncertainty by the figure's key.
    """

    driver: str
    title: str
    aim: str
    version: str
    summary: str
    source: str
    rated_impedance_ohm: float
    rated_power_w: float
    drive_v: float
    distance_m: float
    space: Space
    figures: dict[str, tuple[float, float]]
    frequency_hz: tuple[float, ...]
    level_db: tuple[float, ...]


def model(
    *,
    bl: tuple[float, ...],
    k: tuple[float, ...],
    le_mh: tuple[float, ...],
    re: float,
    mms_g: float,
    rms: float,
    sd_cm2: float,
    l2_mh: float,
    r2: float,
    travel_mm: float,
) -> DriverModel:
    """A driver from the numbers a maker has: millimetres, grams, millihenries; polynomials per mmⁿ, lowest power first."""

    def per_m(coefficients: tuple[float, ...], unit: float = 1.0) -> tuple[float, ...]:
        return tuple(unit * c * 1e3**n for n, c in enumerate(coefficients))

    return DriverModel(
        Re=re,
        Mms=mms_g * 1e-3,
        Rms=rms,
        Sd=sd_cm2 * 1e-4,
        Bl=per_m(bl),
        K=per_m(k),
        Le=per_m(le_mh, 1e-3),
        L2=l2_mh * 1e-3,
        R2=r2,
        x_range=(-travel_mm * 1e-3, travel_mm * 1e-3),
    )
