"""Distortion against level: the same unit at several drives, by tones or by sweeps, in one table.

One way for both sources: a table of THD and fundamental over frequency and drive.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np

from halfroll.core.conditions import Conditions
from halfroll.core.errors import RefusedError
from halfroll.core.frequency import in_band, octave_weights
from halfroll.core.levels import DB_OF_RELATIVE, FloatArray, power_mean_db, spl
from halfroll.measure.analysis.distortion import ADDITION_FLOOR, ADDITION_SHARE, BoolArray, ThdReference
from halfroll.measure.analysis.normalise import to_distance

if TYPE_CHECKING:
    from halfroll.measure.stepped.tone_results import ToneResults

Source = Literal["tones", "sweeps"]

SAME_LEVEL_DB = 0.25
"""Drives of several takes nearer to each other than this count as one level."""

LEAST_COVERED = 0.5
"""Share of a band's octaves that must be measured for a mean over it."""


@dataclass(frozen=True, kw_only=True)
class LevelSeries:
    """THD and level of one unit over frequency and drive.

    Parameters
    ----------
    frequency_hz, level_v
        Ascending, shapes (n,) and (m,); r.m.s. voltage at the terminals, mean of the tones or takes of a level.
    thd, thd_u
        Ratio and its standard uncertainty, shape (m, n); NaN where nothing was played or found. Where `is_bound`, the
        95 % upper bound.
    is_bound
        Mask (m, n).
    spl_db, spl_u_db
        Fundamental at 1 m, dB re 20 µPa, and its uncertainty from noise, shape (m, n); NaN without calibration.
    reference
        What THD is referred to.
    conditions
        Space, distance, rated impedance.
    source, origin
        Tones or sweeps, and the runs or takes it came from.
    microphone_u_db, voltage_u_db
        Standard uncertainty of the rig's scales (dB).
    cautions
        What must be said beside it.
    """

    frequency_hz: FloatArray
    level_v: FloatArray
    thd: FloatArray
    thd_u: FloatArray
    is_bound: BoolArray
    spl_db: FloatArray
    spl_u_db: FloatArray
    reference: ThdReference
    conditions: Conditions
    source: Source
    origin: tuple[str, ...] = ()
    microphone_u_db: float = 0.0
    voltage_u_db: float = 0.0
    cautions: tuple[str, ...] = field(default=())

    @property
    def level_w(self) -> FloatArray | None:
        """Power into the rated impedance (m,); None when that is not stated."""
        rated = self.conditions.rated_impedance_ohm
        return None if rated is None else np.asarray(self.level_v**2 / rated)


@dataclass(frozen=True, kw_only=True)
class LevelCurve:
    """THD and level over drive at one frequency or over a band; arrays (m,), as in `LevelSeries`."""

    name: str
    level_v: FloatArray
    thd: FloatArray
    thd_u: FloatArray
    is_bound: BoolArray
    spl_db: FloatArray
    spl_u_db: FloatArray
    at_hz: float | None = None
    band_hz: tuple[float, float] | None = None


def at_frequency(series: LevelSeries, index: int) -> LevelCurve:
    """The curve of one frequency of a series."""
    frequency = float(series.frequency_hz[index])
    return LevelCurve(
        name=f"{frequency:.4g} Hz",
        level_v=series.level_v,
        thd=series.thd[:, index],
        thd_u=series.thd_u[:, index],
        is_bound=series.is_bound[:, index],
        spl_db=series.spl_db[:, index],
        spl_u_db=series.spl_u_db[:, index],
        at_hz=frequency,
    )


