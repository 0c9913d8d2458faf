"""A joined response to look at: its halves and the join, what is left between them, and what the baffle does."""

from __future__ import annotations

import numpy as np

from halfroll.acoustics.baffle import VALID_TO_HZ
from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import MINUS, THIN, format_band, format_stated, format_value, join_words
from halfroll.measure.joining.join_types import Joined, JoinReport
from halfroll.publish.charts import frequency_chart, level_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.scales import frequency_range
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

NORMAL_95 = 1.96
"""Two-sided 95 % quantile of the normal distribution."""

SHOWN_BEYOND = 2.0
"""The near field is drawn up to so many times its limit."""

LEAST_SPAN_DB = 1.0
"""The mismatch is drawn over this much to both sides at least (dB), so that a good join looks like one."""


def join_charts(joined: Joined, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """``join``: halves and result; ``mismatch``: far over near field in the overlap; ``baffle`` where there is one."""
    report = joined.report
    charts = {
        "join": _join(joined, theme, width_px),
        "mismatch": _mismatch(report, theme, width_px),
    }
    if report.baffle_db is not None:
        charts["baffle"] = _baffle(report, report.baffle_db, theme, width_px)
    return charts


def recipe_words(joined: Joined) -> list[str]:
    """How a response was joined and how well, in sentences."""
    report, settings = joined.report, joined.report.settings
    names = join_words([f"the {name}" for name, _ in report.parts_db])
    distance = format_stated(report.distance_m, "m")
    said = [
        f"The near field of {names} was carried to {distance} in half space by Rayleigh's piston"
        + (", weighed by radius and added with phase." if len(report.parts_db) > 1 else "."),
    ]
    if settings.baffle is not None:
        b = settings.baffle
        said.append(
            f"The edges of a front of {100 * b.width_m:.3g} by {100 * b.height_m:.3g}{THIN}cm, driver {100 * b.x_m:.3g}{THIN}cm from "
            f"the left and {100 * b.y_m:.3g}{THIN}cm from below, turn half space into what the far take heard."
        )
    moved = format_value(report.mean_db, None, "dB", sign=True)
    said.append(
        f"Over {format_band(settings.overlap_hz)} the near field was "
        + (
            f"moved by {moved} to the level of the far field"
            if settings.match_level
            else f"left as measured ({moved} off)"
        )
        + (", turned over" if report.turned else "")
        + f"{_ms(report.delay_s)}."
    )
    said.append(
        f"What is left between the two is {format_value(report.rms_db, None, 'dB')} r.m.s. in level, "
        f"{round(report.trend_db_per_octave, 1) + 0.0:+.1f}{THIN}dB an octave, and {report.phase_rms_deg:.0f}° r.m.s. in phase.".replace(
            "-", MINUS
        )
    )
    said.append(
        "Below the overlap stands the near field, above it the far field, between them half a cosine over lg f."
    )
    return said


def _ms(delay_s: float) -> str:
    if abs(delay_s) < 5e-6:
        return "; it needed no delay"
    way = "later" if delay_s >= 0 else "earlier"
    return f" and set {abs(1e3 * delay_s):.2f}{THIN}ms {way}"


def _join(joined: Joined, theme: Theme, width_px: float) -> Spec:
    report = joined.report
    frequency, half = report.frequency_hz, NORMAL_95 * report.u_db
    low, high = report.near_valid_hz
    near = frequency <= SHOWN_BEYOND * high
    curves = []
    if len(report.parts_db) > 1:
        curves += [
            _named(name, frequency, np.where(near, values, np.nan), style=3 + n, valid=(low, high))
            for n, (name, values) in enumerate(report.parts_db)
        ]
    shown_near = np.where(near, report.near_db, np.nan)
    shown_far = np.where(frequency >= report.far_valid_from_hz, report.far_db, np.nan)
    curves += [
        _named("near field", frequency, shown_near, style=1, valid=(low, high)),
        _named("far field", frequency, shown_far, style=2, valid=(report.far_valid_from_hz, np.inf)),
        NamedCurve(label="joined", style=0, curve=Curve(
            frequency_hz=frequency, value=report.joined_db, low=report.joined_db - half, high=report.joined_db + half,
        )),
    ]  # fmt: skip
    overlap = report.settings.overlap_hz
    return level_chart(
        curves, theme=theme, width_px=width_px, title="Near and far field joined", most_db=50.0,
        quantity=f"Level at {format_stated(report.distance_m, 'm')} per volt in dB re 20{THIN}µPa",
        range_hz=frequency_range(float(frequency[0]), float(frequency[-1])),
        zones=[Limit(from_x=overlap[0], to_x=overlap[1], word="overlap")],
        notes=("thin: near field outside its validity",), band_note="shaded: 95 % band of the join",
    )  # fmt: skip


def _mismatch(report: JoinReport, theme: Theme, width_px: float) -> Spec:
    low, high = report.settings.overlap_hz
    most = float(np.nanmax(np.abs(report.mismatch_db)))
    top = float(np.ceil(max(LEAST_SPAN_DB, most)))
    curve = _named("far over near", report.frequency_hz, report.mismatch_db, style=0, valid=(0.0, np.inf))
    return frequency_chart(
        [curve], theme=theme, width_px=width_px, title="Left between them in the overlap",
        quantity="Far field over near field in dB", range_hz=frequency_range(low, high), y_range=(-top, top),
        marks=(-top, 0.0, top), readout=Readout(number="+.2f", unit=" dB"),
    )  # fmt: skip


def _baffle(report: JoinReport, baffle_db: FloatArray, theme: Theme, width_px: float) -> Spec:
    front = report.settings.baffle
    curve = _named("baffle", report.frequency_hz, baffle_db, style=0, valid=(0.0, VALID_TO_HZ))
    return level_chart(
        [curve], theme=theme, width_px=width_px, title="What the baffle's edges do", most_db=20.0,
        quantity=f"Level over half space at {format_stated(report.distance_m, 'm')} in dB",
        range_hz=frequency_range(float(report.frequency_hz[0]), float(report.frequency_hz[-1])),
        notes=(
            f"model of a deep box with sharp edges; thin: above {VALID_TO_HZ / 1000:g}{THIN}kHz not checked",
            *([] if front is None else [f"middle of the step by rule of thumb: {format_value(front.step_hz(), None, 'Hz')}"]),
        ),
    )  # fmt: skip


def _named(
    label: str, frequency_hz: FloatArray, value: FloatArray, *, style: int, valid: tuple[float, float]
) -> NamedCurve:
    curve = Curve(
        frequency_hz=frequency_hz, value=np.where(np.isfinite(value), value, np.nan), valid_from_hz=valid[0],
        valid_to_hz=valid[1],
    )  # fmt: skip
    return NamedCurve(label=label, curve=curve, style=style)
