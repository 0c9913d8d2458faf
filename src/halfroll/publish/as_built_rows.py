"""A unit as built in rows: what was read of it, and its values as predicted, as built and as measured."""

from __future__ import annotations

from typing import Any

from halfroll.builds.guide.side_by_side import SideBySide, Value
from halfroll.core.text import format_value, format_with_u
from halfroll.publish.on_bands import SURE
from halfroll.publish.parameter_rows import Rows

NO_CURVE = "Measured: no impedance curve of this unit alone is there yet."
FREE = "All in free air; after ± half of the 95 % interval. Measured by the unit's impedance curve, which the values as built do not use."


def value_rows(shown: SideBySide) -> Rows:
    """The values, one a line."""
    rows = tuple(
        (one.label, _told(one.predicted, one.unit), _told(one.built, one.unit), _told(one.measured, one.unit))
        for one in shown.lines
    )
    notes = (FREE,) if any(one.measured for one in shown.lines) else (FREE, NO_CURVE)
    return Rows(head=("In free air", "Predicted", "As built", "Measured"), rows=rows, notes=notes)


def reading_rows(shown: SideBySide) -> Rows:
    """What was read, what was expected, and by how much it moved resonance, resistance and mass."""
    rows = tuple(
        (one.label, _told((one.value, one.u), one.unit), _told((one.expected, one.expected_u), one.unit), f"{one.pull:+.1f}".replace("-", "\u2212"),
         format_value(one.moved["fs_hz"], 0.5, "Hz", sign=True), format_value(1e3 * one.moved["mms_kg"], 0.05, "g", sign=True))
        for one in shown.found.readings
    )  # fmt: skip
    return Rows(
        head=("Reading", "Read", "Expected", "Off by (u)", "Moves fs by", "Moves Mms by"),
        rows=rows,
        notes=tuple(f"Not used: {one}." for one in shown.found.unused),
    )


def as_dict(shown: SideBySide) -> dict[str, Any]:
    """The same as plain values for JSON."""
    found = shown.found
    return {
        "unit": found.unit_id,
        "values": {
            one.key: {"label": one.label, "unit": one.unit, "predicted": _plain(one.predicted), "as_built": _plain(one.built), "measured": _plain(one.measured)}
            for one in shown.lines
        },
        "readings": [
            {"key": one.key, "label": one.label, "unit": one.unit, "value": one.value, "u": one.u, "expected": one.expected, "expected_u": one.expected_u,
             "off_sd": one.pull, "moved": one.moved}
            for one in found.readings
        ],
        "not_used": list(found.unused),
        "chi_squared": found.chi_squared,
        "verdicts": [one.as_dict() for one in found.verdicts],
    }  # fmt: skip


def _told(value: Value | None, unit: str) -> str:
    return "–" if value is None else format_with_u(value[0], SURE * value[1], unit)


def _plain(value: Value | None) -> dict[str, float] | None:
    return None if value is None else {"value": value[0], "u": value[1]}
