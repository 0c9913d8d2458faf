"""From a workshop to what a take holds above its harmonics, beside its repeats and the version's other units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import count
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import TakeReadings
from halfroll.measure.residues.hum import Hum
from halfroll.measure.residues.residue import Residue
from halfroll.measure.residues.rub import Against, Event, against_others, find_events, sounds_like_rub
from halfroll.workshop import Workshop, derive, paths, read_contents

SAME_DRIVE_DB = 0.5
MOST_OF_A_UNIT = 3
"""Takes of another unit that are looked at; more say nothing new."""

TAKE_SLASHES = 3
"""In the id of a take, driver/version/unit/take."""

RUB_CODES = ("rub", "drive-not-clean", "single-event", "noise-rose")


@dataclass(frozen=True, kw_only=True)
class ResidueReport:
    """What one take holds above its harmonics.

    Parameters
    ----------
    take_id, residue, hum, events
        The take and what was found in it; `residue` is None when it could not be read.
    verdicts
        What the take's own analysis said of it, and what the others add.
    against
        Beside the version's other units; None without any at this drive.
    others
        The takes of other units it was compared with.
    repeats, returns
        How many other takes of this unit at this drive there are, and in how many the noise in step returns.
    calibrated
        Whether the microphone's scale is known.
    """

    take_id: str
    residue: Residue | None
    hum: Hum | None
    events: tuple[Event, ...]
    verdicts: tuple[Verdict, ...]
    against: Against | None = None
    others: tuple[tuple[str, Residue], ...] = ()
    repeats: int = 0
    returns: int = 0
    calibrated: bool = True

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON, keys with units."""
        found: dict[str, Any] = {
            "take": self.take_id,
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
            "events": [event.as_dict() for event in self.events],
            "repeats": self.repeats,
            "returns": self.returns,
            "others": [take_id for take_id, _ in self.others],
        }
        if self.residue is not None:
            found["residue"] = {
                name: list(getattr(self.residue, name))
                for name in (
                    "frequency_hz",
                    "level_db",
                    "floor_db",
                    "noise_db",
                    "regular_db",
                    "in_step",
                    "crest",
                )
            }
        if self.against is not None:
            found["against"] = {
                "frequency_hz": list(self.against.frequency_hz),
                "median_db": list(self.against.median_db),
                "limit_db": list(self.against.limit_db),
            }
        if self.hum is not None:
            found["silence"] = _silence(self.hum, self.calibrated)
        return found


def _silence(hum: Hum, calibrated: bool) -> dict[str, Any]:
    """What the silence holds; pressures only where the microphone's scale is known."""
    return {
        "level_dba": hum.level_dba if calibrated else None,
        "mains_hz": hum.mains_hz,
        "lines": [
            {"frequency_hz": f, "pressure_pa": p if calibrated else None, "mains_multiple": int(n), "added_percent": a, "added_at_hz": at}
            for f, p, n, a, at in zip(
                hum.line_hz, hum.line_pa, hum.multiple, hum.added_percent, hum.added_at_hz, strict=True
            )
        ],
    }  # fmt: skip


def residue_reports(
    workshop: Workshop, wanted: str, progress: Progress = silent
) -> tuple[ResidueReport, ...]:
    """Reports of a take, or of every take of a unit that can be analysed; others are analysed as far as needed.

    Raises
    ------
    InputError
        There is no such take or unit, the unit has no takes, or the take cannot be analysed.
    """
    contents = read_contents(workshop.folder, workshop.index)
    if wanted.count("/") == TAKE_SLASHES:
        workshop.existing(wanted, "take")
        takes = [wanted]
    else:
        workshop.existing(wanted, "unit")
        takes = list(contents.below(wanted))
        if not takes:
            raise InputError(
                f"The unit {wanted} has no takes", remedy="Import one, or measure it on the bench"
            )
    version = paths.version_of(wanted)
    known = derive.readings(
        workshop, contents.below(version), contents=contents, progress=part(progress, 0.0, 0.6)
    )
    asked = [known[take_id] for take_id in takes]
    reports = []
    for done, take in enumerate(asked):
        progress(0.6 + 0.4 * done / len(asked), f"reading {take.take_id}")
        if len(asked) == 1 or "not-analysed" not in {verdict.code for verdict in take.verdicts}:
            reports.append(report_of(workshop, take, list(known.values())))
    return tuple(reports)


