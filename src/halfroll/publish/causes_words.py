"""Causes of distortion in words, in tables and for a program to read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_band, format_percent, format_value, join_words
from halfroll.driver.causes import LEAST, ROWS, TOGETHER, Parity
from halfroll.driver.causes_said import SMALL
from halfroll.driver.steady.two_tone import TwoTone
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.causes import VersionCauses

TELLING = 0.1
"""Shares below this are not named in a sentence."""

MEND: dict[tuple[str, Parity], str] = {
    ("bl", "even"): "Centre the winding in the field, or make the field alike on both sides of the gap.",
    ("bl", "odd"): "A longer winding or a taller gap keeps Bl up over more travel; so does less travel.",
    (
        "k",
        "even",
    ): "Make the suspension pull alike both ways: its rest position, the shape of its rolls, spider against surround.",
    ("k", "odd"): "Let the suspension stiffen later: wider or more rolls, thinner walls.",
    (
        "le",
        "even",
    ): "Make the inductance alike over the travel: a copper cap or ring on the pole, a longer pole.",
    ("le", "odd"): "Make the inductance alike over the travel: a copper cap or ring on the pole.",
    (
        "reluctance",
        "even",
    ): "Lower the slope of the inductance: a copper cap or ring on the pole, fewer turns.",
    (
        "reluctance",
        "odd",
    ): "Lower the slope of the inductance: a copper cap or ring on the pole, fewer turns.",
    (
        "le_i",
        "even",
    ): "Keep the current from moving the steel's working point: saturated steel round the gap, or a copper ring.",
    (
        "le_i",
        "odd",
    ): "Keep the current from moving the steel's working point: saturated steel round the gap, or a copper ring.",
}
"""What helps against a cause (common practice, after Klippel, JAES 54, 2006, from memory)."""

ORDERS_OF: dict[Parity, str] = {"even": "2 and 4", "odd": "3 and 5"}

_AT_HZ = (25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 315.0, 500.0, 1000.0)


def cause_sentences(found: VersionCauses) -> tuple[str, ...]:
    """The answer: how much even and odd distortion there is in the band, who makes it, and what would help; and what two tones do together."""
    return (
        *(sentence for parity in ROWS for sentence in _of_orders(found, parity)),
        _of_two_tones(found.two_tone),
    )


def _of_two_tones(found: TwoTone) -> str:
    tones = f"Two tones at once, {format_value(found.low_hz, None, 'Hz')} and {format_value(found.high_hz, None, 'Hz')} at a quarter of its voltage"
    if found.standing != "steady":
        return f"{tones}: no steady state that the model holds for."
    second, third = (format_percent(found.modulation(order)) for order in (2, 3))
    return f"{tones}: modulation distortion {format_percent(found.total)}, of order 2 {second}, of order 3 {third}."


def _of_orders(found: VersionCauses, parity: Parity) -> Iterator[str]:
    causes, band = found.causes, found.band_hz
    size = causes.size_over_band(parity, band)
    if not np.isfinite(size):
        yield f"{parity.capitalize()} orders ({ORDERS_OF[parity]}) over {format_band(band)}: no tone is steady."
        return
    head = f"{parity.capitalize()} orders ({ORDERS_OF[parity]}) are {format_percent(size)} over {format_band(band)}"
    if size < SMALL:
        yield f"{head}: too little to look for causes."
        return
    shares = causes.over_band(parity, band)
    order = np.argsort(-shares[:-1])
    told = [f"{causes.causes[k].symbol} {_whole(shares[k])}" for k in order if abs(shares[k]) >= TELLING]
    if abs(shares[-1]) >= TELLING:
        told.append(f"{TOGETHER} {_whole(shares[-1])}")
    yield f"{head}: {join_words(told)}." if told else f"{head}, of many small causes."
    first = causes.causes[int(order[0])]
    if shares[order[0]] >= 0.5:
        yield MEND[(first.key, parity)]


def _whole(share: float) -> str:
    return f"{100.0 * share:.0f}{THIN}%".replace("-", "\N{MINUS SIGN}")


def cause_rows(found: VersionCauses) -> Rows:
    """At third octaves: distortion, even and odd, and each cause's share of both."""
    causes = found.causes
    even, odd = (np.where(causes.size(parity) >= LEAST, causes.shares(parity), np.nan) for parity in ROWS)
    head = ("Frequency", "distortion", "even", "odd", *(cause.symbol for cause in causes.causes), TOGETHER)
    rows = []
    for hz in _AT_HZ:
        near = int(np.argmin(np.abs(np.log(causes.frequency_hz / hz))))
        rows.append((
            format_value(hz, None, "Hz"),
            *(format_percent(float(size[near])) for size in (causes.thd, causes.size("even"), causes.size("odd"))),
            *(f"{_cell(a)} / {_cell(b)}" for a, b in zip(even[:, near], odd[:, near], strict=True)),
        ))  # fmt: skip
    notes = (
        f"Steady tones of {causes.voltage_v:.3g}{THIN}V: {found.level_w:g}{THIN}W into {found.rated_ohm:g}{THIN}Ω. Distortion re the fundamental; "
        f"shares in % of even / odd orders, – where they are under {100 * LEAST:g}{THIN}%.",
    )  # fmt: skip
    return Rows(head=head, rows=tuple(rows), notes=notes)


