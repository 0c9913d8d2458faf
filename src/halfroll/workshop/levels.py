"""Series of tones and logs of power in the workshop, and distortion against level from whatever a unit has."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.core.conditions import Conditions, Space, radius_of_area
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.tones import tones_readings
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.measure.analysis.distortion import ThdReference
from halfroll.measure.heat.power_log import PowerResult, judge
from halfroll.measure.recording import Role
from halfroll.measure.stepped.level_series import LevelSeries, series_of_tones
from halfroll.measure.stepped.tone_analysis import analyse_tones
from halfroll.measure.stepped.tone_results import ToneResults
from halfroll.workshop import derive, paths
from halfroll.workshop.contents import Contents
from halfroll.workshop.files import digest_of_file
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.power_record import PowerRecord, PowerStepTable
from halfroll.workshop.records import RigRecord, VersionRecord
from halfroll.workshop.rig_time import rig_at
from halfroll.workshop.runs import add_run, load_run, run_ids
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import NewAudio, check_hash, read_recording
from halfroll.workshop.tones_record import TonesRecord, ToneTable

if TYPE_CHECKING:
    from halfroll.measure.analysis.response import Response
    from halfroll.measure.stepped.tone_run import ToneRun

AUDIO = "tones.flac"


@dataclass(frozen=True, kw_only=True)
class ToneSetup:
    """What a person states of a series of tones."""

    rig: str
    distance_m: float
    space: Space
    limit_v: float
    temperature_c: float | None = None
    note: str = ""


def add_tones(
    workshop: Workshop,
    unit_id: str,
    name: str,
    run: ToneRun,
    roles: Sequence[Role],
    setup: ToneSetup,
    when: dt.datetime,
) -> Loaded[TonesRecord]:
    """Keep a series of tones that was measured: its recording and its schedule, together or not at all.

    Raises
    ------
    InputError
        There is no such unit or rig, or there is such a run already.
    """
    workshop.rig(setup.rig)
    schedule = run.schedule
    record = TonesRecord(
        when=when,
        note=setup.note,
        rig=setup.rig,
        distance_m=setup.distance_m,
        space=setup.space,
        temperature_c=setup.temperature_c,
        limit_v=setup.limit_v,
        rate_hz=schedule.rate_hz,
        silence=schedule.silence,
        ended=" ".join(verdict.text for verdict in run.verdicts),
        tones=tuple(ToneTable.of(tone) for tone in schedule.tones),
    )
    audio = NewAudio.from_samples(AUDIO, run.samples, schedule.rate_hz, roles)
    return add_run(workshop, unit_id, name, record, audio=[audio])


def tone_results(workshop: Workshop, run_id: str) -> ToneResults:
    """A stored series of tones analysed, from the index or from its recording and schedule.

    Raises
    ------
    InputError
        There is no such run, or its record or recording is wrong.
    """
    record = load_run(workshop, run_id).record
    if not isinstance(record, TonesRecord):
        raise InputError("This run is no series of tones", found=run_id)
    rig = workshop.rig(record.rig).record
    version = workshop.version(paths.version_of(run_id)).record
    folder = paths.run_folder(workshop.folder, run_id)
    key = _key(folder, record, rig, version)
    packed = workshop.index.response(key)
    known = None if packed is None else unpack_value(packed)
    if isinstance(known, ToneResults):
        return known
    recording = read_recording(folder, record, rig)
    found = analyse_tones(recording, record.schedule(), conditions_of_tones(record, version))
    workshop.index.put_results([Result(take=run_id, response_key=key, response=pack(found))])
    return found


def _key(folder: Path, record: TonesRecord, rig: RigRecord, version: VersionRecord) -> str:
    """Changes whenever the results may change; the recording is checked against its hash on the way."""
    for table in record.audio:
        check_hash(folder / table.file, digest_of_file(folder / table.file), table.sha256)
    said = record.model_dump_json(exclude={"note", "leave_out", "ended"})
    stated = f"{version.rated_impedance_ohm} {version.effective_area_cm2}"
    code = (code_of("core", "acoustics", "measure"), code_of("workshop"))
    return key_of(*code, said, stated, rig_at(rig, record.when, record.roles).key)


def conditions_of_tones(record: TonesRecord, version: VersionRecord) -> Conditions:
    """Conditions of a series of tones; every tone has its own drive."""
    area_cm2 = version.effective_area_cm2
    return Conditions(
        drive_v=None,
        distance_m=record.distance_m,
        space=record.space,
        rated_impedance_ohm=version.rated_impedance_ohm,
        radius_m=None if area_cm2 is None else radius_of_area(area_cm2 * 1e-4),
        temperature_c=record.temperature_c,
    )


def run_readings(
    workshop: Workshop,
    contents: Contents,
    unit_id: str,
    settings: FigureSettings,
    progress: Progress = silent,
) -> list[TakeReadings]:
    """Readings of the series of tones of a unit, for figures and comparisons."""
    runs = contents.runs_below(unit_id, "tones")
    found = []
    for done, run_id in enumerate(runs):
        progress(done / len(runs), f"reading the tones {run_id}")
        record = contents.runs[run_id]
        assert isinstance(record, TonesRecord)
        found.append(_reading(workshop, contents, run_id, record, settings))
    return found


def _reading(
    workshop: Workshop, contents: Contents, run_id: str, record: TonesRecord, settings: FigureSettings
) -> TakeReadings:
    version = contents.versions.get(paths.version_of(run_id)) or VersionRecord()
    rig = contents.rigs.get(record.rig)
    blank = TakeReadings(
        take_id=run_id,
        when=record.when.isoformat(),
        rig=record.rig,
        conditions=conditions_of_tones(record, version),
        readings={},
        calibration_dates=("", "", "") if rig is None else rig_at(rig, record.when, record.roles).dates,
        excluded=record.leave_out,
        kind="tones",
    )
    try:
        results = tone_results(workshop, run_id)
        series = series_of_tones(results, settings.thd_reference, origin=[run_id])
    except InputError as fault:
        verdict = Verdict(code="not-analysed", severity=Severity.BAD, text=str(fault))
        return replace(blank, verdicts=(verdict,))
    return replace(
        blank,
        readings=tones_readings(series, settings),
        verdicts=results.verdicts,
        calibrated=results.calibrated,
        microphone_u_db=results.microphone_u_db,
        voltage_u_db=results.voltage_u_db,
    )


@dataclass(frozen=True, kw_only=True)
class UnitLevels:
    """Distortion against level of a unit from each of its sources, by a name for it, and why others gave none."""

    unit_id: str
    series: dict[str, LevelSeries]
    missing: dict[str, str]


SWEEPS = "sweeps"


def unit_levels(
    workshop: Workshop, unit_id: str, *, reference: ThdReference | None = None, progress: Progress = silent
) -> UnitLevels:
    """Distortion against level from every series of tones of a unit (by run name) and from its sweeps together.

    Runs and takes that are left out or unusable do not count; a source that gives nothing says why in `missing`.

    Raises
    ------
    InputError
        There is no such unit.
    """
    from halfroll.measure.stepped.level_takes import series_of_takes

    workshop.existing(unit_id, "unit")
    chosen = reference or workshop.settings.thd_reference
    series: dict[str, LevelSeries] = {}
    missing: dict[str, str] = {}
    for run_id in run_ids(workshop, unit_id, "tones"):
        name = run_id.rpartition("/")[2]
        try:
            left_out = load_run(workshop, run_id).record.leave_out
            if left_out:
                missing[name] = f"Left out: {left_out}"
                continue
            series[name] = series_of_tones(tone_results(workshop, run_id), chosen, origin=[run_id])
        except InputError as fault:
            missing[name] = str(fault)
    try:
        series[SWEEPS] = series_of_takes(_takes(workshop, unit_id, part(progress, 0.2, 1.0)), chosen)
    except InputError as fault:
        missing[SWEEPS] = str(fault)
    return UnitLevels(unit_id=unit_id, series=series, missing=missing)


def _takes(workshop: Workshop, unit_id: str, progress: Progress) -> dict[str, Response]:
    """Responses of the takes of a unit that count, those of the conditions most of them share."""
    take_ids = workshop.take_ids(unit_id)
    readings = derive.readings(workshop, take_ids, progress=part(progress, 0.0, 0.7))
    good = [take_id for take_id in take_ids if readings[take_id].usable]
    found = {}
    for done, take_id in enumerate(good):
        found[take_id] = derive.response(workshop, take_id, part(progress, 0.7 + 0.3 * done / len(good), 1.0))
    places = [_place(response) for response in found.values()]
    if not places:
        return {}
    usual = max(set(places), key=places.count)
    return {take_id: response for take_id, response in found.items() if _place(response) == usual}


def _place(response: Response) -> tuple[str, float]:
    return str(response.conditions.space), float(f"{response.conditions.distance_m:.2g}")


def start_power_log(workshop: Workshop, unit_id: str, name: str, record: PowerRecord) -> Loaded[PowerRecord]:
    """A new log of power handling."""
    return add_run(workshop, unit_id, name, record)


def add_power_step(
    workshop: Workshop, run_id: str, step: PowerStepTable, **changes: Any
) -> Loaded[PowerRecord]:
    """Add a step to a log, and change what it says of limits or signal; judged first, so that a slip is refused.

    Raises
    ------
    InputError
        There is no such log, or the readings cannot be those of a coil.
    """
    loaded: Loaded[PowerRecord] = load_run(workshop, run_id)
    record = loaded.record.changed(steps=(*loaded.record.steps, step), **changes)
    judge([step.step()], record.limits(), record.metal)
    return workshop.save(loaded, record)


def power_result(record: PowerRecord) -> PowerResult:
    """A log judged."""
    return judge([table.step() for table in record.steps], record.limits(), record.metal)
