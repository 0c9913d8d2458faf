"""Takes: new audio on its way in, and a stored take as the value objects the measure room wants."""

from __future__ import annotations

import contextlib
import datetime as dt
import secrets
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np

from halfroll.core.conditions import Conditions, radius_of_area
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.rig.current import with_current
from halfroll.workshop.audio import AudioHead, encode_audio, read_audio
from halfroll.workshop.correction_file import correction_of
from halfroll.workshop.files import digest, make_folder, read_whole, reporting, sync_folder, write_whole
from halfroll.workshop.paths import record_path, slug
from halfroll.workshop.records import AudioTable, RigRecord, TakeRecord, TakeSetup, VersionRecord
from halfroll.workshop.rig_time import current_way, rig_at
from halfroll.workshop.toml_write import render
from halfroll.workshop.tree import takes_below

_UNFINISHED = ".new-"


@dataclass(frozen=True, kw_only=True)
class NewAudio:
    """An audio file for a new take: its name there, its bytes, what its channels hold.

    Make one by `from_file` or `from_samples`, which check it. `origin` is the file it came from, for messages.
    """

    file: str
    data: bytes
    roles: tuple[Role, ...]
    head: AudioHead
    origin: str

    @staticmethod
    def from_file(path: Path, roles: Sequence[Role] | None = None, *, name: str | None = None) -> NewAudio:
        """A WAV or FLAC file, read wholly and checked. Without `roles` a single channel is the microphone.

        `name` is the name a person knows the file by, where `path` is only a temporary copy.
        """
        shown = Path(name or path.name)
        audio = read_audio(path)
        data = read_whole(path)
        if digest(data) != audio.sha256:
            raise InputError(
                "The file changed while it was read", file=str(path), remedy="Import it when it is complete"
            )
        channels, frames = audio.samples.shape
        head = AudioHead(channels=channels, rate_hz=audio.rate_hz, frames=frames)
        file = f"{slug(shown.stem) or 'recording'}{shown.suffix.lower()}"
        return NewAudio(
            file=file, data=data, roles=_roles(roles, channels, str(shown)), head=head, origin=str(shown)
        )

    @staticmethod
    def from_samples(file: str, samples: FloatArray, rate_hz: int, roles: Sequence[Role]) -> NewAudio:
        """Samples (n_channels, n) re full scale, kept as 24 bits; `file` ends with .flac or .wav."""
        channels, frames = samples.shape
        data = encode_audio(samples, rate_hz, Path(file).suffix)
        head = AudioHead(channels=channels, rate_hz=rate_hz, frames=frames)
        return NewAudio(file=file, data=data, roles=_roles(roles, channels, file), head=head, origin=file)

    @property
    def sha256(self) -> str:
        """Content hash of the file."""
        return digest(self.data)


def _roles(roles: Sequence[Role] | None, channels: int, file: str) -> tuple[Role, ...]:
    given = (Role.MICROPHONE,) if roles is None else tuple(roles)
    if len(given) != channels:
        raise InputError(
            "A recording must have as many channels as roles are given",
            file=file,
            found=f"{_count(channels, 'channel')}, {_count(len(given), 'role')} ({', '.join(given)})",
            remedy="Say for every channel in order whether it is microphone, voltage, current, source or unused",
        )
    return given


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")


class Recorded(Protocol):
    """A record of recordings."""

    @property
    def audio(self) -> Sequence[AudioTable]:
        """Its audio files."""

    @property
    def roles(self) -> tuple[Role, ...]:
        """Roles of all channels, file after file."""

    @property
    def when(self) -> dt.datetime:
        """When they were made."""


def write_take(
    holder: Path, name: str, setup: TakeSetup, when: dt.datetime, audio: Sequence[NewAudio], *, durable: bool
) -> Path:
    """Write a new take into the ``takes`` folder `holder`: the whole folder appears at once or not at all."""
    check_together([(new.origin, new.head) for new in audio])
    files = _distinct([new.file for new in audio])
    tables = tuple(
        AudioTable(file=file, sha256=new.sha256, roles=new.roles)
        for file, new in zip(files, audio, strict=True)
    )
    record = TakeRecord.model_validate({**dict(setup), "when": when, "audio": tables})
    path = holder / name / "take.toml"
    with unfinished(holder, name, durable=durable) as folder:
        for file, new in zip(files, audio, strict=True):
            write_whole(folder / file, new.data, durable=durable)
        write_whole(folder / "take.toml", render(record, None, str(path)), durable=durable)
    return path


def refuse_repeats(workshop: Path, audio: Sequence[NewAudio]) -> None:
    """Refuse recordings that are in the workshop folder already: their content hash stands in some take's record."""
    hashes = {new.sha256.encode(): new.origin for new in audio}
    if len(hashes) < len(audio):
        raise InputError("The same recording is given twice", file=audio[0].origin)
    for take_id in takes_below(workshop, None):
        content = read_whole(record_path(workshop, take_id))
        for sha256, origin in hashes.items():
            if sha256 in content:
                raise InputError("This recording is in the workshop already", file=origin, found=f"take {take_id}",
                                 remedy="Use that take, or delete its folder first")  # fmt: skip