def _cell(share: float) -> str:
    return f"{round(100.0 * share)}".replace("-", "\N{MINUS SIGN}") if np.isfinite(share) else "–"


def causes_dict(found: VersionCauses) -> dict[str, Any]:
    """Causes for a program: keys carry units, values that are not known are null."""
    causes = found.causes
    return {
        "voltage_v": causes.voltage_v, "level_w": found.level_w, "rated_impedance_ohm": found.rated_ohm, "band_hz": list(found.band_hz),
        "frequency_hz": _numbers(causes.frequency_hz), "standing": list(causes.standing), "thd_percent": _numbers(100.0 * causes.thd),
        **{parity: _orders(found, parity) for parity in ROWS},
        "causes": [
            {"key": cause.key, "symbol": cause.symbol, "label": cause.words, "thd_without_percent": _numbers(100.0 * without),
             "thd_alone_percent": _numbers(100.0 * alone), "ways": [int(one) for one in ways]}
            for cause, without, alone, ways in zip(causes.causes, causes.thd_without, causes.thd_alone, causes.ways, strict=True)
        ],
        "two_tone": _two_tone_dict(found.two_tone),
        "verdicts": [one.as_dict() for one in found.verdicts],
    }  # fmt: skip


def _two_tone_dict(found: TwoTone) -> dict[str, Any]:
    steady = found.standing == "steady"
    percent = {
        f"order_{order}_percent": 100.0 * found.modulation(order) if steady else None for order in (2, 3)
    }
    return {
        "low_v": found.low_v, "low_hz": found.low_hz, "high_v": found.high_v, "high_hz": found.high_hz, "standing": found.standing,
        "modulation_percent": 100.0 * found.total if steady else None, **percent,
    }  # fmt: skip


def _orders(found: VersionCauses, parity: Parity) -> dict[str, Any]:
    causes = found.causes
    keys = [cause.key for cause in causes.causes] + [TOGETHER]
    size = 100.0 * causes.size_over_band(parity, found.band_hz)
    return {
        "orders": [n for n in (2, 3, 4, 5) if n % 2 == (parity == "odd")],
        "distortion_percent": _numbers(100.0 * causes.size(parity)),
        "band_distortion_percent": float(size) if np.isfinite(size) else None,
        "share_percent": {key: _numbers(100.0 * row) for key, row in zip(keys, causes.shares(parity), strict=True)},
        "band_share_percent": dict(zip(keys, _numbers(100.0 * causes.over_band(parity, found.band_hz)), strict=True)),
    }  # fmt: skip


def _numbers(values: FloatArray) -> list[float | None]:
    return [float(one) if np.isfinite(one) else None for one in values]
