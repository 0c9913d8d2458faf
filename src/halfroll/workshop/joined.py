"""Responses joined of a unit's takes: worked out from the recipe, kept in the index, counted in the figures.

A joined response is computed, not measured: it depends on its takes and changes with them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from halfroll.core.conditions import Conditions, Space, radius_of_area
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import FigureSettings, Reading, TakeReadings
from halfroll.workshop import derive, paths
from halfroll.workshop.contents import Contents
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import Job, code_of, key_of
from halfroll.workshop.joined_record import JoinedRecord, MouthTable
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.records import RigRecord, TakeRecord, VersionRecord
from halfroll.workshop.runs import add_run, load_run
from halfroll.workshop.stored import Identity, readings_from_json, readings_to_json

if TYPE_CHECKING:
    from halfroll.measure.analysis.response import Response
    from halfroll.measure.joining.join_types import Joined
    from halfroll.measure.joining.near_far import Mouth
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class _Sources:
    """The jobs of a recipe's takes, the far one first, and their version."""

    jobs: tuple[Job, ...]
    version: VersionRecord

    def key(self, record: JoinedRecord) -> str:
        """Changes whenever the joined response may change."""
        recipe = repr((record.near, record.overlap_hz, record.match_level, record.baffle))
        return key_of(code_of("core", "acoustics", "measure"), recipe, str((self.version.effective_area_cm2, self.version.effective_area_u_cm2)),
                      *(job.response_key for job in self.jobs))  # fmt: skip


def compute(workshop: Workshop, unit_id: str, record: JoinedRecord, progress: Progress = silent) -> Joined:
    """Join the takes of a unit by a recipe, saved or not.

    Raises
    ------
    InputError
        A take is missing or cannot be analysed, an area is not known, or the recipe does not fit them.
    """
    from halfroll.measure.joining.join import join

    responses = []
    for done, name in enumerate(record.takes):
        here = part(progress, 0.8 * done / len(record.takes), 0.8 * (done + 1) / len(record.takes))
        responses.append(derive.response(workshop, _take_id(workshop, unit_id, name), here))
    version = workshop.version(paths.version_of(unit_id)).record
    progress(0.8, "joining")
    named = zip(record.near, responses[1:], mouth_names(record), strict=True)
    mouths = [_mouth(table, near, version, name) for table, near, name in named]
    return join(mouths, responses[0], record.settings())


def joined(workshop: Workshop, run_id: str, progress: Progress = silent) -> Joined:
    """The joined response of a saved run, with its report."""
    record: JoinedRecord = load_run(workshop, run_id).record
    return compute(workshop, paths.run_parts(run_id)[0], record, progress)


def response(workshop: Workshop, run_id: str, progress: Progress = silent) -> Response:
    """The joined response of a saved run."""
    return joined(workshop, run_id, progress).response


def save(workshop: Workshop, unit_id: str, name: str, record: JoinedRecord) -> Loaded[JoinedRecord]:
    """Save a recipe as a run, and keep its readings. It is worked out first: what cannot be joined is not saved."""
    found = compute(workshop, unit_id, record)
    loaded: Loaded[JoinedRecord] = add_run(workshop, unit_id, name, record)
    sources = _sources_now(workshop, unit_id, record)
    _keep(workshop, loaded.id, loaded.record, sources, found.response, workshop.settings)
    return loaded


def run_readings(
    workshop: Workshop,
    contents: Contents,
    unit_id: str,
    settings: FigureSettings,
    progress: Progress = silent,
    *,
    known_only: bool = False,
) -> list[TakeReadings]:
    """Readings of all joined responses of a unit; what cannot be joined has none and a verdict that says why.

    They are of the kind ``take``: level, limits and distortion of a joined response are read by the same rules. With
    `known_only` nothing is worked out; runs that are not in the index are left out.
    """
    found = []
    runs = contents.runs_below(unit_id, "joined")
    for done, run_id in enumerate(runs):
        record = contents.runs[run_id]
        assert isinstance(record, JoinedRecord)
        try:
            here = part(progress, done / len(runs), (done + 1) / len(runs))
            reading = _readings_of(workshop, contents, run_id, record, settings, here, known_only=known_only)
        except InputError as fault:
            reading = _unusable(run_id, record, fault)
        if reading is not None:
            found.append(reading)
    return found


