"""Conditions and dates as they are written on pages."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from halfroll.core.conditions import Conditions, Space
from halfroll.core.text import format_stated

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
    text = format_stated(conditions.drive_v, "V")
    if conditions.drive_w is not None:
        text += f" ({format_stated(float(f'{conditions.drive_w:.2g}'), 'W')} into the rated impedance)"
    return text


def moment(when: dt.datetime) -> str:
    """A date and time, to the minute."""
    return f"{when:%Y-%m-%d, %H:%M}"


def short(conditions: Conditions) -> str:
    """Conditions on one line."""
    drive = "drive not stated" if conditions.drive_v is None else format_stated(conditions.drive_v, "V")
    return f"{drive}, {format_stated(conditions.distance_m, 'm')}, {space(conditions.space)}"


def together(all_conditions: Sequence[Conditions]) -> str:
    """Conditions of several takes on one line: the range of their drive, every place."""
    drives = [c.drive_v for c in all_conditions if c.drive_v is not None]
    low, high = (
        (format_stated(float(f"{v:.3g}"), "V") for v in (min(drives), max(drives))) if drives else ("", "")
    )
    drive = [] if not drives else [low] if low == high else [f"{low} to {high}"]
    places = [f"{format_stated(c.distance_m, 'm')}, {space(c.space)}" for c in all_conditions]
    return "; ".join([*drive, *dict.fromkeys(places)])
