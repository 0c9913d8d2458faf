"""Bringing an impedance into a workshop: a table, a recording of voltage and current, or a take that holds both."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.impedances.impedance_checks import checked
from halfroll.measure.recording import Role
from halfroll.workshop import paths
from halfroll.workshop.audio import SUFFIXES
from halfroll.workshop.faults import check
from halfroll.workshop.fields import FORMAT
from halfroll.workshop.files import read_whole, reporting
from halfroll.workshop.impedance_record import ImpedanceRecord
from halfroll.workshop.paths import slug
from halfroll.workshop.records import SweepTable
from halfroll.workshop.runs import add_run, free_name
from halfroll.workshop.store import Workshop
from halfroll.workshop.sweep_file import sweep_beside
from halfroll.workshop.takes import NewAudio

ELECTRICAL_ROLES = (Role.VOLTAGE, Role.CURRENT)
"""What the channels of a recording hold when nobody says otherwise."""


@dataclass(frozen=True, kw_only=True)
class ImportedImpedance:
    """A run that was made, and its curve with what is said of it."""

    run_id: str
    record: ImpedanceRecord
    curve: ImpedanceCurve


def import_impedance(
    workshop: Workshop,
    unit_id: str,
    source: Path | None,
    stated: Mapping[str, Any],
    *,
    roles: Sequence[Role] | None = None,
    shown: str | None = None,
    name: str = "",
    when: dt.datetime | None = None,
    progress: Progress = silent,
) -> ImportedImpedance:
    """A new impedance run of a unit. What cannot be an impedance is refused before anything is written.

    Parameters
    ----------
    source
        A table, or a WAV or FLAC file of voltage and current; None when `stated` names a take.
    stated
        Keys of `ImpedanceRecord` that a person gave: mounting, added_mass_g, volume_l, rig, take ...
    roles
        What the channels of a recording hold; voltage and current without.
    shown
        The name a person knows the file by, where `source` is a temporary copy.
    name
        Of the run; without, made of what hung on the cone or stood behind it.
    when
        When it was measured; without, the time at which the file was last written, or that of the take.

    Raises
    ------
    InputError
        The record, the file or the unit is wrong.
    """
    workshop.existing(unit_id, "unit")
    method = _method(source, stated)
    moment = when or _moment(workshop, unit_id, source, stated)
    given = {key: value for key, value in stated.items() if value is not None}
    if method == "recording" and "sweep" not in given:
        assert source is not None
        beside = sweep_beside(source.parent) if shown is None else None
        given["sweep"] = (beside or SweepTable()).model_dump()
    record = check(
        ImpedanceRecord, {"format": FORMAT, "when": moment, "method": method, **given}, file="the impedance"
    )
    called = shown or (source.name if source is not None else record.take)
    audio, files, curve = _read(workshop, unit_id, source, called, record, roles, progress)
    version = workshop.version(paths.version_of(unit_id)).record
    curve = checked(curve, rated_ohm=version.rated_impedance_ohm, re_ohm=workshop.unit(unit_id).record.re_ohm)
    made = free_name(workshop, unit_id, "impedance", slug(name) or default_name(record, moment))
    loaded = add_run(workshop, unit_id, made, record, audio=audio, files=files)
    return ImportedImpedance(run_id=loaded.id, record=loaded.record, curve=curve)


def default_name(record: ImpedanceRecord, when: dt.datetime) -> str:
    """A name that says what was measured: "2026-05-23-3-g"."""
    what = "alone"
    if record.added_mass_g is not None:
        what = f"{record.added_mass_g:g}-g"
    elif record.volume_l is not None:
        what = f"box-{record.volume_l:g}-l"
    return slug(f"{when:%Y-%m-%d}-{what}")


def _method(source: Path | None, stated: Mapping[str, Any]) -> str:
    if source is None:
        if not stated.get("take"):
            raise InputError(
                "An impedance needs a file or a take", allowed="a table, a recording, or the name of a take"
            )
        return "take"
    if stated.get("take"):
        raise InputError("An impedance read from a take takes no file beside it", found=source.name)
    return "recording" if source.suffix.lower() in SUFFIXES else "table"


def _moment(workshop: Workshop, unit_id: str, source: Path | None, stated: Mapping[str, Any]) -> dt.datetime:
    if source is None:
        return workshop.take(f"{unit_id}/{stated['take']}").record.when
    with reporting(source, "read"):
        return dt.datetime.fromtimestamp(round(source.stat().st_mtime)).astimezone()


def _read(
    workshop: Workshop,
    unit_id: str,
    source: Path | None,
    called: str,
    record: ImpedanceRecord,
    roles: Sequence[Role] | None,
    progress: Progress,
) -> tuple[list[NewAudio], dict[str, bytes], ImpedanceCurve]:
    """What is to be kept of the source, and its curve."""
    from halfroll.workshop.impedance_curves import curve_of_take, scale_u_of
    from halfroll.workshop.impedance_file import read_impedance

    if record.method == "take":
        return [], {}, curve_of_take(workshop, unit_id, record)
    assert source is not None
    if record.method == "table":
        data = read_whole(source)
        file = f"{slug(Path(called).stem) or 'impedance'}{source.suffix.lower() or '.csv'}"
        return [], {file: data}, read_impedance(data, called, scale_u=scale_u_of(record))
    return _recording(workshop, source, called, record, roles, progress)


def _recording(
    workshop: Workshop,
    source: Path,
    called: str,
    record: ImpedanceRecord,
    roles: Sequence[Role] | None,
    progress: Progress,
) -> tuple[list[NewAudio], dict[str, bytes], ImpedanceCurve]:
    from halfroll.measure.impedances.impedance_sweep import impedance_of_recording
    from halfroll.workshop.audio import read_audio
    from halfroll.workshop.takes import recording_of

    new = NewAudio.from_file(source, roles or ELECTRICAL_ROLES, name=called)
    audio = read_audio(source)
    rig = workshop.rig(record.rig).record
    recording = recording_of(audio.samples, audio.rate_hz, new.roles, rig, record.when, workshop.folder)
    sweep = (record.sweep or SweepTable()).sweep()
    curve = impedance_of_recording(recording, sweep, source=f"recording on {record.rig}", progress=progress)
    return [new], {}, curve
