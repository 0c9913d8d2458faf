"""Conditions and dates as they are written on pages."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from halfroll.core.conditions import Conditions, Space
from halfroll.core.text import SYMBOLS, THIN, format_stated, format_value

_SPACES = {
    Space.HALF: "half space",
    Space.FREE: "free field",
    Space.NEAR: "near field",
    Space.CABINET: "in its cabinet",
}


def space(where: Space) -> str:
    """A radiation space in words."""
    return _SPACES[where]


def volts(conditions: Conditions) -> str:
    """Drive as voltage and as power into the rated impedance."""
    if conditions.drive_v is None:
        return "not stated"
    text = _three(conditions.drive_v, "V")
    if conditions.drive_w is not None:
        text += f" ({_three(conditions.drive_w, 'W')} into the rated impedance)"
    return text


def moment(when: dt.datetime) -> str:
    """A date and time, to the minute."""
    return f"{when:%Y-%m-%d, %H:%M}"


def short(conditions: Conditions) -> str:
    """Conditions on one line."""
    drive = "drive not stated" if conditions.drive_v is None else _three(conditions.drive_v, "V")
    return f"{drive}, {format_stated(conditions.distance_m, 'm')}, {space(conditions.space)}"


def together(all_conditions: Sequence[Conditions]) -> str:
    """Conditions of several takes on one line: the range of their drive, every place."""
    drives = [c.drive_v for c in all_conditions if c.drive_v is not None]
    low, high = (_three(v, "V") for v in (min(drives), max(drives))) if drives else ("", "")
    drive = [] if not drives else [low] if low == high else [f"{low} to {high}"]
    places = [f"{format_stated(c.distance_m, 'm')}, {space(c.space)}" for c in all_conditions]
    return "; ".join([*drive, *dict.fromkeys(places)])


def spread(deviation: float, unit: str) -> str:
    """A standard deviation; never 0, for it is only smaller than can be shown."""
    text = format_value(deviation, deviation, unit)
    return (
        text if any(digit in text for digit in "123456789") else f"under 0.01{THIN}{SYMBOLS.get(unit, unit)}"
    )


def free_keys(values: Mapping[str, object]) -> str:
    """Free keys of a record, the unit that stands at a key's end put behind the value: "nozzle 225 °C"."""
    return ", ".join(_setting(key, value) for key, value in values.items())


_UNITS = {"c": "°C", "mm": "mm", "g": "g", "s": "s", "percent": "%", "hz": "Hz"}


def _setting(key: str, value: object) -> str:
    name, _, unit = key.rpartition("_")
    if not name or unit not in _UNITS:
        return f"{key.replace('_', ' ')} {value}"
    number = f"{value:g}" if isinstance(value, int | float) else str(value)
    return f"{name.replace('_', ' ')} {number}{THIN}{_UNITS[unit]}"


def _three(value: float, unit: str) -> str:
    """A measured value that is shown in passing, with three digits."""
    return format_stated(float(f"{value:.3g}"), unit)
