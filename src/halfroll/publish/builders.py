"""Charts of a builder's check: every reading on its band, what may be wrong on one scale of chance, the recording over a good unit's curve."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.builds.checks import Checked
from halfroll.builds.faults.words import chance
from halfroll.builds.types import CheckResult, Diagnosis
from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.publish.builders_rows import OUTCOMES, chance_word
from halfroll.publish.charts import level_chart
from halfroll.publish.curves import NamedCurve, tidy
from halfroll.publish.frame import Frame
from halfroll.publish.named_rows import NamedRow, row_height, row_words
from halfroll.publish.on_bands import REACH, SURE, band_axis, band_part, rows_frame
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

BAND_NOTE = (
    "shaded: where good units read · line: 95 % of the reading · filled: not good · at the edge: further out"
)
NAMES = 0.42
"""Share of the width that names take at most."""

CHANCE_NOTE = "each alone or with another, so they may add up to more than 100 %"


def check_charts(checked: Checked, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """``readings``, ``suspects`` and ``recording``; one is missing where there is nothing to draw."""
    found: dict[str, Spec | None] = {
        "readings": readings_chart(checked.diagnosis.checks, theme=theme, width_px=width_px),
        "suspects": suspects_chart(checked.diagnosis, theme=theme, width_px=width_px),
        "recording": recording_chart(checked, theme=theme, width_px=width_px),
    }
    return {key: chart for key, chart in found.items() if chart is not None}


def readings_chart(checks: Sequence[CheckResult], *, theme: Theme, width_px: float) -> Spec | None:
    """One row a reading: a point and its 95 % interval on its band, whose edges stand at -1 and 1; None without any band."""
    rows = [one for one in checks if one.band is not None and one.outcome != "not judged"]
    if not rows:
        return None
    names = [
        NamedRow(name=_label(one), words=OUTCOMES[one.outcome], main=one.outcome == "outside") for one in rows
    ]
    axis = band_axis("From the middle of the band; its edges stand at −1 and 1")
    frame, wide = rows_frame(names, axis, theme, width_px, BAND_NOTE, names_share=NAMES)
    parts = [
        words_around(frame, ""),
        band_part(frame),
        _points(frame, rows, wide),
        _words(frame, names, wide),
    ]
    said = "; ".join(f"{name.name}: {name.words}" for name in names)
    return specification(frame, parts, summary=f"Readings on the bands of good units. {said}.")


def suspects_chart(found: Diagnosis, *, theme: Theme, width_px: float) -> Spec | None:
    """One row a fault that may be, with no fault beside them, on one scale of probability; None where nothing is suspected."""
    listed = [("no fault", float(found.data.get("no_fault", 0.0)))] if "no_fault" in found.data else []
    listed += [(one.label, one.probability) for one in found.suspects]
    if not listed:
        return None
    listed.sort(key=lambda row: -row[1])
    names = [
        NamedRow(name=label, words=chance(p), main=number == 0) for number, (label, p) in enumerate(listed)
    ]
    axis = Axis(low=0.0, high=100.0, marks=(0.0, 20.0, 40.0, 60.0, 80.0, 100.0), title="Chance in %")
    frame, wide = rows_frame(names, axis, theme, width_px, CHANCE_NOTE, names_share=NAMES)
    data = [
        {"x": tidy(100.0 * p), "x0": 0.0, "y": tidy(row_height(i, wide=wide)), "full": i == 0}
        for i, (_, p) in enumerate(listed)
    ]
    palette, sizes = theme.palette, theme.sizes
    fill = {"condition": {"test": "datum.full", "value": palette.ink}, "value": palette.paper}
    marker = marker_layer(
        frame, "chances", {**place(frame, x="x", y="y"), "stroke": {"value": palette.ink}, "fill": fill}
    )
    marker["mark"]["strokeWidth"] = 0.5 * sizes.curve
    lead = layer(
        "chances", "rule", place(frame, x="x0", x2="x", y="y"), color=palette.line, strokeWidth=sizes.hair
    )
    parts = [
        words_around(frame, ""),
        Part(layers=[lead, marker], data={"chances": data}),
        _words(frame, names, wide),
    ]
    said = "; ".join(f"{label} {chance(p)}, {chance_word(p)}" for label, p in listed)
    return specification(frame, parts, summary=f"What it may be. {said}.")


def recording_chart(checked: Checked, *, theme: Theme, width_px: float) -> Spec | None:
    """The recording's level re its middle with its 95 % band, over that of a good unit; the difference where a good unit was recorded."""
    phone = checked.phone
    if phone is None:
        return None
    inside = (phone.frequency_hz >= 45.0) & (phone.frequency_hz <= 11_000.0)
    frequency, level, u = phone.frequency_hz[inside], _smooth(phone.level_db)[inside], phone.u_db[inside]
    heard = NamedCurve(
        label="this unit", curve=Curve(frequency_hz=frequency, value=level, low=level - SURE * u, high=level + SURE * u), style=1
    )  # fmt: skip
    at, expected = checked.good
    flat = np.zeros(len(at)) if phone.against else expected
    good = NamedCurve(
        label="a good unit",
        curve=Curve(frequency_hz=at, value=flat),
        style=0,
        source="measured" if phone.against else "predicted",
    )
    quantity = (
        "Level re a good unit in dB" if phone.against else "Level re the mean from 315 to 1250 Hz in dB"
    )
    return level_chart(
        [good, heard], theme=theme, width_px=width_px, ratio_db_per_decade=None, range_hz=(40.0, 12_500.0), quantity=quantity,
        band_note="shaded: 95 %, telephone, room and place", most_db=60.0,
    )  # fmt: skip


