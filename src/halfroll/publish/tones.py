"""Charts of a series of stepped tones."""

from __future__ import annotations

import math

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import spl
from halfroll.core.text import THIN
from halfroll.measure.analysis.distortion import ThdReference
from halfroll.measure.analysis.response import ORDERS
from halfroll.measure.stepped.tone_results import ToneResults
from halfroll.publish.charts import impedance_chart, level_chart, thd_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.drives import NORMAL_95, Look, drive_words, named, reach, thinned
from halfroll.publish.sketch import Noise
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

SHOWN_ORDERS = (2, 3, 4, 5)
TALL_DECADES = 1.25
"""A chart of harmonics holds 80 dB, and wants more decades across for that."""
TONE_NOTE = "shaded: 95 % band of this series, from noise"


def tone_charts(
    results: ToneResults,
    *,
    theme: Theme,
    width_px: float,
    reference: ThdReference = "total",
    level_v: float | None = None,
) -> dict[str, Spec]:
    """Charts of a series of tones: ``thd`` by level, ``harmonics`` at one level (the highest, or that nearest to
    `level_v`), ``impedance``; those it cannot give are left out.
    """
    look: Look = {"theme": theme, "width_px": width_px}
    charts = {
        "thd": _thd_by_level(results, reference, look),
        "harmonics": _harmonics(results, level_v, look),
        "impedance": _impedance(results, look),
    }
    return {name: chart for name, chart in charts.items() if chart is not None}


def _thd_by_level(results: ToneResults, reference: ThdReference, look: Look) -> Spec | None:
    distortion = results.distortion(reference)
    curves = []
    for level in thinned(sorted({tone.level_v for tone in results.tones})):
        at = _tones_at(results, level)
        value = 100.0 * distortion.thd[at]
        half = np.where(distortion.is_bound[at], np.nan, NORMAL_95 * 100.0 * distortion.u[at])
        curve = Curve(
            frequency_hz=results.frequency_hz[at], value=value, low=value - half, high=value + half,
            bound=distortion.is_bound[at], valid_from_hz=0.0,
        )  # fmt: skip
        curves.append(
            NamedCurve(label=drive_words(level, results.conditions.rated_impedance_ohm), curve=curve)
        )
    if not any(np.isfinite(c.curve.value).any() for c in curves):
        return None
    over = "total pressure" if reference == "total" else "fundamental"
    return thd_chart(
        curves, **look, ratio=None, title="Distortion by level", quantity=f"THD over {over} in %", range_hz=reach(results.frequency_hz),
        band_note=TONE_NOTE,
    )  # fmt: skip


def _harmonics(results: ToneResults, level_v: float | None, look: Look) -> Spec | None:
    levels = sorted({tone.level_v for tone in results.tones})
    chosen = levels[-1] if level_v is None else min(levels, key=lambda v: abs(math.log(v / level_v)))
    at = _tones_at(results, chosen)
    frequency = results.frequency_hz[at]
    fundamental = np.abs(results.pressure[0, at])
    distortion = results.distortion("fundamental")
    curves = [named("fundamental", frequency, spl(fundamental))]
    for order in SHOWN_ORDERS:
        row = ORDERS.index(order)
        level = spl(distortion.order_ratio[row, at] * fundamental)
        curves.append(named(f"order {order}", frequency, level, bound=distortion.order_is_bound[row, at]))
    noise = np.nanmax(results.pressure_noise[1 : SHOWN_ORDERS[-1], at], axis=0)
    drive = drive_words(chosen, results.conditions.rated_impedance_ohm)
    where = f"at {results.conditions.distance_m:.3g}{THIN}m and {drive}"
    quantity = (
        f"Sound pressure level {where} in dB re 20{THIN}µPa"
        if results.calibrated
        else f"Level {where} in dB re full scale, not calibrated"
    )
    return level_chart(
        curves, **look, title="Harmonics", quantity=quantity, ratio_db_per_decade=None, most_db=80.0,
        range_hz=reach(results.frequency_hz, TALL_DECADES), noise=Noise(frequency_hz=frequency, value=spl(noise)),
    )  # fmt: skip


def _impedance(results: ToneResults, look: Look) -> Spec | None:
    if results.impedance_ohm is None:
        return None
    curves = []
    for level in thinned(sorted({tone.level_v for tone in results.tones}), 3):
        at = _tones_at(results, level)
        label = drive_words(level, results.conditions.rated_impedance_ohm)
        curves.append(named(label, results.frequency_hz[at], np.abs(results.impedance_ohm[at])))
    return impedance_chart(
        curves, **look, ratio=None, title="Impedance", range_hz=reach(results.frequency_hz)
    )


def _tones_at(results: ToneResults, level_v: float) -> list[int]:
    """Places of the tones of a level in a series, by frequency."""
    at = [i for i, tone in enumerate(results.tones) if tone.level_v == level_v and not tone.closing]
    return sorted(at, key=lambda i: float(results.frequency_hz[i]))