@contextlib.contextmanager
def unfinished(holder: Path, name: str, *, durable: bool) -> Iterator[Path]:
    """A folder in `holder` that gets its name when all is written and is gone when that fails; old remains go too."""
    make_folder(holder, durable=durable)
    for left_over in holder.glob(f"{_UNFINISHED}*"):
        shutil.rmtree(left_over, ignore_errors=True)
    folder = holder / f"{_UNFINISHED}{secrets.token_hex(4)}"
    make_folder(folder)
    try:
        yield folder
        with reporting(holder / name, "written"):
            folder.rename(holder / name)
            if durable:
                sync_folder(holder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _distinct(files: list[str]) -> list[str]:
    """File names, made different where two are equal."""
    return [
        file if file not in files[:i] else f"{Path(file).stem}-{i + 1}{Path(file).suffix}"
        for i, file in enumerate(files)
    ]


def check_together(heads: Sequence[tuple[str, AudioHead]]) -> None:
    """Refuse files that cannot be channels of one recording: other rate or other length."""
    if not heads:
        raise InputError("A take must have one audio file at least", found="none")
    first_file, first = heads[0]
    for file, head in heads[1:]:
        if head.rate_hz != first.rate_hz:
            raise InputError("Files of one take must have the same sample rate", file=file, found=f"{head.rate_hz} Hz",
                             allowed=f"{first.rate_hz} Hz, as {first_file}")  # fmt: skip
        if head.frames != first.frames:
            raise InputError("Files of one take must have the same length", file=file, found=f"{head.frames} samples",
                             allowed=f"{first.frames} samples, as {first_file}",
                             remedy="Export all channels from the same start to the same end")  # fmt: skip


def check_hash(path: Path, found: str, recorded: str) -> None:
    """Refuse an audio file whose content hash is not the one in the record."""
    if found != recorded:
        raise InputError(
            "The audio file is not the one that was imported: its content hash differs",
            file=str(path),
            found=f"{found[:12]}...",
            allowed=f"{recorded[:12]}...",
            remedy="Bring the old file back, or import the new one as another take",
        )


def read_recording(folder: Path, record: Recorded, rig: RigRecord) -> Recording:
    """The samples of a take or a run, its files put together, with what they mean by its rig at that time.

    Raises
    ------
    InputError
        A file is missing, damaged, does not have the channels the record says, or is not the one that was imported.
    """
    parts = []
    for table in record.audio:
        path = folder / table.file
        audio = read_audio(path)
        check_hash(path, audio.sha256, table.sha256)
        _roles(table.roles, len(audio.samples), str(path))
        parts.append((str(path), audio))
    check_together([
        (file, AudioHead(channels=len(a.samples), rate_hz=a.rate_hz, frames=a.samples.shape[1])) for file, a in parts
    ])  # fmt: skip
    samples = np.concatenate([audio.samples for _, audio in parts])
    return recording_of(samples, parts[0][1].rate_hz, record.roles, rig, record.when, folder)


def recording_of(
    samples: FloatArray, rate_hz: int, roles: Sequence[Role], rig: RigRecord, when: dt.datetime, folder: Path
) -> Recording:
    """Samples (n_channels, n) with what they mean by a rig as it was at a moment: scales, current, microphone's correction.

    `folder` lies anywhere in the workshop, whose rigs hold the correction curves.
    """
    at = rig_at(rig, when, roles)
    recording = Recording(
        samples=samples, rate_hz=rate_hz, roles=tuple(roles), scales=scales_of(at.record, roles),
        correction=correction_of(folder, at.record), verdicts=at.verdicts,
    )  # fmt: skip
    return with_current(recording, current_way(at.record))


def scales_of(rig: RigRecord, roles: Sequence[Role]) -> dict[Role, Scale]:
    """Scales of a rig for the channels of a take.

    `rig` is that of the take's time (`rig_time.rig_at`). Where the voltage is only stated, its scale stands for the
    uncertainty of that statement.
    """
    scales = {}
    if rig.microphone is not None:
        scales[Role.MICROPHONE] = Scale(
            per_full_scale=rig.microphone.pa_per_full_scale, u_db=rig.microphone.u_db
        )
    if rig.voltage is not None:
        scales[Role.VOLTAGE] = Scale(per_full_scale=rig.voltage.v_per_full_scale, u_db=rig.voltage.u_db)
    if rig.current is not None and rig.current.a_per_full_scale is not None:
        scales[Role.CURRENT] = Scale(per_full_scale=rig.current.a_per_full_scale, u_db=rig.current.u_db)
    if Role.VOLTAGE not in roles:
        scales[Role.VOLTAGE] = Scale(per_full_scale=1.0, u_db=rig.drive_u_db)
    return scales


def conditions_of(record: TakeRecord, version: VersionRecord) -> Conditions:
    """Conditions of a take of a version."""
    area_cm2 = version.effective_area_cm2
    return Conditions(
        drive_v=record.drive_v,
        distance_m=record.distance_m,
        space=record.space,
        rated_impedance_ohm=version.rated_impedance_ohm,
        radius_m=None if area_cm2 is None else radius_of_area(area_cm2 * 1e-4),
        temperature_c=record.temperature_c,
    )
