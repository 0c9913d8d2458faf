"""Bundles written by hand: the layout of a ZIP (APPNOTE.TXT 4.3) by struct, and the files of a small release by zipfile and json.

Nothing here calls the code that makes bundles, so what is read is held against the published layout and not against ourselves.
"""

from __future__ import annotations

import hashlib
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import soundfile

PLAIN = 0o100644 << 16


@dataclass(frozen=True, kw_only=True)
class Raw:
    """An entry as it is to stand in a ZIP, with every claim free; None stands for the truth."""

    name: bytes
    data: bytes = b"x"
    method: int = 0
    flags: int = 0
    size: int | None = None
    packed: int | None = None
    crc: int | None = None
    attributes: int = PLAIN
    local_name: bytes | None = None
    local_size: int | None = None
    local_flags: int | None = None
    extra: bytes = b""
    offset: int | None = None
    content: bytes | None = None


def raw_zip(
    entries: Sequence[Raw], *, before: bytes = b"", between: bytes = b"", behind: bytes = b"", comment: bytes = b"", count: int | None = None
) -> bytes:  # fmt: skip
    """The bytes of a ZIP; `before`, `between` (files and directory), `behind` are put in where their names say."""
    body, directory = before, b""
    for entry in entries:
        crc = (
            zlib.crc32(entry.content if entry.content is not None else entry.data)
            if entry.crc is None
            else entry.crc
        )
        size = (
            len(entry.content if entry.content is not None else entry.data)
            if entry.size is None
            else entry.size
        )
        packed = len(entry.data) if entry.packed is None else entry.packed
        offset = len(body) if entry.offset is None else entry.offset
        name = entry.name if entry.local_name is None else entry.local_name
        local = (20, entry.flags if entry.local_flags is None else entry.local_flags, entry.method, 0, 0x21)
        if entry.offset is None:
            body += struct.pack("<4s5H3L2H", b"PK\x03\x04", *local, crc, packed, size if entry.local_size is None else entry.local_size, len(name), len(entry.extra))  # fmt: skip
            body += name + entry.extra + entry.data
        directory += struct.pack(
            "<4s6H3L5H2L", b"PK\x01\x02", 0x0314, 20, entry.flags, entry.method, 0, 0x21, crc, packed, size, len(entry.name), len(entry.extra),
            0, 0, 0, entry.attributes, offset,
        ) + entry.name + entry.extra  # fmt: skip
    start = len(body) + len(between)
    number = len(entries) if count is None else count
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, number, number, len(directory), start, len(comment))
    return body + between + directory + end + comment + behind


def deflated(data: bytes) -> bytes:
    """Data as the method 8 of a ZIP holds them."""
    machine = zlib.compressobj(9, zlib.DEFLATED, -15)
    return machine.compress(data) + machine.flush()


def recording(seconds: float = 0.05, seed: int = 1) -> bytes:
    """A short WAV of two channels."""
    samples = 0.1 * np.random.default_rng(seed).standard_normal((int(8000 * seconds), 2))
    file = io.BytesIO()
    soundfile.write(file, samples, 8000, format="WAV", subtype="PCM_16")
    return file.getvalue()


RIG = b"""format = 1
title = "Bench"

[microphone]
pa_per_full_scale = 2.0
u_db = 0.3
"""


def release_files(version: bytes = b"", *, audio: bytes | None = None, **more: bytes) -> dict[str, bytes]:
    """The records of a release of knot/v2: a driver, a version that names own parts and steel, a unit, a take, a rig."""
    sound = recording() if audio is None else audio
    take = f"""format = 1
rig = "bench"
distance_m = 1.0
space = "half-space"
drive_v = 2.0
when = 2026-03-01T10:00:00

[[audio]]
file = "take.wav"
sha256 = "{hashlib.sha256(sound).hexdigest()}"
roles = ["microphone", "voltage"]
"""
    unit = "records/drivers/knot/v2/units/01"
    files = {
        "records/drivers/knot/driver.toml": b'format = 1\ntitle = "Knot"\n',
        "records/drivers/knot/v2/version.toml": version or b'format = 1\ntitle = "Second"\nparent = "v1"\n',
        f"{unit}/unit.toml": b"format = 1\nre_ohm = 3.4\n",
        f"{unit}/takes/one/take.toml": take.encode(),
        f"{unit}/takes/one/take.wav": sound,
        "records/rigs/bench.toml": RIG,
        "README.txt": b"Read me\n",
        "LICENSE.txt": b"CC0-1.0\n",
    }
    return files | dict(more)


def manifest_of(files: Mapping[str, bytes], **changes: Any) -> dict[str, Any]:
    """The manifest of some files, with other keys where asked."""
    raw: dict[str, Any] = {
        "bundle": "halfroll release", "format": 1, "release": "knot-v2", "title": "Knot v2", "date": "2026-03-02", "audience": "everyone",
        "early": False, "authors": ["Saltmarsh Workshop"], "licence": {"id": "CC0-1.0", "title": "", "file": "LICENSE.txt"},
        "program": {"name": "halfroll", "version": "0.1"}, "versions": ["knot/v2"], "settings": {}, "left_out": [],
        "files": [{"path": path, "size": len(data), "sha256": hashlib.sha256(data).hexdigest(), "content": "records", "what": ""}
                  for path, data in sorted(files.items())],
    }  # fmt: skip
    return raw | changes


def bundle(
    files: Mapping[str, bytes],
    *,
    changed: Mapping[str, bytes] | None = None,
    manifest: bytes | None = None,
    **changes: Any,
) -> bytes:
    """A bundle of some files. `changed` replaces, adds (or with an empty name takes away) files after the manifest was made."""
    head = json.dumps(manifest_of(files, **changes)).encode() if manifest is None else manifest
    whole = {**files, "manifest.json": head}
    sums = "".join(f"{hashlib.sha256(whole[path]).hexdigest()}  {path}\n" for path in sorted(whole))
    whole["checksums.txt"] = sums.encode()
    for path, data in (changed or {}).items():
        if data == b"-":
            del whole[path]
        else:
            whole[path] = data
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        for path, data in whole.items():
            archive.writestr(zipfile.ZipInfo(path), data)
    return file.getvalue()
