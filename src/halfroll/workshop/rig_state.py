"""What a rig states, table by table: value, uncertainty, when and how it was calibrated, and whether that is still valid."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from halfroll.core.levels import P_REF_PA
from halfroll.core.text import THIN, format_stated
from halfroll.workshop.rig_record import CurrentTable, RigRecord
from halfroll.workshop.rig_time import TABLES, date_of, due

State = Literal["valid", "due soon", "out of date", "not dated", "not calibrated"]

NAMES = {
    "microphone": "Microphone", "output": "Output", "voltage": "Voltage input", "current": "Current", "latency": "Delay",
}  # fmt: skip

SOON_DAYS = 30
"""So long before its end a calibration is said to be due soon."""


@dataclass(frozen=True, kw_only=True)
class TableState:
    """One table of a rig in words.

    Parameters
    ----------
    table, name
        Key in the record, and what it is called.
    state
        How it stands on the day asked for.
    value
        What it states, such as ``4 Pa at full scale``; empty when not calibrated.
    u_db
        Standard uncertainty (dB); None where it has none in decibels.
    date, until
        When it was calibrated, and the last day on which that counts.
    method
        How.
    details
        (name, words) of what else it states.
    """

    table: str
    name: str
    state: State
    value: str = ""
    u_db: float | None = None
    date: dt.date | None = None
    until: dt.date | None = None
    method: str = ""
    details: tuple[tuple[str, str], ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "table": self.table, "state": self.state, "value": self.value, "u_db": self.u_db, "method": self.method,
            "date": self.date, "valid_until": self.until, "details": dict(self.details),
        }  # fmt: skip


def states(rig: RigRecord, today: dt.date) -> tuple[TableState, ...]:
    """Every table of a rig as it stands on a day."""
    return tuple(_state(rig, table, today) for table in TABLES)


def earlier_states(rig: RigRecord) -> tuple[tuple[TableState, dt.date | None, str], ...]:
    """Calibrations that were replaced: each with the day it was replaced on and the note, newest first."""
    found = []
    for entry in rig.history:
        for table in TABLES:
            if getattr(entry, table) is not None:
                alone = RigRecord.model_validate({table: getattr(entry, table)})
                found.append(
                    (_state(alone, table, entry.replaced or dt.date.min), entry.replaced, entry.note)
                )
    return tuple(found)


def _state(rig: RigRecord, table: str, today: dt.date) -> TableState:
    found = getattr(rig, table)
    if found is None:
        return TableState(table=table, name=NAMES[table], state="not calibrated")
    date, until = date_of(rig, table), due(rig, table)
    method = getattr(found, "method", "")
    return TableState(
        table=table, name=NAMES[table], state=_standing(date, until, today), value=_value(table, found),
        u_db=getattr(found, "u_db", None), date=date, until=until, details=tuple(_details(table, found)),
        method={"direct": "by its scale", "shunt": "shunt", "divider": "divider with a series resistor"}.get(method, method),
    )  # fmt: skip


def _standing(date: dt.date | None, until: dt.date | None, today: dt.date) -> State:
    if date is None:
        return "not dated"
    if until is None or today <= until - dt.timedelta(days=SOON_DAYS):
        return "valid"
    return "due soon" if today <= until else "out of date"


def _value(table: str, found: Any) -> str:
    if table == "microphone":
        level = 20.0 * math.log10(found.pa_per_full_scale / math.sqrt(2.0) / P_REF_PA)
        return f"{_number(found.pa_per_full_scale, 'Pa')} at full scale, a sine of {level:.1f}{THIN}dB"
    if table in ("output", "voltage"):
        return f"{_number(found.v_per_full_scale, 'V')} at full scale"
    if table == "latency":
        return f"{found.samples:.2f} samples, {1e3 * found.samples / found.rate_hz:.2f}{THIN}ms"
    return _current(found)


def _current(found: CurrentTable) -> str:
    scale = "" if found.a_per_full_scale is None else f"{_number(found.a_per_full_scale, 'A')} at full scale"
    ohms = "" if found.resistance_ohm is None else _number(found.resistance_ohm, "ohm")
    if found.method == "divider":
        return f"series resistor {ohms}"
    return ", ".join(filter(None, (scale, ohms and f"shunt {ohms}")))


def _details(table: str, found: Any) -> Iterator[tuple[str, str]]:
    if table == "microphone":
        if found.calibrator_db is not None:
            yield (
                "Calibrator",
                f"{_number(found.calibrator_db, 'dB')}, {_number(found.calibrator_hz or 1000.0, 'Hz')}",
            )
        if found.correction is not None:
            yield "Correction curve", found.correction
        if found.recording is not None:
            yield "Recording of the tone", found.recording
    elif table in ("output", "voltage") and found.at_hz is not None:
        yield "Read at", _number(found.at_hz, "Hz")
    elif table == "current":
        if found.resistance_u_ohm:
            yield "Uncertainty of the resistor", _number(found.resistance_u_ohm, "ohm", digits=2)
        if found.gain_db or found.delay_us:
            yield (
                "Against the voltage channel",
                f"{found.gain_db:+.3f}{THIN}dB, {found.delay_us:+.2f}{THIN}µs",
            )
        if found.voltage_includes_shunt:
            yield "Voltage", "connected before the shunt; its drop is taken off"
        if found.shares_voltage:
            yield "Scale", "from the voltage's: an error of the meter leaves the impedance alone"
    elif table == "latency":
        yield "Sample rate", _number(found.rate_hz, "Hz")
        if found.u_samples:
            yield "Between repeats", f"{found.u_samples:.3f} samples"


def _number(value: float, unit: str, digits: int = 4) -> str:
    return format_stated(float(f"{value:.{digits}g}"), unit)
