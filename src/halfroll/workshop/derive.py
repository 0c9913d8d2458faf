"""From stored takes to responses and readings, each worked out once and kept in the index."""

from __future__ import annotations

import contextlib
import itertools
import os
from collections.abc import Collection, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.workshop import paths
from halfroll.workshop.contents import Contents, read_contents, rig_fault, stamp_of
from halfroll.workshop.files import digest_of_file, reporting
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import Job, analyse_take, unusable, work
from halfroll.workshop.packing import pack, unpack
from halfroll.workshop.processes import deaf_processes
from halfroll.workshop.records import RigRecord, VersionRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.stored import readings_from_json
from halfroll.workshop.takes import check_hash

if TYPE_CHECKING:
    from halfroll.measure.analysis.response import Response

FEWEST_FOR_POOL = 6
"""From this many takes to analyse on, starting processes pays (each starts in about a second, a take costs about 0.3 s)."""


@dataclass(frozen=True, kw_only=True)
class Standing:
    """What is known of some takes without any work: `readings` by take, and the takes that wait to be analysed."""

    readings: dict[str, TakeReadings]
    pending: dict[str, Job]


def response(workshop: Workshop, take_id: str, progress: Progress = silent) -> Response:
    """The response of a take, from the index or analysed now.

    Raises
    ------
    InputError
        A record or the recording is wrong, missing, or was changed since it was imported.
    """
    take = workshop.take(take_id).record
    version = workshop.version(paths.version_of(take_id)).record
    job = Job(take_id=take_id, take=take, version=version, rig=workshop.rig(take.rig).record)
    with AudioCheck(workshop) as check:
        check(job)
    packed = workshop.index.response(job.response_key)
    known = None if packed is None else unpack(packed)
    if known is not None:
        return known
    found = analyse_take(workshop.folder, job, progress)
    workshop.index.put_results([Result(take=take_id, response_key=job.response_key, response=pack(found))])
    return found


def readings(
    workshop: Workshop,
    take_ids: Iterable[str] | None = None,
    *,
    settings: FigureSettings | None = None,
    contents: Contents | None = None,
    progress: Progress = silent,
    workers: int | None = None,
) -> dict[str, TakeReadings]:
    """Readings of some takes (None: of all), by take; what is not in the index is analysed now.

    `contents` are the workshop's records where the caller has read them already. A take that cannot be analysed has no readings and a verdict that says why. Many takes are shared out to
    `workers` processes (None: as many as the machine has cores). When `progress` cancels, what is done is kept.
    """
    contents = contents or read_contents(workshop.folder, workshop.index)
    wanted = list(contents.takes) if take_ids is None else list(take_ids)
    for take_id in wanted:
        if take_id not in contents.takes:
            raise contents.faults.get(take_id) or InputError(
                f"There is no take {take_id}", file=str(workshop.folder)
            )
    chosen = settings or workshop.settings
    known = standing(workshop, contents, wanted, settings=chosen, progress=part(progress, 0.0, 0.05))
    found = dict(known.readings)
    for job, result in _work_all(workshop, known.pending, chosen, part(progress, 0.05, 1.0), workers):
        workshop.index.put_results([result])
        reading = readings_from_json(result.readings or "", job.identity)
        assert reading is not None  # it was made a moment ago
        found[job.take_id] = reading
    return {take_id: found[take_id] for take_id in wanted}


def standing(
    workshop: Workshop,
    contents: Contents,
    take_ids: Iterable[str] | None = None,
    *,
    settings: FigureSettings | None = None,
    figures: Collection[str] | None = None,
    progress: Progress = silent,
) -> Standing:
    """What the index knows of some takes (None: of all). Analyses nothing.

    `figures` are the keys of the readings that are wanted, all when left out.
    """
    chosen = settings or workshop.settings
    found: dict[str, TakeReadings] = {}
    jobs: dict[str, Job] = {}
    wanted = list(contents.takes) if take_ids is None else list(take_ids)
    with AudioCheck(workshop) as check:
        for done, take_id in enumerate(wanted):
            job, fault = _job(contents, take_id)
            try:
                if fault is not None:
                    raise fault
                if check(job):
                    progress(done / len(wanted), f"checking the recording of {take_id}")
                jobs[take_id] = job
            except InputError as found_fault:
                found[take_id] = unusable(job, found_fault)
    keys = {take_id: job.readings_key(chosen) for take_id, job in jobs.items()}
    stored = workshop.index.readings(keys.values())
    for take_id, job in jobs.items():
        text = stored.get(keys[take_id])
        reading = None if text is None else readings_from_json(text, job.identity, figures)
        if reading is not None:
            found[take_id] = reading
    return Standing(readings=found, pending={take: job for take, job in jobs.items() if take not in found})


