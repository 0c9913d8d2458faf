"""What has to be worked out for a take, and under which key the result is kept."""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.workshop.index import Result
from halfroll.workshop.packing import pack, unpack
from halfroll.workshop.paths import folder_of
from halfroll.workshop.records import RigRecord, TakeRecord, VersionRecord
from halfroll.workshop.rig_time import RigAt, rig_at
from halfroll.workshop.stored import Identity, readings_to_json
from halfroll.workshop.takes import conditions_of, read_recording

if TYPE_CHECKING:
    from halfroll.measure.analysis.analyse import AnalysisSettings
    from halfroll.measure.analysis.response import Response


@dataclass(frozen=True, kw_only=True)
class Job:
    """A take with everything its result depends on but the samples."""

    take_id: str
    take: TakeRecord
    version: VersionRecord
    rig: RigRecord

    @functools.cached_property
    def rig_then(self) -> RigAt:
        """The rig as it was when the take was made, and what is said of that."""
        return rig_at(self.rig, self.take.when, self.take.roles)

    @functools.cached_property
    def response_key(self) -> str:
        """Changes whenever the response may change: recording, what is said of it, or the code that analyses."""
        frame = _text(
            self.take.sweep.sweep(),
            self.take.gate_ms,
            conditions_of(self.take, self.version),
            self.rig_then.key,
        )
        recordings = [f"{audio.sha256} {','.join(audio.roles)}" for audio in self.take.audio]
        return key_of(code_of("core", "acoustics", "measure"), frame, *recordings)

    def readings_key(self, settings: FigureSettings) -> str:
        """Changes whenever the readings may change."""
        return key_of(self.response_key, code_of("figures"), _text(settings), str(self.version.rated_power_w))

    @property
    def identity(self) -> Identity:
        """What the record says of the take itself."""
        when = self.take.when.isoformat()
        return Identity(take_id=self.take_id, when=when, rig=self.take.rig, excluded=self.take.leave_out)


def key_of(*parts: str) -> str:
    """A key that changes when one of its parts does."""
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


@functools.lru_cache(maxsize=1024)
def _text(*values: Hashable) -> str:
    """Value objects as text; most takes of a version share theirs."""
    return repr(values)


@functools.cache
def code_of(*rooms: str) -> str:
    """A hash of the source of some rooms: results of other code are not taken for results of this."""
    total = hashlib.sha256()
    for room in rooms:
        for source in _sources(resources.files(f"halfroll.{room}")):
            total.update(source.read_bytes())
    return total.hexdigest()


def _sources(folder: Traversable) -> Iterator[Traversable]:
    """The modules of a room and of the folders in it, always in the same order."""
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if entry.is_dir() and entry.name != "__pycache__":
            yield from _sources(entry)
        elif entry.name.endswith(".py"):
            yield entry


def analysis_settings(take: TakeRecord) -> AnalysisSettings:
    """The settings a take's record asks for."""
    from halfroll.measure.analysis.analyse import AnalysisSettings

    gate = take.gate_ms
    return AnalysisSettings(gate=gate if isinstance(gate, str) else gate / 1e3)


def analyse_take(folder: Path, job: Job, progress: Progress = silent) -> Response:
    """Read and analyse a take of the workshop in `folder`."""
    from halfroll.measure.analysis.analyse import analyse

    recording = read_recording(folder_of(folder, job.take_id), job.take, job.rig)
    conditions = conditions_of(job.take, job.version)
    return analyse(recording, job.take.sweep.sweep(), conditions, analysis_settings(job.take), progress)


def work(
    folder: Path, job: Job, settings: FigureSettings, packed: bytes | None, progress: Progress = silent
) -> Result:
    """Response (unless it is there, `packed`) and readings of one take. Runs in a process of its own, too.

    A recording that cannot be analysed gives readings that say so, for it stays in the list of takes.
    """
    from halfroll.figures.readings import take_readings

    response = None if packed is None else unpack(packed)
    new = None
    try:
        if response is None:
            response = analyse_take(folder, job, progress)
            new = pack(response)
        readings = take_readings(
            response, settings, rated_power_w=job.version.rated_power_w,
            calibration_dates=job.rig_then.dates, **job.identity,
        )  # fmt: skip
    except InputError as fault:
        readings = unusable(job, fault)
    return Result(
        take=job.take_id,
        response_key=job.response_key,
        response=new,
        readings_key=job.readings_key(settings),
        readings=readings_to_json(readings),
    )


def unusable(job: Job, fault: InputError) -> TakeReadings:
    """Readings of a take that cannot be analysed: none, and a verdict that says why."""
    verdict = Verdict(
        code="not-analysed",
        severity=Severity.BAD,
        text=f"The take could not be analysed. {fault}",
        data=dict(fault.as_dict()),
    )
    conditions = conditions_of(job.take, job.version)
    return TakeReadings(conditions=conditions, readings={}, verdicts=(verdict,), **job.identity)
