"""The rig as it was when a take was made: which calibration counts for it, and what must be said about that.

A take uses, channel by channel, the latest calibration not later than the take; when all are later, the earliest of them, and
that is said. A calibration made later never changes what an older take says.
"""

from __future__ import annotations

import datetime as dt
import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.recording import Role
from halfroll.measure.rig.current import CurrentWay
from halfroll.workshop.rig_record import CalibrationTable, RigRecord

CHANNELS = ("microphone", "voltage", "current")
"""Tables of a rig that a take depends on."""

TABLES = ("microphone", "output", "voltage", "current", "latency")
"""Tables of a rig that are calibrated, in the order of the signal's path back from what is heard."""

_SCALES = {"microphone": "pa_per_full_scale", "voltage": "v_per_full_scale", "current": "a_per_full_scale"}
_NEEDS = {
    "microphone": {Role.MICROPHONE}, "voltage": {Role.VOLTAGE, Role.SOURCE}, "current": {Role.CURRENT, Role.SOURCE},
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class RigAt:
    """A rig at a moment: `record` holds the calibrations that count then and no history; `verdicts` what is said of them."""

    record: RigRecord
    verdicts: tuple[Verdict, ...] = ()

    @functools.cached_property
    def key(self) -> str:
        """All that a result can depend on, as text."""
        said = self.record.model_dump_json(include={*CHANNELS, "drive_u_db"})
        return "\n".join([said, *self.dates, *(verdict.text for verdict in self.verdicts)])

    @property
    def dates(self) -> tuple[str, str, str]:
        """Dates of the calibrations of microphone, voltage and current; empty where not dated."""
        microphone, voltage, current = (_date_text(self.record, channel) for channel in CHANNELS)
        return microphone, voltage, current


def date_of(rig: RigRecord, table: str) -> dt.date | None:
    """When a table of a rig was calibrated: its own date, else the rig's."""
    found = getattr(rig, table)
    return None if found is None else found.date or rig.date


def due(rig: RigRecord, table: str) -> dt.date | None:
    """The last day on which a calibration counts as current; None when it is not dated or has no end."""
    found, date = getattr(rig, table), date_of(rig, table)
    if date is None or not isinstance(found, CalibrationTable):
        return None
    try:
        return date + dt.timedelta(days=found.valid_days)
    except OverflowError:  # beyond the year 9999
        return dt.date.max


def out_of_date(rig: RigRecord, on: dt.date, tables: Sequence[str] = TABLES) -> list[str]:
    """The tables of a rig whose calibration has run out by a day."""
    return [table for table in tables if (end := due(rig, table)) is not None and on > end]


def rig_at(rig: RigRecord, when: dt.datetime, roles: Sequence[Role]) -> RigAt:
    """The rig as a take of a moment with channels of these roles uses it."""
    return _rig_at(rig, when.date(), tuple(roles))


@functools.lru_cache(maxsize=1024)
def _rig_at(rig: RigRecord, day: dt.date, roles: tuple[Role, ...]) -> RigAt:
    chosen: dict[str, Any] = {table: _at(rig, table, day) for table in TABLES}
    record = rig.changed(**chosen, history=())
    used = [table for table in CHANNELS if chosen[table] is not None and _NEEDS[table] & set(roles)]
    verdicts = [
        _out_of_date(record, used, day),
        _undated(record, used),
        _made_later(record, used, day),
        _moved_since(rig, record, used, day),
        _source_unused(record, roles),
    ]
    return RigAt(record=record, verdicts=tuple(v for v in verdicts if v is not None))


def current_way(rig: RigRecord) -> CurrentWay:
    """How the rig knows the current, for the measure room."""
    table = rig.current
    if table is None:
        return CurrentWay()
    return CurrentWay(
        method=table.method, resistance_ohm=table.resistance_ohm, u_db=table.u_db, gain_db=table.gain_db,
        gain_u_db=table.gain_u_db, delay_s=1e-6 * table.delay_us, shares_voltage=table.shares_voltage,
        voltage_includes_shunt=table.voltage_includes_shunt,
    )  # fmt: skip


def earlier(rig: RigRecord, table: str) -> list[Any]:
    """The calibrations of a table that were replaced, newest first."""
    found = [getattr(entry, table) for entry in rig.history]
    return sorted((t for t in found if t is not None), key=lambda t: t.date or dt.date.min, reverse=True)


def _at(rig: RigRecord, table: str, day: dt.date) -> Any:
    """The calibration of a table that counts on a day. An undated current one counts only when nothing dated does."""
    now = getattr(rig, table)
    if now is not None and now.date is None and rig.date is not None:
        now = now.changed(date=rig.date)
    every = [t for t in (now, *earlier(rig, table)) if t is not None]
    dated = [t for t in every if t.date is not None]
    before = [t for t in dated if t.date <= day]
    if before:
        return max(before, key=lambda t: t.date)  # of one day the present one: max keeps the first
    undated = [t for t in every if t.date is None]
    if undated:
        return undated[0]
    return min(dated, key=lambda t: t.date) if dated else None


def _date_text(rig: RigRecord, table: str) -> str:
    date = date_of(rig, table)
    return "" if date is None else date.isoformat()


def _out_of_date(rig: RigRecord, used: Sequence[str], day: dt.date) -> Verdict | None:
    late = out_of_date(rig, day, used)
    if not late:
        return None
    oldest = min(late, key=lambda table: date_of(rig, table) or dt.date.max)
    date = date_of(rig, oldest)
    assert date is not None
    age = (day - date).days
    text = (
        f"The rig was out of date: {join_words(late)} last calibrated {date}, {age} days before the take "
        f"({getattr(rig, oldest).valid_days} days are stated as valid)."
    )
    return Verdict(code="rig-out-of-date", severity=Severity.CAUTION, text=text,
                   remedy="Calibrate the rig; its state at the time of this take stays unknown.",
                   data={"tables": late, "date": date.isoformat(), "age_days": age})  # fmt: skip


def _undated(rig: RigRecord, used: Sequence[str]) -> Verdict | None:
    without = [table for table in used if date_of(rig, table) is None]
    if not without:
        return None
    text = f"The calibration of {join_words(without)} is not dated, so whether it was current cannot be told."
    return Verdict(code="rig-undated", severity=Severity.NOTE, text=text,
                   remedy="Add its date to the rig.", data={"tables": without})  # fmt: skip


def _made_later(rig: RigRecord, used: Sequence[str], day: dt.date) -> Verdict | None:
    """The calibration in use is later than the take: nothing is known of the rig before it."""
    later = [table for table in used if (date := date_of(rig, table)) is not None and date > day]
    if not later:
        return None
    dates = join_words(sorted({str(date_of(rig, table)) for table in later}))
    text = (
        f"The rig was changed after the take: the calibration of {join_words(later)} is of {dates}, the take of {day}. "
        "No earlier one is known."
    )
    return Verdict(code="rig-changed-after", severity=Severity.CAUTION, text=text,
                   remedy="Check that gains and microphone were the same, or enter the calibration of that time.",
                   data={"tables": later})  # fmt: skip


def _moved_since(rig: RigRecord, at: RigRecord, used: Sequence[str], day: dt.date) -> Verdict | None:
    """A later calibration that says something else; the take keeps its own."""
    moved = {}
    for table in used:
        now, then, date = getattr(rig, table), getattr(at, table), date_of(rig, table)
        new, old = (getattr(t, _SCALES[table]) for t in (now, then)) if now is not None else (None, None)
        if date is None or date <= day or not new or not old:
            continue
        step = 20.0 * math.log10(new / old)
        if abs(step) > 2.0 * math.hypot(now.u_db, then.u_db) + 0.1 and date_of(at, table) != date:
            moved[table] = step
    if not moved:
        return None
    steps = join_words([f"{table} {step:+.1f} dB" for table, step in moved.items()])
    text = f"The rig was calibrated anew after the take and says something else now: {steps}. The take keeps its own."
    return Verdict(code="rig-changed-after", severity=Severity.NOTE, text=text,
                   remedy="If nothing was changed on purpose, something drifts: repeat a take of a known unit.",
                   data={f"{table}_db": step for table, step in moved.items()})  # fmt: skip


def _source_unused(rig: RigRecord, roles: Sequence[Role]) -> Verdict | None:
    if Role.SOURCE not in roles or (rig.current is not None and rig.current.method == "divider"):
        return None
    return Verdict(
        code="source-without-resistor", severity=Severity.NOTE,
        text="The voltage before the series resistor was recorded, but the rig does not state the resistor.",
        remedy="Calibrate the rig's current as a divider with its resistor; the impedance follows.",
    )  # fmt: skip