def _job(contents: Contents, take_id: str) -> tuple[Job, InputError | None]:
    """The job of a take, and the fault in a record it needs."""
    take = contents.takes[take_id]
    version_id = paths.version_of(take_id)
    version, rig = contents.versions.get(version_id), contents.rigs.get(take.rig)
    fault = None
    if version is None:
        fault = contents.faults[version_id]
    elif rig is None:
        fault = contents.faults.get(rig_fault(take.rig)) or InputError(
            f"There is no rig {take.rig}", key="rig", allowed=list(contents.rigs) or "there is no rig yet"
        )
    return Job(take_id=take_id, take=take, version=version or VersionRecord(), rig=rig or RigRecord()), fault


class AudioCheck:
    """Checks that the audio files of takes are those that were imported; a file that did not change is not read."""

    def __init__(self, workshop: Workshop) -> None:
        self._folder = str(workshop.folder)
        self._index = workshop.index
        self._known = workshop.index.hashes()
        self._fresh: dict[str, tuple[str, str]] = {}

    def __enter__(self) -> AudioCheck:
        return self

    def __exit__(self, *_: object) -> None:
        self._index.put_hashes(self._fresh)

    def __call__(self, job: Job) -> bool:
        """Whether a file had to be read; `InputError` when one is missing or another."""
        read = False
        for table in job.take.audio:
            name = f"{job.take_id}/{table.file}"
            stamp = self._stamp(name)
            if self._known.get(name) != (stamp, table.sha256):
                path = self._path(name)
                check_hash(path, digest_of_file(path), table.sha256)
                self._fresh[name] = (stamp, table.sha256)
                read = True
        return read

    def _stamp(self, name: str) -> str:
        driver, version, unit, take, file = name.split("/")
        path = f"{self._folder}/drivers/{driver}/{version}/units/{unit}/takes/{take}/{file}"
        try:
            return stamp_of(os.stat(path))  # noqa: PTH116  # done for every recording whenever a workshop is opened
        except OSError:
            with reporting(self._path(name), "read"):
                raise

    def _path(self, name: str) -> Path:
        take_id, _, file = name.rpartition("/")
        return paths.folder_of(Path(self._folder), take_id) / file


def _work_all(
    workshop: Workshop,
    jobs: dict[str, Job],
    settings: FigureSettings,
    progress: Progress,
    workers: int | None,
) -> Iterator[tuple[Job, Result]]:
    """Work out what is missing, here or in several processes, in the order in which it gets done."""
    count = min(len(jobs), workers or _cores())
    left = dict(jobs)
    known = workshop.index.known_responses(job.response_key for job in jobs.values())
    heavy = {take_id: job for take_id, job in jobs.items() if job.response_key not in known}
    share = len(heavy) / len(jobs) if jobs else 0.0
    if count > 1 and len(heavy) >= FEWEST_FOR_POOL:
        with contextlib.suppress(BrokenProcessPool):  # processes cannot start here: go on without
            for job, result in _work_in_pool(workshop, heavy, settings, part(progress, 0.0, share), count):
                del left[job.take_id]
                yield job, result
    rest = part(progress, 1.0 - len(left) / len(jobs), 1.0) if jobs else progress
    for done, job in enumerate(left.values()):
        here = part(rest, done / len(left), (done + 1) / len(left))
        here(0.0, f"analysing {job.take_id}")
        yield job, work(workshop.folder, job, settings, workshop.index.response(job.response_key), here)


def _work_in_pool(
    workshop: Workshop, jobs: dict[str, Job], settings: FigureSettings, progress: Progress, workers: int
) -> Iterator[tuple[Job, Result]]:
    """Takes that must be analysed, in a pool of spawned processes; when `progress` cancels, takes not yet begun are dropped."""
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
    try:
        waiting: dict[Future[Result], Job] = {}
        queue = iter(jobs.values())
        done = 0
        while True:
            with deaf_processes():
                for job in itertools.islice(queue, 2 * workers - len(waiting)):
                    waiting[pool.submit(work, workshop.folder, job, settings, None)] = job
            if not waiting:
                return
            progress(done / len(jobs), f"analysing, {done} of {len(jobs)} takes done")
            finished, _ = wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED)
            for future in finished:
                done += 1
                yield waiting.pop(future), future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
