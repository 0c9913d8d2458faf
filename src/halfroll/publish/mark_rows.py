"""What stands behind a mark in words: facts, and the takes as a table."""

from __future__ import annotations

from typing import Any

from halfroll.core.text import THIN, count, format_band, format_stated, format_value, format_with_u
from halfroll.figures.rules import LIMIT_TEXT
from halfroll.publish.marks import MarkRecord
from halfroll.publish.parameter_rows import Rows

_SOURCES = {
    "measured": "measured",
    "predicted": "predicted from its design",
    "published": "printed by others",
}
_CONDITIONS = {
    "distance_m": ("distance", "m"), "drive_v": ("drive", "V"), "drive_w": ("into the rated impedance", "W"),
    "temperature_c": ("air", "degC"), "rated_impedance_ohm": ("rated impedance", "ohm"),
}  # fmt: skip
_SHORT = 12
"""Digits of a hash that are shown to a person; the files hold them all."""


def value_text(record: MarkRecord) -> str:
    """The number as it was printed."""
    sign = {"upper": f"≤{THIN}", "lower": f"≥{THIN}"}.get(record.figure["bound"] or "", "")
    unit, at = str(record.figure["unit"]), record.figure["at_hz"]
    half = None if sign else record.expanded
    place = "" if at is None or unit == "Hz" else f" at {format_value(float(at), None, 'Hz')}"
    return sign + format_with_u(record.value, half, unit) + place


def mark_facts(record: MarkRecord) -> list[tuple[str, str]]:
    """Name and value of everything but the takes, in reading order."""
    figure, basis = record.figure, record.basis
    facts = [
        ("Mark", record.shown),
        ("Figure", f"{record.label} of {record.version_id}"),
        ("Value", value_text(record)),
        ("Known by", _known(record)),
        ("Rule", f"{figure['rule']}." if figure["rule"] else "as it was printed"),
        ("Settings", settings_text(record)),
        ("Conditions", conditions_text(figure.get("conditions") or {})),
    ]
    if record.u is not None:
        calibration = format_value(float(figure["u_calibration"]), None, figure["unit"])
        facts.append(("Standard uncertainty", f"{format_value(record.u, record.u, figure['unit'])}, of it the rig {calibration}"))  # fmt: skip
    if basis.get("published"):
        facts.append(("Printed in", str(basis["published"])))
    if basis.get("design_sha256"):
        facts.append(("Design", f"SHA-256 {basis['design_sha256'][:_SHORT]}…" + (f", in the cabinet {basis['cabinet']}" if basis["cabinet"] else "")))  # fmt: skip
        facts.append(("Assumptions", _assumptions(record)))
    facts.append(("Typed by hand", _typed(basis)))
    facts.append(("First worked out by", f"halfroll {record.noted.get('program', '')}".strip()))
    return [(name, value) for name, value in facts if value]


def take_rows(record: MarkRecord) -> Rows:
    """Takes and runs with the start of their hashes."""
    rows = tuple(
        (
            take.id,
            take.rig or "–",
            take.calibration[:_SHORT] or "–",
            take.record_sha256[:_SHORT] or "computed",
            ", ".join(f"{file} {sha256[:_SHORT]}" for file, sha256 in take.audio) or "–",
        )
        for take in record.takes
    )
    return Rows(head=("Take", "Rig", "Calibrations", "Record", "Files"), rows=rows,
                notes=("Hashes are SHA-256, the first 12 digits.",) if rows else ())  # fmt: skip


def settings_text(record: MarkRecord) -> str:
    """How figures were read, on one line."""
    settings = record.figure_settings
    band = format_band(settings.sensitivity_band_hz)
    return (
        f"at {format_stated(settings.level_w, 'W')} into the rated impedance; sensitivity over {band}, distortion over "
        f"{format_band(settings.distortion_band_hz)}; limits {LIMIT_TEXT[settings.limit_rule].format(sensitivity_band=band)}; THD over the "
        f"{'total pressure' if settings.thd_reference == 'total' else 'fundamental'}"
    )


def conditions_text(conditions: dict[str, Any]) -> str:
    """Conditions of the takes together, on one line."""
    said = [str(conditions["space"])] if conditions.get("space") else []
    for key, (word, unit) in _CONDITIONS.items():
        value = conditions.get(key)
        if value is None:
            continue
        low, high = (value[0], value[-1]) if isinstance(value, list) else (value, value)
        text = format_value(float(low), None, unit)
        said.append(f"{word} {text if low == high else f'{text} to {format_value(float(high), None, unit)}'}")
    return ", ".join(said)


def _known(record: MarkRecord) -> str:
    figure = record.figure
    words = _SOURCES[record.source]
    if not figure["n_takes"]:
        return words
    noun = "run" if record.takes and record.takes[0].id.count("/") == 4 else "take"
    return f"{words}, {count(int(figure['n_units']), 'unit')}, {count(int(figure['n_takes']), noun)}; spread: {figure['spread']}"


def _typed(basis: dict[str, Any]) -> str:
    """What a parameter rests on besides its runs."""
    area = basis.get("effective_area_cm2")
    said = [f"effective area {format_stated(area[0], 'cm²')}"] if area and area[0] is not None else []
    for unit, values in basis.get("units", {}).items():
        told = [
            f"{word} {format_stated(values[key], unit_)}"
            for key, word, unit_ in (("re_ohm", "Re", "ohm"), ("moving_mass_g", "moving mass", "g"))
            if values.get(key) is not None
        ]
        said += [f"{unit}: {', '.join(told)}"] if told else []
    return "; ".join(said)


def _assumptions(record: MarkRecord) -> str:
    told = record.basis.get("assumptions", [])
    largest = ", ".join(
        f"{key} {format_value(float(share), None, record.figure['unit'], sign=True)}"
        for key, share in told[:4]
    )
    more = f" and {len(told) - 4} more" if len(told) > 4 else ""
    return f"{largest}{more}, for one standard uncertainty each" if told else "none"
