"""Charts of a builder's check: every reading on its band, what may be wrong on one scale of chance, the recording over a good unit's curve."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.builds.checks import Checked
from halfroll.builds.types import CheckResult, Diagnosis
from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.publish.builders_rows import OUTCOMES, chance, chance_word
from halfroll.publish.charts import level_chart
from halfroll.publish.curves import NamedCurve, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, Margins, text_width, wrapped
from halfroll.publish.named_rows import NamedRow, row_height, row_words
from halfroll.publish.parts import Part, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

REACH = 4.0
"""Readings further out, in half widths of their band, are drawn at the edge."""

SURE = 1.96
"""Standard uncertainties of a 95 % interval."""

BAND_NOTE = (
    "shaded: where good units read · line: 95 % of the reading · filled: not good · at the edge: further out"
)
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
    axis = Axis(
        low=-REACH,
        high=REACH,
        marks=tuple(range(-4, 5)),
        title="From the middle of the band; its edges stand at −1 and 1",
    )
    frame, wide = _frame(names, axis, theme, width_px, BAND_NOTE)
    parts = [words_around(frame, ""), _band(frame), _points(frame, rows, wide), _words(frame, names, wide)]
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
    frame, wide = _frame(names, axis, theme, width_px, CHANCE_NOTE)
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


def _frame(
    names: Sequence[NamedRow], axis: Axis, look: Theme, width_px: float, note: str
) -> tuple[Frame, bool]:
    text, small = look.sizes.text, look.sizes.small
    left = min(max(text_width(one.name, text) for one in names), 0.42 * width_px) + 1.6 * text
    right = max(text_width(one.words, text) for one in names) + 1.5 * text
    wide = width_px - left - right > 16.0 * text
    if not wide:
        left = right = 0.9 * text
    notes = wrapped(note, width_px - 1.4 * text, small)
    top, bottom = 1.2 * text, 3.4 * text + LINE_HEIGHT * small * len(notes)
    tall = (1.7 if wide else 2.6) * text * len(names)
    bottom += -(top + tall + bottom) % 1.0
    frame = Frame(
        look=look, x=axis, y=Axis(low=float(len(names)), high=0.0, marks=(), title=""), width=width_px - left - right, height=tall,
        margins=Margins(left=left, right=right, top=top, bottom=bottom), notes=tuple(notes), notes_left=0.7 * text - left,
    )  # fmt: skip
    return frame, wide


def _band(frame: Frame) -> Part:
    """The band of every row, one shaded strip from -1 to 1, and a line in its middle."""
    rows = [{"a": -1.0, "b": 1.0, "m": 0.0, "y": 0.0, "y2": frame.y.low}]
    palette = frame.look.palette
    shade = layer(
        "band", "rect", place(frame, x="a", x2="b", y="y", y2="y2"), color=palette.grid, opacity=0.7
    )
    middle = layer(
        "band",
        "rule",
        place(frame, x="m", y="y", y2="y2"),
        color=palette.line,
        strokeWidth=frame.look.sizes.hair,
    )
    return Part(layers=[shade, middle], data={"band": rows})


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
