"""Calibrations of a rig: each is first worked out as a proposal with its budget, then kept, the one before going to the history.

A proposal changes nothing. `keep` writes it whole or not at all, and refuses one that speaks against itself unless asked
to keep it anyway.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.rig.budget import Contribution
from halfroll.workshop import paths
from halfroll.workshop.faults import check
from halfroll.workshop.fields import Table
from halfroll.workshop.files import digest, make_folder, write_whole
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.rig_record import EarlierTable, RigRecord
from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A calibration that was worked out and not kept yet.

    Parameters
    ----------
    rig
        Name of the rig.
    table
        Which table of the record it makes.
    values
        What the table is to say.
    contributions, verdicts
        Its budget, and what must be said.
    facts
        What was found on the way, keys carry units.
    files
        Files to be kept beside the record, by name.
    amends
        Whether it completes the present calibration instead of following it: nothing goes to the history.
    """

    rig: str
    table: str
    values: Table
    contributions: tuple[Contribution, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    facts: dict[str, Any] = field(default_factory=dict)
    files: Mapping[str, bytes] = field(default_factory=dict)
    amends: bool = False

    @property
    def good(self) -> bool:
        """Whether nothing speaks against keeping it."""
        return worst(self.verdicts) < Severity.BAD

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        values = {
            key: value for key, value in self.values.model_dump(mode="json").items() if value is not None
        }
        return {
            "rig": self.rig, "table": self.table, "values": values, "facts": self.facts,
            "budget": [c.as_dict() for c in self.contributions],
            "verdicts": [v.as_dict() for v in self.verdicts],
        }  # fmt: skip


def table_of(model: type[RigRecord], name: str, values: Mapping[str, Any]) -> Any:
    """A table of a rig from values, checked as the rig's file is; unset values are left out."""
    given = {key: value for key, value in values.items() if value is not None}
    return getattr(check(model, {name: given}, file="the calibration"), name)


def keep(
    workshop: Workshop, proposal: Proposal, *, anyway: bool = False, note: str = ""
) -> Loaded[RigRecord]:
    """Put a proposal into the rig's record.

    The calibration it follows goes to the history with its date. One older than the present calibration goes to the
    history itself. `note` says why the one before was replaced.

    Raises
    ------
    InputError
        It speaks against itself (and not `anyway`), or there is no such rig.
    ConflictError
        The record was changed meanwhile.
    """
    if not proposal.good and not anyway:
        reason = next(v for v in proposal.verdicts if v.severity >= Severity.BAD)
        raise InputError(f"The calibration was not kept. {reason.text}", remedy=reason.remedy or None)
    loaded = workshop.rig(proposal.rig)
    folder = loaded.path.parent
    make_folder(folder, durable=workshop.durable)
    for name, data in proposal.files.items():
        write_whole(folder / name, data, durable=workshop.durable)
    return workshop.save(loaded, changed(loaded.record, proposal, note))


def changed(rig: RigRecord, proposal: Proposal, note: str = "") -> RigRecord:
    """The record with a proposal in it."""
    name, new = proposal.table, proposal.values
    old = getattr(rig, name)
    if old is None or proposal.amends:
        return rig.changed(**{name: new})
    if old.date is None and rig.date is not None:
        old = old.changed(date=rig.date)
    date = getattr(new, "date", None)
    if date is not None and old.date is not None and date < old.date:
        entry = EarlierTable.model_validate({"replaced": old.date, "note": note, name: new})
        return rig.changed(history=_sorted((*rig.history, entry)))
    earlier = EarlierTable.model_validate({"replaced": date, "note": note, name: old})
    return rig.changed(**{name: new}, history=_sorted((earlier, *rig.history)))


def _sorted(history: tuple[EarlierTable, ...]) -> tuple[EarlierTable, ...]:
    """The latest first; what is not dated last, in the order it stood in."""
    return tuple(sorted(history, key=lambda entry: entry.replaced or dt.date.min, reverse=True))


def file_name(rig: str, what: str, data: bytes, suffix: str) -> str:
    """The name of a file beside a rig's record; other content has another name, so that nothing is written over."""
    return f"{paths.check_name(rig, 'rig')}-{what}-{digest(data)[:8]}{suffix}"