def report_of(
    workshop: Workshop, take: TakeReadings, readings: Sequence[TakeReadings], progress: Progress = silent
) -> ResidueReport:
    """The report of a take whose version's takes have these readings.

    The other units count as good, and are compared with, when no noise in step was found in their takes; when all have
    one, all are compared with, and the noise is the design's.
    """
    response = derive.response(workshop, take.take_id, progress)
    residue = response.residue
    own = tuple(v for v in response.verdicts if v.code in RUB_CODES or v.code == "hum-lines")
    if residue is None:
        return ResidueReport(take_id=take.take_id, residue=None, hum=response.hum, events=(), verdicts=own)
    alike = [t for t in readings if t.usable and t.take_id != take.take_id and _same_drive(t, take)]
    repeats = [r for t in alike if t.unit_id == take.unit_id if (r := _residue(workshop, t)) is not None]
    others = _others(workshop, alike, take.unit_id)
    good = [(name, r) for name, r in others if not sounds_like_rub(r)] or others
    against = against_others(residue, [r for _, r in good])
    events = find_events(residue)
    steps = [event for event in events if event.kind == "in step"]
    returns = sum(any(_overlap(event, other) for event in steps for other in find_events(r)) for r in repeats)
    return ResidueReport(
        take_id=take.take_id,
        residue=residue,
        hum=response.hum,
        events=events,
        verdicts=(*own, *_added(against), *_returning(own, returns, len(repeats))),
        against=against,
        others=tuple(good),
        repeats=len(repeats),
        returns=returns,
        calibrated=response.calibrated,
    )


def _residue(workshop: Workshop, take: TakeReadings) -> Residue | None:
    return derive.response(workshop, take.take_id).residue


def _others(workshop: Workshop, alike: Sequence[TakeReadings], unit_id: str) -> list[tuple[str, Residue]]:
    """Residues of the other units' takes, at most `MOST_OF_A_UNIT` of each."""
    found: list[tuple[str, Residue]] = []
    taken: dict[str, int] = {}
    for take in alike:
        if take.unit_id == unit_id or taken.get(take.unit_id, 0) >= MOST_OF_A_UNIT:
            continue
        residue = _residue(workshop, take)
        if residue is not None:
            taken[take.unit_id] = taken.get(take.unit_id, 0) + 1
            found.append((take.take_id, residue))
    return found


def _same_drive(one: TakeReadings, other: TakeReadings) -> bool:
    a, b = one.conditions.drive_v, other.conditions.drive_v
    return a is not None and b is not None and abs(20.0 * np.log10(a / b)) <= SAME_DRIVE_DB


def _overlap(one: Event, other: Event) -> bool:
    return other.kind == "in step" and one.from_hz <= other.to_hz and other.from_hz <= one.to_hz


def _added(against: Against | None) -> tuple[Verdict, ...]:
    return () if against is None or against.verdict is None else (against.verdict,)


def _returning(own: Sequence[Verdict], returns: int, repeats: int) -> tuple[Verdict, ...]:
    """Whether the noise returns in the unit's other takes at this drive; that tells the driver from its surroundings."""
    if not repeats or not any(verdict.code == "rub" for verdict in own):
        return ()
    if returns:
        whole = {1: "the other take", 2: "both other takes"}.get(repeats, f"all {repeats} other takes")
        some = whole if returns == repeats else f"{returns} of {count(repeats, 'other take')}"
        text = f"The noise in step returns in {some} of this unit at this drive: it belongs to the driver."
        remedy = ""
    else:
        text = (
            f"The noise in step does not return in {count(repeats, 'other take')} of this unit at this drive."
        )
        remedy = "It may have come from outside, or come and go; repeat the take."
    return (
        Verdict(
            code="rub-returns",
            severity=Severity.NOTE,
            text=text,
            remedy=remedy,
            data={"returns": returns, "repeats": repeats},
        ),
    )
