"""A driver's limits in words, in tables and for a program to read."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_band, format_value, format_with_u, join_words
from halfroll.driver.limits.types import LimitCurve, Lowest, MaximumLevel, PowerCompression
from halfroll.publish.motor_figures import COVERAGE
from halfroll.publish.parameter_rows import Rows

SHORT_WORDS = {"heat": "heat", "travel": "travel", "distortion": "dist.", "model": "model"}
_AT_HZ = (31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 315.0, 500.0, 1000.0)
_ENDLESS = None
SPREAD = "After ±: half the 95 % interval, from what was assumed."


def time_words(seconds: float) -> str:
    """How long, in words."""
    if math.isinf(seconds):
        return "for ever"
    if seconds == 60.0:
        return "for a minute"
    return f"for {seconds:g}{THIN}s"


def lowest_words(lowest: Lowest) -> str:
    """What a lowest limit is called."""
    return "the lowest limit" if lowest.seconds == 0.0 else f"lowest {time_words(lowest.seconds)}"


def acting_runs(found: MaximumLevel, lowest: Lowest) -> Iterator[tuple[float, float, str]]:
    """Stretches of frequency (Hz) in which one limit acts, and its key; ends lie halfway between the frequencies that were searched."""
    f, keys = found.frequency_hz, lowest.acting
    between = np.sqrt(f[1:] * f[:-1])
    start = 0
    for i in range(1, f.size + 1):
        if i < f.size and keys[i] == keys[start]:
            continue
        if keys[start]:
            yield (
                float(f[0] if start == 0 else between[start - 1]),
                float(f[-1] if i == f.size else between[i - 1]),
                keys[start],
            )
        start = i


def limit_sentences(found: MaximumLevel) -> tuple[str, ...]:
    """The answer in a few sentences: how loud, what limits it where, and how far the cone may move by which rule."""
    return (*_how_loud(found), *_what_acts(found), *_how_far(found))


def _how_loud(found: MaximumLevel) -> Iterator[str]:
    main = found.lowest[0]
    at = [hz for hz in (50.0, 100.0, 1000.0) if found.frequency_hz[0] <= hz <= found.frequency_hz[-1]]
    said = [f"{_level(found, main, hz)} at {hz:g}{THIN}Hz" for hz in at if _level(found, main, hz)]
    if said:
        held = "" if main.seconds == 0.0 else ", held for ever,"
        yield f"Steady tones{held} reach {join_words(said)} (1{THIN}m, half space)."


def _what_acts(found: MaximumLevel) -> Iterator[str]:
    parts = [
        f"{found.curve(key).label} {_band_words(low, high)}"
        for low, high, key in acting_runs(found, found.lowest[0])
    ]
    if parts:
        yield f"What limits: {join_words(parts)}."


def _how_far(found: MaximumLevel) -> Iterator[str]:
    said = [
        f"{one.label} {_ways(one.low_m, one.high_m)}"
        for one in found.travels
        if math.isfinite(one.low_m) or math.isfinite(one.high_m)
    ]
    if said:
        yield f"Travel: {'; '.join(said)}."


def _ways(low_m: float, high_m: float) -> str:
    inwards = "" if math.isinf(low_m) else f"{-1e3 * low_m:.2g}{THIN}mm inwards"
    outwards = "" if math.isinf(high_m) else f"{1e3 * high_m:.2g}{THIN}mm outwards"
    return join_words([one for one in (inwards, outwards) if one])


def _band_words(low: float, high: float) -> str:
    """A band whose ends are known to a sixth of an octave: two digits."""
    return f"from {format_band((float(f'{low:.2g}'), float(f'{high:.2g}')))}"


def _level(found: MaximumLevel, lowest: Lowest, hz: float) -> str:
    value, u = _at(found.frequency_hz, lowest.level_db, hz), _at(found.frequency_hz, lowest.u_db, hz)
    return "" if math.isnan(value) else format_with_u(value, COVERAGE * u or None, "dB")


def limit_rows(found: MaximumLevel) -> Rows:
    """Levels at third octaves by every limit, the lowest, and what acts."""
    main = found.lowest[0]
    shown = [one for one in found.curves if one.counts and one.kind != "model"]
    head = ("Frequency", "lowest", "limited by", *(one.label for one in shown))
    inside = [hz for hz in _AT_HZ if found.frequency_hz[0] <= hz <= found.frequency_hz[-1]]
    rows = []
    for hz in inside:
        near = int(np.argmin(np.abs(np.log(found.frequency_hz / hz))))
        acting = main.acting[near]
        rows.append((
            format_value(hz, None, "Hz"), _level(found, main, hz) or "–", found.curve(acting).label if acting else "–",
            *(_cell(found.frequency_hz, one, hz) for one in shown),
        ))  # fmt: skip
    return Rows(
        head=head,
        rows=tuple(rows),
        notes=(
            f"Levels of steady tones in dB at 1{THIN}m, half space; – where a limit is not met first. {SPREAD}",
        ),
    )


def _cell(f: FloatArray, one: LimitCurve, hz: float) -> str:
    value = _at(f, one.level_db, hz)
    return "–" if math.isnan(value) else f"{value:.1f}"


def _at(f: FloatArray, value: FloatArray, hz: float) -> float:
    return float(np.interp(math.log(hz), np.log(f), value))


def compression_rows(found: PowerCompression) -> Rows:
    """Power, coil and level lost after each time, and how long until something gives way."""
    head = (
        "Power",
        *(f"lost {time_words(float(t))}" for t in found.seconds),
        "coil in the end",
        "too hot after",
    )
    rows = []
    for i, power in enumerate(found.power_w):
        until = (
            "never"
            if math.isinf(found.limit_s[i])
            else f"{duration(float(found.limit_s[i]))}: {found.limit[i].part}"
        )
        losses = [
            format_with_u(
                float(found.loss_db[t, i]), COVERAGE * float(found.u_db[t, i]) or None, "dB", digits=1
            )
            for t in range(found.seconds.size)
        ]
        rows.append(
            (format_value(float(power), None, "W"), *losses, f"{found.coil_c[-1, i]:.0f}{THIN}°C", until)
        )
    return Rows(
        head=head, rows=tuple(rows), notes=("After ±: half the 95 % interval, from the ways of the heat.",)
    )


def duration(seconds: float) -> str:
    """A time as people say it."""
    for size, unit in ((3600.0, "h"), (60.0, "min")):
        if seconds >= 2.0 * size:
            return f"{seconds / size:.2g}{THIN}{unit}"
    return f"{seconds:.2g}{THIN}s"


def limits_dict(found: MaximumLevel) -> dict[str, Any]:
    """Limits for a program: keys carry units, unknown values are null; `seconds` null means for ever."""
    return {
        "frequency_hz": _numbers(found.frequency_hz),
        "usable_hz": found.usable_hz,
        "lowest": [
            {"seconds": _seconds(one.seconds), "level_db": _numbers(one.level_db), "level_u_db": _numbers(one.u_db),
             "voltage_v": _numbers(one.voltage_v), "acting": [key or None for key in one.acting]}
            for one in found.lowest
        ],
        "limits": [
            {"key": one.key, "label": one.label, "kind": one.kind, "counts": one.counts, "level_db": _numbers(one.level_db),
             "voltage_v": _numbers(one.voltage_v), "x_high_mm": _numbers(1e3 * one.x_high_m), "x_low_mm": _numbers(1e3 * one.x_low_m),
             **({} if one.seconds is None else {"seconds": _seconds(one.seconds)})}
            for one in found.curves
        ],
        "travel": [
            {"key": one.key, "label": one.label, "low_mm": _number(1e3 * one.low_m), "high_mm": _number(1e3 * one.high_m)} for one in found.travels
        ],
        "left_out": list(found.left_out),
        "verdicts": [one.as_dict() for one in found.verdicts],
    }  # fmt: skip


def compression_dict(found: PowerCompression) -> dict[str, Any]:
    """Power compression for a program; `seconds` null means for ever, `limit_s` null never."""
    return {
        "band_hz": list(found.band_hz), "power_w": _numbers(found.power_w), "voltage_v": _numbers(found.voltage_v),
        "seconds": [_seconds(float(t)) for t in found.seconds], "coil_c": [_numbers(row) for row in found.coil_c],
        "loss_db": [_numbers(row) for row in found.loss_db], "loss_u_db": [_numbers(row) for row in found.u_db],
        "limit_s": _numbers(found.limit_s), "limit": [one.part for one in found.limit],
        "frequency_hz": _numbers(found.frequency_hz), "over_frequency_db": [_numbers(row) for row in found.over_frequency_db],
    }  # fmt: skip


def _seconds(seconds: float) -> float | None:
    return seconds if math.isfinite(seconds) and seconds > 0.0 else _ENDLESS


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _numbers(values: FloatArray) -> list[float | None]:
    return [_number(float(one)) for one in values]