def over_band(series: LevelSeries, band_hz: tuple[float, float]) -> LevelCurve:
    """Mean of THD and power mean of the level over a band, every octave weighing the same, by drive.

    A drive at which a part of the band was not played has no value. Bounds follow the rule of the figures.

    Raises
    ------
    RefusedError
        Less than half of the band's octaves was measured.
    """
    low = max(band_hz[0], float(series.frequency_hz[0]))
    high = min(band_hz[1], float(series.frequency_hz[-1]))
    share = math.log(high / low) / math.log(band_hz[1] / band_hz[0]) if high > low else 0.0
    mask = in_band(series.frequency_hz, (low, high))
    if share < LEAST_COVERED or np.count_nonzero(mask) < 2:
        raise RefusedError(f"Too little of the band {band_hz[0]:g} to {band_hz[1]:g} Hz was measured",
                           found=f"{series.frequency_hz[0]:.4g} to {series.frequency_hz[-1]:.4g} Hz")  # fmt: skip
    weights = octave_weights(series.frequency_hz[mask], (low, high))
    thd, u, bound = series.thd[:, mask], series.thd_u[:, mask], series.is_bound[:, mask]
    least = (np.where(bound, 0.0, thd) * weights).sum(axis=1)
    most = (thd * weights).sum(axis=1)
    is_bound = most - least > np.maximum(ADDITION_SHARE * least, ADDITION_FLOOR)
    value = np.where(is_bound, most, least)
    u_mean = np.hypot(
        np.sqrt(((np.where(bound, 0.0, u) * weights) ** 2).sum(axis=1)), (most - least) / np.sqrt(3.0)
    )
    levels = [
        power_mean_db(row, weights) if np.isfinite(row).all() else np.nan for row in series.spl_db[:, mask]
    ]
    return LevelCurve(
        name=f"mean {band_hz[0]:g} to {band_hz[1]:g} Hz",
        level_v=series.level_v,
        thd=value,
        thd_u=np.where(is_bound, np.nan, u_mean),
        is_bound=is_bound & np.isfinite(most),
        spl_db=np.array(levels),
        spl_u_db=np.sqrt(((series.spl_u_db[:, mask] * weights) ** 2).sum(axis=1)),
        band_hz=band_hz,
    )


def series_of_tones(
    results: ToneResults, reference: ThdReference = "total", *, origin: Sequence[str] = ()
) -> LevelSeries:
    """Distortion against level from a series of tones.

    Raises
    ------
    RefusedError
        The microphone stood where a level at 1 m cannot be told.
    """
    played = np.flatnonzero(results.series)
    wanted = sorted({results.tones[i].level_v for i in played})
    nominal = sorted({results.tones[i].nominal_hz for i in played})
    distortion = results.distortion(reference)
    spl_all = spl(np.abs(results.pressure[0]))
    noise_db = DB_OF_RELATIVE * results.pressure_u[0] / np.maximum(np.abs(results.pressure[0]), 1e-30)
    shape = (len(wanted), len(nominal))
    table = {name: np.full(shape, np.nan) for name in ("thd", "u", "spl", "spl_u", "volts", "hz")}
    bound = np.zeros(shape, dtype=bool)
    for i in played:
        at = wanted.index(results.tones[i].level_v), nominal.index(results.tones[i].nominal_hz)
        table["thd"][at], table["u"][at] = distortion.thd[i], distortion.u[i]
        table["spl"][at], table["spl_u"][at] = spl_all[i], noise_db[i]
        table["volts"][at], table["hz"][at] = results.voltage_v[i], results.frequency_hz[i]
        bound[at] = distortion.is_bound[i]
    frequency = np.nanmean(table["hz"], axis=0)
    gain, cautions = _gain(results.conditions, frequency)
    return LevelSeries(
        frequency_hz=frequency,
        level_v=np.nanmean(table["volts"], axis=1),
        thd=table["thd"],
        thd_u=table["u"],
        is_bound=bound,
        spl_db=table["spl"] + gain if results.calibrated else np.full(shape, np.nan),
        spl_u_db=table["spl_u"],
        reference=reference,
        conditions=results.conditions,
        source="tones",
        origin=tuple(origin),
        microphone_u_db=results.microphone_u_db,
        voltage_u_db=results.voltage_u_db,
        cautions=cautions,
    )


def _gain(conditions: Conditions, frequency_hz: FloatArray) -> tuple[FloatArray, tuple[str, ...]]:
    """Gain (n,) from the microphone to 1 m, NaN where the conversion does not hold, and what to say."""
    gain, (low, high), cautions = to_distance(conditions, frequency_hz)
    inside = (frequency_hz >= low) & (frequency_hz <= high)
    return np.where(inside, gain, np.nan), tuple(verdict.text for verdict in cautions)
