"""A predicted driver in words: rows of tables for terminal, page and sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping

from halfroll.core.text import THIN, format_percent, format_value, format_with_u, join_words
from halfroll.driver.predicted.types import Assumption, PredictedDriver, Worked
from halfroll.driver.predicted.uncertainty import MonteCarlo
from halfroll.publish.motor_figures import COVERAGE
from halfroll.publish.parameter_rows import Rows

SHOWN: dict[str, tuple[str, str, float]] = {
    "fs_hz": ("fs", "Hz", 1.0), "qms": ("Qms", "", 1.0), "qes": ("Qes", "", 1.0), "qts": ("Qts", "", 1.0), "vas_m3": ("Vas", "l", 1e3),
    "re_ohm": ("Re at 20 °C", "ohm", 1.0), "le_h": ("Le above the eddy currents", "mH", 1e3), "le_1khz_h": ("Inductance at 1 kHz", "mH", 1e3),
    "bl_n_per_a": ("Bl", "N/A", 1.0), "mms_kg": ("Mms", "g", 1e3), "cms_m_per_n": ("Cms", "mm/N", 1e3), "kms_n_per_m": ("Kms", "N/mm", 1e-3),
    "rms_ns_per_m": ("Rms", "N·s/m", 1.0), "sd_m2": ("Sd", "cm²", 1e4), "eta0": ("η0", "%", 100.0),
    "level_1w_db": ("Level at 1 W into Re, 1 m, half space", "dB", 1.0), "level_2v83_db": ("Level at 2.83 V, 1 m, half space", "dB", 1.0),
    "creep": ("Creep λ", "", 1.0), "bl_asymmetry": ("Asymmetry of Bl", "%", 100.0), "kms_asymmetry": ("Asymmetry of Kms", "%", 100.0),
}  # fmt: skip
"""Words, unit and its size in SI, in the order in which they are shown."""

TOLD = 3
"""So many of the largest shares are told beside a value (own choice)."""

LEAST_SHARE = 0.05
"""Part of the variance from which a share is told (own choice)."""


def value_rows(found: PredictedDriver, drawn: MonteCarlo | None = None, *, measured: bool = False) -> Rows:
    """Every value with half its 95 % interval, where it comes from, and what makes it unsure; with drawn drivers their interval too.

    `measured`: the driver is a measured one.
    """
    by_key = {one.key: one for one in found.values}
    labels = {one.key: one.label for one in found.assumptions}
    rows = []
    for key, (words, unit, factor) in SHOWN.items():
        one = by_key[key]
        row = [
            words,
            "–"
            if not_known(key, one, found)
            else format_with_u(factor * one.value, COVERAGE * factor * one.u if one.u else None, unit),
            one.where,
            share_words(one, labels),
        ]
        if drawn is not None:
            low, high = drawn.interval(key)
            row.insert(2, "–" if not_known(key, one, found) else _interval(factor * low, factor * high, unit))
        rows.append(tuple(row))
    head = ["Value", "Measured" if measured else "Predicted", "From", "Unsure by"]
    if drawn is not None:
        head.insert(2, f"{len(drawn.samples)} drawn drivers")
    notes = (
        ["After ±: half the 95 % interval. In brackets: share of the variance."]
        if found.assumptions
        else ["No uncertainty was worked out."]
    )
    if drawn is not None:
        notes.append("Drawn drivers: the interval that holds 95 % of them.")
        if drawn.refused:
            notes.append(f"{drawn.refused} drawings made no driver and were left out.")
    return Rows(head=tuple(head), rows=tuple(rows), notes=tuple(notes))


def not_known(key: str, one: Worked, found: PredictedDriver) -> bool:
    """Whether a value is one that nothing is known of: an asymmetry of a curve that was taken as constant."""
    curve = {"bl_asymmetry": found.model.Bl, "kms_asymmetry": found.model.K}.get(key)
    return curve is not None and not one.u and not any(curve[1:])


def _interval(low: float, high: float, unit: str) -> str:
    """Both ends to the second digit of the half-width, the unit once."""
    half = 0.5 * (high - low)
    first, last = (format_value(end, half if half > 0.0 else None, unit) for end in (low, high))
    number, _, its_unit = first.partition(THIN)
    return f"{number if its_unit == last.partition(THIN)[2] else first} to {last}"


def share_words(one: Worked, labels: Mapping[str, str]) -> str:
    """The assumptions that make most of a value's uncertainty: ``thickness of the surround (52 %)``."""
    if not one.u > 0.0:
        return ""
    told = [(key, (share / one.u) ** 2) for key, share in one.shares[:TOLD]]
    return join_words(
        [f"{labels.get(key, key)} ({format_percent(part)})" for key, part in told if part >= LEAST_SHARE]
    )


def assumption_rows(found: PredictedDriver) -> Rows:
    """Everything that was assumed: value with half its 95 % interval, and where it comes from."""
    rows = tuple((one.label, assumed(one), one.source, one.key) for one in found.assumptions)
    return Rows(
        head=("Assumed", "Value", "From", "Key"),
        rows=rows,
        notes=("After ±: half the 95 % interval.",) if rows else (),
    )


_UNITS: dict[str, tuple[str, float]] = {"m": ("mm", 1e3), "kg": ("g", 1e3), "m²": ("cm²", 1e4), "Pa": ("MPa", 1e-6), "H": ("mH", 1e3),
                                        "m³": ("l", 1e3), "m/N": ("mm/N", 1e3)}  # fmt: skip


def assumed(one: Assumption) -> str:
    """Its value in the unit people use, with half its 95 % interval."""
    if one.unit == "" and one.value == 1.0:
        return f"±{THIN}{format_percent(COVERAGE * one.u)}"
    unit, factor = _UNITS.get(one.unit, (one.unit, 1.0))
    return format_with_u(factor * one.value, COVERAGE * factor * one.u, unit)


def loss_rows(found: PredictedDriver) -> Rows:
    """What Rms is made of."""
    whole = math.fsum(value for _, value in found.rms_parts)
    rows = tuple(
        (name, f"{value:.3g}{THIN}N·s/m", format_percent(value / whole)) for name, value in found.rms_parts
    )
    return Rows(head=("Rms", "at resonance", "Share"), rows=rows)