def _smooth(level_db: FloatArray) -> FloatArray:
    """Over a sixth of an octave: more is not trusted of a telephone."""
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(level_db, 9, mode="nearest"))


def _label(one: CheckResult) -> str:
    assert one.band is not None
    return one.band.label[:1].upper() + one.band.label[1:]


def _position(one: CheckResult, value: float) -> float:
    """A value in half widths of its band from the middle, at most `REACH`."""
    band = one.band
    assert band is not None
    half = band.high - band.value if value >= band.value else band.value - band.low
    return float(np.clip((value - band.value) / max(half, 1e-12), -REACH, REACH))


def _points(frame: Frame, rows: Sequence[CheckResult], wide: bool) -> Part:
    palette, sizes = frame.look.palette, frame.look.sizes
    data = [
        {
            "x": tidy(_position(one, one.evidence.value)), "y": tidy(row_height(i, wide=wide)), "bad": one.outcome == "outside",
            "low": tidy(_position(one, one.evidence.value - SURE * one.evidence.u)),
            "high": tidy(_position(one, one.evidence.value + SURE * one.evidence.u)),
        }
        for i, one in enumerate(rows)
    ]  # fmt: skip
    colour = {"condition": {"test": "datum.bad", "value": palette.accent}, "value": palette.ink}
    fill = {"condition": {"test": "datum.bad", "value": palette.accent}, "value": palette.paper}
    marker = marker_layer(frame, "readings", {**place(frame, x="x", y="y"), "stroke": colour, "fill": fill})
    marker["mark"]["strokeWidth"] = 0.5 * sizes.curve
    line = layer(
        "readings",
        "rule",
        {**place(frame, x="low", x2="high", y="y"), "color": colour},
        strokeWidth=0.8 * sizes.curve,
    )
    return Part(layers=[line, marker], data={"readings": data})


def _words(frame: Frame, names: Sequence[NamedRow], wide: bool) -> Part:
    text = frame.look.sizes.text
    return row_words(frame, names, frame.margins.left - 1.6 * text if wide else 0.7 * frame.width, wide=wide)