def with_joined(
    contents: Contents, takes: Sequence[TakeReadings], runs: Iterable[TakeReadings]
) -> list[TakeReadings]:
    """Takes and joined responses as they count together.

    What a joined response gives, the takes it was joined of no longer give themselves: else the room would count beside
    the near field. What it does not give they keep.
    """
    given: dict[str, tuple[set[str], str]] = {}
    found = list(runs)
    for run in found:
        record = contents.runs.get(run.take_id)
        if not run.usable or not isinstance(record, JoinedRecord):
            continue
        keys = {key for key, reading in run.readings.items() if reading.value is not None}
        for name in record.takes:
            given[f"{run.unit_id}/{name}"] = (keys, run.take_id.rpartition("/")[2])
    return [_without(take, *given.get(take.take_id, (set(), ""))) for take in takes] + found


def without_sources(workshop: Workshop, ids: Sequence[str]) -> list[str]:
    """Ids of takes and joined responses without the takes the joined ones are made of."""
    used: set[str] = set()
    for run_id in filter(is_joined, ids):
        record: JoinedRecord = load_run(workshop, run_id).record
        used |= {f"{paths.run_parts(run_id)[0]}/{name}" for name in record.takes}
    return [id_ for id_ in ids if id_ not in used]


def is_joined(id_: str) -> bool:
    """Whether an id is that of a joined response and not of a take."""
    return id_.count("/") == 4 and id_.split("/")[3] == JoinedRecord.kind


def _without(take: TakeReadings, given: set[str], name: str) -> TakeReadings:
    left = {key: reading for key, reading in take.readings.items() if key not in given}
    if len(left) == len(take.readings):
        return take
    if any(reading.value is not None for reading in left.values()):
        return replace(take, readings=left)
    return replace(take, readings=left, excluded=take.excluded or f"Part of the joined response {name}.")


def _take_id(workshop: Workshop, unit_id: str, name: str) -> str:
    take_id = f"{unit_id}/{name}"
    if not paths.record_path(workshop.folder, take_id).exists():
        raise InputError(f"There is no take {name} of the unit {unit_id}", key="take",
                         remedy="Name takes of the same unit")  # fmt: skip
    return take_id


def mouth_names(record: JoinedRecord) -> list[str]:
    """What the mouths of a recipe are called: ``cone``, ``port``, numbered where there are several."""
    kinds = [mouth.what for mouth in record.near]
    return [
        kind if kinds.count(kind) == 1 else f"{kind} {kinds[: n + 1].count(kind)}"
        for n, kind in enumerate(kinds)
    ]


def _mouth(table: MouthTable, near: Response, version: VersionRecord, name: str) -> Mouth:
    from halfroll.measure.joining.near_far import RADIUS_U, Mouth

    area_cm2 = table.area_cm2 or version.effective_area_cm2
    if area_cm2 is None:
        raise InputError(
            "The area of a cone must be known to carry its near field to a distance", key="area_cm2",
            found="none with the take, none in the version's record", remedy="State the effective piston area of the version",
        )  # fmt: skip
    stated = 0.0 if table.area_cm2 else version.effective_area_u_cm2
    return Mouth(response=near, radius_m=radius_of_area(1e-4 * area_cm2), kind=table.what, count=table.count, name=name,
                 radius_u=stated / area_cm2 / 2.0 if stated else RADIUS_U)  # fmt: skip


