"""Charts of distortion against level."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_value
from halfroll.measure.stepped.highest_level import HighestLevel
from halfroll.measure.stepped.level_series import LevelCurve, LevelSeries, at_frequency, over_band
from halfroll.publish.charts import level_chart
from halfroll.publish.drives import NORMAL_95, Look, drive_title, named, reach, source_words, thinned
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.level_rows import highest_of
from halfroll.publish.scales import log_axis
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

LEVEL_NOTE = "shaded: 95 % band, from noise and repeats"


def level_charts(
    series: Mapping[str, LevelSeries],
    *,
    theme: Theme,
    width_px: float,
    band_hz: tuple[float, float],
    limit: float,
) -> dict[str, Spec]:
    """Charts of distortion against level: ``band`` with every source's mean over the band, and of the first source
    ``tones`` (single frequencies) and ``highest`` (highest level under the limit over frequency).
    """
    look: Look = {"theme": theme, "width_px": width_px}
    if not series:
        return {}
    first = next(iter(series.values()))
    charts = {
        "band": _band(series, band_hz, limit, look),
        "tones": _single(first, band_hz, limit, look),
        "highest": _highest(first, limit, look),
    }
    return {name: chart for name, chart in charts.items() if chart is not None}


def _band(
    series: Mapping[str, LevelSeries], band_hz: tuple[float, float], limit: float, look: Look
) -> Spec | None:
    curves: dict[str, LevelCurve] = {}
    used: list[LevelSeries] = []
    for name, one in series.items():
        try:
            curves[source_words(name, one)] = over_band(one, band_hz)
        except InputError:
            continue
        used.append(one)
    if not curves:
        return None
    first = next(iter(curves))
    rated = used[0].conditions.rated_impedance_ohm
    band = f"{band_hz[0]:g} to {band_hz[1]:g}{THIN}Hz"
    return _against_drive(
        curves, rated, limit, look,
        title=f"Distortion against level, mean {band}", found=_found(curves[first], limit, used[0]),
    )  # fmt: skip


def _single(series: LevelSeries, band_hz: tuple[float, float], limit: float, look: Look) -> Spec | None:
    """Single frequencies: every tone that was played, or of sweeps some in the band."""
    every = series.source == "tones"
    inside = [i for i, f in enumerate(series.frequency_hz) if every or band_hz[0] <= f <= band_hz[1]]
    curves = {at_frequency(series, i).name: at_frequency(series, i) for i in thinned(inside)}
    if not curves:
        return None
    return _against_drive(
        curves,
        series.conditions.rated_impedance_ohm,
        limit,
        look,
        title="Distortion against level, by frequency",
    )


def _against_drive(
    curves: Mapping[str, LevelCurve],
    rated_ohm: float | None,
    limit: float,
    look: Look,
    *,
    title: str,
    found: HighestLevel | None = None,
) -> Spec | None:
    """THD (%) over drive, both logarithmic, with the limit as a line and the highest drive under it."""
    drawn_curves = []
    drives = []
    for name, curve in curves.items():
        drive = curve.level_v if rated_ohm is None else curve.level_v**2 / rated_ohm
        value = 100.0 * curve.thd
        half = np.where(curve.is_bound, np.nan, NORMAL_95 * 100.0 * np.nan_to_num(curve.thd_u))
        drawn_curves.append(named(name, drive, value, value - half, value + half, bound=curve.is_bound))
        drives.append(drive)
    every = np.concatenate(drives)
    values = np.concatenate([c.curve.value for c in drawn_curves])
    if not np.isfinite(values).any():
        return None
    ends = np.array([every.min(), every.max()])
    drawn_curves.append(named(f"limit {100 * limit:g}{THIN}%", ends, np.full(2, 100.0 * limit), style=7))
    x_axis = log_axis(every, title=drive_title(rated_ohm))
    y_axis = log_axis(np.append(values, 100.0 * limit), title="THD in %", limits=(0.01, 100.0))
    zones = []
    if found is not None and found.bound is None:
        at = found.level_v if found.level_w is None else found.level_w
        zones.append(Limit(from_x=at, word=f"over {100 * limit:g}{THIN}% from {format_value(at, None, 'V' if rated_ohm is None else 'W')}"))  # fmt: skip
    return drawn(
        Sketch(
            curves=drawn_curves, theme=look["theme"], width_px=look["width_px"], title=title, quantity="THD in %", zones=zones,
            x=lambda px: x_axis, y=y_axis, height=lambda px: px / 2.0,
            readout=Readout(number=".2r", spread=".1r", unit=" %"), band_note=LEVEL_NOTE,
        )
    )  # fmt: skip


def _highest(series: LevelSeries, limit: float, look: Look) -> Spec | None:
    """Level at 1 m at the limit over frequency, and the level at the loudest drive that was played."""
    if not np.isfinite(series.spl_db).any():
        return None
    found = [_found(at_frequency(series, i), limit, series) for i in range(series.frequency_hz.size)]
    reached = [f is not None and f.bound is None and f.spl_db is not None for f in found]
    level = np.array([f.spl_db if f is not None and ok and f.spl_db is not None else np.nan for f, ok in zip(found, reached, strict=True)])  # fmt: skip
    half = np.array([NORMAL_95 * (f.spl_u_db or 0.0) if f is not None and ok else np.nan for f, ok in zip(found, reached, strict=True)])  # fmt: skip
    played = np.array([_last(column) for column in series.spl_db.T])
    curves = [named("loudest played", series.frequency_hz, played, style=7)]
    if any(reached):
        curves.insert(0, named(f"at {100 * limit:g}{THIN}%", series.frequency_hz, level, level - half, level + half, style=0))  # fmt: skip
    return level_chart(
        curves, **look, ratio_db_per_decade=None, title=f"Highest level under {100 * limit:g}{THIN}% of distortion",
        quantity=f"Fundamental at 1{THIN}m in dB re 20{THIN}µPa", range_hz=reach(series.frequency_hz),
        band_note=LEVEL_NOTE, notes=("where only the loudest is drawn, the limit was not reached",),
    )  # fmt: skip


def _found(curve: LevelCurve, limit: float, series: LevelSeries) -> HighestLevel | None:
    found = highest_of(series, curve, limit)
    return None if isinstance(found, str) else found


def _last(column: FloatArray) -> float:
    known = column[np.isfinite(column)]
    return float(known[-1]) if known.size else float("nan")
