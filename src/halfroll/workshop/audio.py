"""Audio files of takes: WAV and FLAC in and out, every wrong file refused in words."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import soundfile

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.measure.sweep import HIGHEST_RATE_HZ, LOWEST_RATE_HZ
from halfroll.workshop.files import digest, digest_of_file, reporting, write_whole

SUFFIXES = (".wav", ".flac")
LONGEST_S = 600.0
MOST_CHANNELS = 8

_FORMATS = {"WAV", "WAVEX", "RF64", "FLAC"}

Samples = Literal["PCM_16", "PCM_24", "FLOAT"]


@dataclass(frozen=True, kw_only=True)
class Audio:
    """Samples of one file, shape (n_channels, n), re full scale."""

    samples: FloatArray
    rate_hz: int
    sha256: str


@dataclass(frozen=True, kw_only=True)
class AudioHead:
    """What a file's header says."""

    channels: int
    rate_hz: int
    frames: int


def read_head(path: Path) -> AudioHead:
    """Channels, rate and length of a WAV or FLAC file that can be a take; `InputError` says why one cannot."""
    file = str(path)
    with reporting(path, "read"):
        size = path.stat().st_size
        with path.open("rb"):
            pass
    if size == 0:
        raise InputError("The audio file is empty", file=file, remedy="Export the recording again")
    try:
        info = soundfile.info(file)
    except soundfile.LibsndfileError as error:
        raise InputError("The file must be a WAV or FLAC recording", file=file, found=_looks_like(path),
                         remedy="Export the recording as WAV or FLAC") from error  # fmt: skip
    if info.format not in _FORMATS:
        raise InputError("The file must be a WAV or FLAC recording", file=file, found=info.format_info,
                         remedy="Export the recording as WAV or FLAC")  # fmt: skip
    head = AudioHead(channels=info.channels, rate_hz=info.samplerate, frames=info.frames)
    _check_head(head, file)
    _check_complete(path, size)
    return head


def read_audio(path: Path) -> Audio:
    """A WAV or FLAC file as samples re full scale, with the hash of its bytes."""
    read_head(path)
    try:
        samples, rate = soundfile.read(str(path), dtype="float64", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise InputError("The audio file is damaged", file=str(path), found=str(error),
                         remedy="Export the recording again") from error  # fmt: skip
    wrong = ~np.isfinite(samples)
    if wrong.any():
        frame, channel = (int(index) for index in np.argwhere(wrong)[0])
        raise InputError(
            f"Every sample must be a finite number; channel {channel + 1} at {frame / rate:.3f} s is not one",
            file=str(path),
            found=f"{samples[frame, channel]} ({int(wrong.sum())} such samples)",
            remedy="Export the recording again",
        )
    return Audio(samples=np.ascontiguousarray(samples.T), rate_hz=int(rate), sha256=digest_of_file(path))


def write_audio(
    path: Path, samples: FloatArray, rate_hz: int, *, samples_as: Samples = "PCM_24", durable: bool = True
) -> str:
    """Write samples (n_channels, n) or (n,) re full scale to a WAV or FLAC file, whole or not at all.

    Whole-number samples clip at full scale as a converter does. (``FLOAT``, for WAV only, puts a time stamp into the
    file, so equal samples do not give equal bytes.) Returns the SHA-256 of the file.
    """
    data = encode_audio(samples, rate_hz, path.suffix.lower(), samples_as)
    write_whole(path, data, durable=durable)
    return digest(data)


def encode_audio(samples: FloatArray, rate_hz: int, suffix: str, samples_as: Samples = "PCM_24") -> bytes:
    """The bytes of a WAV (``.wav``) or FLAC (``.flac``) file."""
    if suffix not in SUFFIXES:
        raise InputError("The name of an audio file must end with .wav or .flac", found=repr(suffix))
    if not np.isfinite(samples).all():
        raise InputError("Every sample must be a finite number", found="NaN or infinity")
    frames = np.atleast_2d(samples).T
    if samples_as != "FLOAT":
        frames = _whole_numbers(frames, int(samples_as[-2:]))
    buffer = io.BytesIO()
    soundfile.write(buffer, frames, rate_hz, format=suffix[1:].upper(), subtype=samples_as)
    return buffer.getvalue()


def _whole_numbers(samples: FloatArray, bits: int) -> np.ndarray:
    """Samples rounded to the nearest step of a converter, in the upper bits of 32 (libsndfile would cut them off)."""
    top = 2.0 ** (bits - 1)
    steps = np.clip(np.rint(samples * top), -top, top - 1).astype(np.int32)
    return np.left_shift(steps, 32 - bits)


def _check_head(head: AudioHead, file: str) -> None:
    if not LOWEST_RATE_HZ <= head.rate_hz <= HIGHEST_RATE_HZ:
        raise InputError("The sample rate of the recording is out of range", file=file, found=f"{head.rate_hz} Hz",
                         allowed=f"{LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} Hz")  # fmt: skip
    if head.frames == 0:
        raise InputError("The audio file holds no samples", file=file, remedy="Export the recording again")
    if head.frames > LONGEST_S * head.rate_hz:
        raise InputError("The recording is too long", file=file, found=f"{head.frames / head.rate_hz:.0f} s",
                         allowed=f"up to {LONGEST_S:.0f} s", remedy="Cut it to one sweep with its silence")  # fmt: skip
    if head.channels > MOST_CHANNELS:
        raise InputError("The recording has too many channels", file=file, found=str(head.channels),
                         allowed=f"1 to {MOST_CHANNELS}")  # fmt: skip


def _check_complete(path: Path, size: int) -> None:
    """Refuse a WAV file whose header promises more bytes than there are: a copy that broke off."""
    with path.open("rb") as file:
        start = file.read(8)
    promised = int.from_bytes(start[4:8], "little") + 8
    unknown = promised in (8, 0xFFFFFFFF + 8)  # a writer that could not go back says 0 or all ones
    if start[:4] == b"RIFF" and not unknown and promised > size + 1:
        raise InputError("The audio file is cut short", file=str(path), found=f"{size} bytes",
                         allowed=f"{promised} bytes, as its header says", remedy="Copy or export it again")  # fmt: skip


def _looks_like(path: Path) -> str:
    """What the first bytes of a file that is no recording look like."""
    with path.open("rb") as file:
        start = file.read(64)
    if start[:4] in (b"RIFF", b"RF64", b"fLaC"):
        return "a damaged recording"
    if all(byte in b"\t\r\n\f" or 32 <= byte < 127 or byte >= 160 for byte in start):
        return "text"
    return f"bytes starting {start[:8].hex(' ')}"