def _sources_now(workshop: Workshop, unit_id: str, record: JoinedRecord) -> _Sources:
    version = workshop.version(paths.version_of(unit_id)).record
    jobs = []
    for name in record.takes:
        take = workshop.take(_take_id(workshop, unit_id, name)).record
        jobs.append(
            Job(take_id=f"{unit_id}/{name}", take=take, version=version, rig=workshop.rig(take.rig).record)
        )
    return _Sources(jobs=tuple(jobs), version=version)


def _sources(contents: Contents, unit_id: str, record: JoinedRecord) -> _Sources:
    version = contents.versions.get(paths.version_of(unit_id), VersionRecord())
    jobs = []
    for name in record.takes:
        take = contents.takes.get(f"{unit_id}/{name}")
        if take is None:
            raise contents.faults.get(f"{unit_id}/{name}") or InputError(
                f"The take {name}, of which it was joined, is not there", key="take"
            )
        rig = contents.rigs.get(take.rig, RigRecord())
        jobs.append(Job(take_id=f"{unit_id}/{name}", take=take, version=version, rig=rig))
    return _Sources(jobs=tuple(jobs), version=version)


def _readings_of(
    workshop: Workshop, contents: Contents, run_id: str, record: JoinedRecord, settings: FigureSettings,
    progress: Progress, *, known_only: bool,
) -> TakeReadings | None:  # fmt: skip
    unit_id = paths.run_parts(run_id)[0]
    sources = _sources(contents, unit_id, record)
    key = _readings_key(sources, record, settings)
    kept = workshop.index.readings([key]).get(key)
    if kept is None and known_only:
        return None
    if kept is None:
        found = compute(workshop, unit_id, record, progress)
        kept = _keep(workshop, run_id, record, sources, found.response, settings)
    return readings_from_json(kept, _identity(run_id, record, sources.jobs[0].take))


def _readings_key(sources: _Sources, record: JoinedRecord, settings: FigureSettings) -> str:
    return key_of(sources.key(record), code_of("figures"), repr(settings), str(sources.version.rated_power_w))


def _keep(
    workshop: Workshop, run_id: str, record: JoinedRecord, sources: _Sources, found: Response, settings: FigureSettings
) -> str:  # fmt: skip
    """Read the figures it gives, keep them in the index, and return them as text."""
    from halfroll.figures.readings import take_readings

    far = sources.jobs[0]
    readings = take_readings(
        found, settings, rated_power_w=sources.version.rated_power_w, calibration_dates=far.rig_then.dates,
        **_identity(run_id, record, far.take),
    )  # fmt: skip
    own = {key: _own(reading) for key, reading in readings.readings.items() if reading.value is not None}
    text = readings_to_json(replace(readings, readings=own))
    workshop.index.put_results([
        Result(take=run_id, response_key=sources.key(record),
               readings_key=_readings_key(sources, record, settings), readings=text),
    ])  # fmt: skip
    return text


def _own(reading: Reading) -> Reading:
    """What joining brings is this response's own: two versions in one place do not share it as they share a room."""
    return replace(reading, u_room=0.0, u_fixed=(reading.u_room**2 + reading.u_fixed**2) ** 0.5)


def _identity(run_id: str, record: JoinedRecord, far: TakeRecord | None) -> Identity:
    """A joined response is of the moment and the rig of its far take, whenever it was joined."""
    when, rig = (record.when, "") if far is None else (far.when, far.rig)
    return Identity(take_id=run_id, when=when.isoformat(), rig=rig, excluded=record.leave_out)


def _unusable(run_id: str, record: JoinedRecord, fault: InputError) -> TakeReadings:
    verdict = Verdict(
        code="not-joined", severity=Severity.BAD, text=f"The response could not be joined. {fault}", data=dict(fault.as_dict())
    )  # fmt: skip
    conditions = Conditions(drive_v=None, distance_m=1.0, space=Space.HALF)
    return TakeReadings(
        conditions=conditions, readings={}, verdicts=(verdict,), **_identity(run_id, record, None)
    )
