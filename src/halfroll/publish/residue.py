"""Charts of what a take holds above its harmonics: over the excitation, and its worst moment in time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.text import THIN, format_value
from halfroll.measure.residues.residue import Residue
from halfroll.measure.residues.rub import Against
from halfroll.publish.charts import level_chart, time_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hover import Readout
from halfroll.publish.scales import frequency_range
from halfroll.publish.sketch import Noise
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme


def residue_charts(
    residue: Residue,
    *,
    theme: Theme,
    width_px: float,
    against: Against | None = None,
    others: Sequence[Residue] = (),
    show_moment: bool = True,
) -> dict[str, Spec]:
    """``residue`` over the excitation, and ``moment``, the waveform where it stands out most."""
    charts = {"residue": _over_excitation(residue, against, others, theme, width_px)}
    if residue.moment is not None and show_moment:
        charts["moment"] = _moment(residue, theme, width_px)
    return charts


def _over_excitation(
    residue: Residue, against: Against | None, others: Sequence[Residue], theme: Theme, width_px: float
) -> Spec:
    bound = residue.level_db <= np.nan_to_num(residue.floor_db, nan=-np.inf) + 1e-6
    own = Curve(frequency_hz=residue.frequency_hz, value=residue.level_db, bound=bound)
    curves = [NamedCurve(label="this take", curve=own, style=0)]
    notes = []
    if against is not None:
        levels = np.array([np.interp(against.frequency_hz, o.frequency_hz, o.level_db) for o in others])
        theirs = Curve(
            frequency_hz=against.frequency_hz, value=against.median_db, low=levels.min(axis=0), high=levels.max(axis=0)
        )  # fmt: skip
        limit = Curve(frequency_hz=against.frequency_hz, value=against.limit_db)
        curves += [
            NamedCurve(label="other units", curve=theirs, style=1),
            NamedCurve(label="limit", curve=limit, style=3),
        ]
        notes = ["above the limit a unit stands apart from the others"]
    known = np.isfinite(residue.floor_db)
    return level_chart(
        curves,
        theme=theme,
        width_px=width_px,
        ratio_db_per_decade=50.0,
        most_db=100.0,
        title="Above the harmonics",
        quantity="Orders from 12 up re fundamental in dB",
        range_hz=frequency_range(float(residue.frequency_hz[0]), float(residue.frequency_hz[-1])),
        noise=Noise(frequency_hz=residue.frequency_hz[known], value=residue.floor_db[known]) if known.any() else None,
        notes=notes,
        band_note="shaded: lowest to highest of the other units' takes",
    )  # fmt: skip


def _moment(residue: Residue, theme: Theme, width_px: float) -> Spec:
    moment = residue.moment
    assert moment is not None
    time_ms = 1e3 * (moment.second - moment.second[0])
    pressure = 1e3 * moment.pressure.astype(np.float64)
    tone = 0.5 * np.max(np.abs(pressure)) * np.sin(2.0 * np.pi * moment.cycles)
    curves = [
        NamedCurve(label="what is left", curve=_in_time(time_ms, pressure), style=0),
        NamedCurve(label="drive, not to scale", curve=_in_time(time_ms, tone), style=1),
    ]
    at = format_value(moment.excitation_hz, None, "Hz")
    return time_chart(
        curves,
        theme=theme,
        width_px=width_px,
        title=f"Where it stands out most: {at}",
        quantity=f"What is left at {moment.time_s:.2f}{THIN}s, in mPa",
        range_ms=(0.0, float(time_ms[-1])),
        readout=Readout(number=".2f", unit=" mPa"),
    )


def _in_time(time_ms: np.ndarray, value: np.ndarray) -> Curve:
    return Curve(frequency_hz=time_ms, value=value, valid_from_hz=-np.inf)
