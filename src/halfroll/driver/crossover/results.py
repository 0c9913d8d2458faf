"""A crossover worked out: what it is asked for, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from halfroll.core.errors import InputError
from halfroll.core.levels import P_REF_PA, ComplexArray, FloatArray, db
from halfroll.core.verdicts import Verdict
from halfroll.driver.crossover.elements import Crossover
from halfroll.driver.crossover.responses import WayData
from halfroll.driver.crossover.stress import Stress, WayStress
from halfroll.driver.crossover.summing import Listener
from halfroll.driver.crossover.tolerance import Method

DRIVE_V = 2.83
OFF_AXIS_DEG = (15.0, 30.0, 45.0, 60.0)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """How a crossover is looked at.

    Parameters
    ----------
    listener
        Where the main response is heard.
    off_axis_deg
        Further angles (degrees) to the right, and upwards, from the listener's direction.
    rated_ohm
        Rated impedance of the whole (ohm); None: not stated.
    power_w
        Power (W) into the rated impedance at which parts are judged; None: 2.83 V.
    method
        How the band of tolerances is made.
    """

    listener: Listener = field(default_factory=Listener)
    off_axis_deg: tuple[float, ...] = OFF_AXIS_DEG
    rated_ohm: float | None = None
    power_w: float | None = None
    method: Method = "monte-carlo"

    def __post_init__(self) -> None:
        for key in ("rated_ohm", "power_w"):
            value = getattr(self, key)
            if value is not None and not 0.0 < value < 1e6:
                raise InputError(f"{key} of the crossover must be above zero", key=key, found=f"{value:g}")

    @property
    def drive_v(self) -> float:
        """Voltage (V r.m.s.) at which parts are judged."""
        if self.power_w is None or self.rated_ohm is None:
            return DRIVE_V
        return float((self.power_w * self.rated_ohm) ** 0.5)


@dataclass(frozen=True, kw_only=True, eq=False)
class Result:
    """What comes of it; arrays have the shape of `frequency_hz` (f,). Pressures are Pa per volt of the amplifier, brought to 1 m.

    Parameters
    ----------
    data
        The drivers on this grid.
    parts, total
        Pressure of each way, and of all.
    low_db, high_db
        Band of the summed level by tolerances (dB re 1 Pa/V).
    alone
        Pressure of each way without crossover.
    off_axis
        Sum at (horizontal, vertical) angles in degrees.
    way_v, way_source_ohm
        Voltage at each driver (V/V), and the impedance it sees.
    input_ohm
        Impedance of the whole.
    minimum_ohm, minimum_hz
        Its least magnitude, and where.
    directivity_db
        Directivity index.
    arrival_s
        Travel time of each way beyond the nearest.
    valid_hz
        Where every way that counts holds.
    """

    crossover: Crossover
    asked: Asked
    frequency_hz: FloatArray
    data: dict[str, WayData]
    parts: dict[str, ComplexArray]
    total: ComplexArray
    low_db: FloatArray
    high_db: FloatArray
    alone: dict[str, ComplexArray]
    off_axis: dict[tuple[float, float], ComplexArray]
    way_v: dict[str, ComplexArray]
    way_source_ohm: dict[str, ComplexArray]
    input_ohm: ComplexArray
    minimum_ohm: float
    minimum_hz: float
    directivity_db: FloatArray
    arrival_s: dict[str, float]
    valid_hz: tuple[float, float]
    stresses: tuple[Stress, ...]
    way_stresses: tuple[WayStress, ...]
    crossings_hz: tuple[tuple[str, str, float], ...]
    verdicts: tuple[Verdict, ...]

    def level_db(self, pressure_pa_per_v: ComplexArray) -> FloatArray:
        """Level (dB re 20 µPa) at 2.83 V, referred to 1 m."""
        return db(pressure_pa_per_v) + float(db(DRIVE_V / P_REF_PA))

    @property
    def band_db(self) -> tuple[FloatArray, FloatArray]:
        """The band of the summed level at 2.83 V (dB re 20 µPa)."""
        shift = float(db(DRIVE_V / P_REF_PA))
        return self.low_db + shift, self.high_db + shift
