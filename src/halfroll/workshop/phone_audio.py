"""Recordings as telephones make them: WAV and FLAC as any take's, and the compressed kinds decoded."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.workshop.audio import SUFFIXES, read_audio, read_head
from halfroll.workshop.files import digest, read_whole, reporting
from halfroll.workshop.paths import slug

COMPRESSED = (
    ".m4a",
    ".mp4",
    ".aac",
    ".mp3",
    ".ogg",
    ".opus",
    ".oga",
    ".webm",
    ".3gp",
    ".amr",
    ".mov",
    ".caf",
    ".wma",
)
LONGEST_S = 120.0
"""As long as a recording of one sweep may be (s)."""
LARGEST_BYTES = 100_000_000
MOST_SAMPLES = 50_000_000
"""Samples of all channels together: two channels at 192 kHz for as long as a recording may be, 0.4 GB when they are unpacked."""


@dataclass(frozen=True, kw_only=True)
class PhoneAudio:
    """A recording: samples (n_channels, n) re full scale, rate, and the file as it came with its content hash and a plain name."""

    samples: FloatArray
    rate_hz: int
    data: bytes
    file: str

    @property
    def sha256(self) -> str:
        """Content hash of the file."""
        return digest(self.data)


def read_phone_audio(path: Path, *, name: str | None = None) -> PhoneAudio:
    """A recording of a telephone, decoded; `name` is the name a person knows the file by.

    Raises
    ------
    InputError
        It is empty, too large or long, holds no sound, or is of a kind that cannot be read.
    """
    shown = Path(name or path.name)
    with reporting(path, "read"):
        size = path.stat().st_size
    if size == 0:
        raise InputError("The recording is empty", file=str(shown), remedy="Send it again")
    if size > LARGEST_BYTES:
        raise InputError("The recording is too large", file=str(shown), found=f"{size / 1e6:.0f} MB",
                         allowed=f"up to {LARGEST_BYTES / 1e6:.0f} MB", remedy="Cut it to one sweep with its silence")  # fmt: skip
    suffix = shown.suffix.lower()
    if suffix in SUFFIXES:
        head = read_head(path)  # a small file may hold hours of silence: told before it is unpacked
        _refuse_long(head.frames / head.rate_hz, str(shown))
        _refuse_many(head.frames * head.channels, str(shown))
        audio = read_audio(path)
        samples, rate = audio.samples, audio.rate_hz
    elif suffix in COMPRESSED:
        samples, rate = _decoded(path, str(shown))
    else:
        raise InputError("This is no recording that can be read", file=str(shown), found=f"a name that ends with {suffix or 'nothing'}",
                         allowed=[*SUFFIXES, *COMPRESSED])  # fmt: skip
    return PhoneAudio(
        samples=samples,
        rate_hz=rate,
        data=read_whole(path),
        file=f"{slug(shown.stem) or 'recording'}{suffix}",
    )


def _decoded(path: Path, shown: str) -> tuple[FloatArray, int]:
    """Samples (n_channels, n) and rate of a compressed file."""
    import av

    try:
        with av.open(str(path)) as container:
            if not container.streams.audio:
                raise InputError("The file holds no sound", file=shown, remedy="Send the recording itself")
            stream = container.streams.audio[0]
            rate = int(stream.rate or 0)
            if container.duration is not None:
                _refuse_long(container.duration / 1e6, shown)
            blocks: list[FloatArray] = []
            count = 0
            for frame in container.decode(stream):
                count += frame.samples
                _refuse_long(count / max(rate, 1), shown)
                _refuse_many(count * frame.layout.nb_channels, shown)
                blocks.append(_plain(frame))
    except (av.FFmpegError, OSError) as fault:
        raise InputError("The file cannot be read as a recording", file=shown, found=str(fault).partition("]")[2].strip(" :") or "damaged",
                         remedy="Send it again, or export it as WAV") from fault  # fmt: skip
    if not blocks or rate == 0:
        raise InputError("The recording holds no samples", file=shown, remedy="Send it again")
    if len({len(block) for block in blocks}) > 1:
        raise InputError("The number of channels must not change within a recording", file=shown,
                         remedy="Export it as WAV")  # fmt: skip
    return np.concatenate(blocks, axis=1), rate


def _plain(frame: Any) -> FloatArray:
    """Samples (n_channels, n) of a frame re full scale."""
    values = frame.to_ndarray()
    if not frame.format.is_planar:
        values = values.reshape(-1, frame.layout.nb_channels).T
    if values.dtype.kind == "f":
        return np.asarray(values, dtype=np.float64)
    if values.dtype.kind == "u":
        return np.asarray(values, dtype=np.float64) / 128.0 - 1.0
    return np.asarray(values, dtype=np.float64) / float(np.iinfo(values.dtype).max + 1)


def _refuse_long(seconds: float, shown: str) -> None:
    if seconds > LONGEST_S:
        raise InputError("The recording is too long", file=shown, found=f"{seconds:.0f} s", allowed=f"up to {LONGEST_S:.0f} s",
                         remedy="Cut it to one sweep with its silence")  # fmt: skip


def _refuse_many(samples: int, shown: str) -> None:
    if samples > MOST_SAMPLES:
        raise InputError("The recording holds too many samples", file=shown, found=f"{samples / 1e6:.0f} million over all channels",
                         allowed=f"up to {MOST_SAMPLES / 1e6:.0f} million", remedy="Export it with one channel at 48 kHz")  # fmt: skip
