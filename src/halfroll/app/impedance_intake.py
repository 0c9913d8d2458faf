"""Impedance files on their way in: dropped on the page of the parameters, looked at, kept as a draft until they are a run."""

from __future__ import annotations

import datetime as dt
import secrets
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from fastapi import Form, UploadFile
from nicegui import app

from halfroll.app.intake import keep_sent, read_sweep
from halfroll.core.text import count
from halfroll.workshop import Workshop, draft_file
from halfroll.workshop.audio import SUFFIXES

URL = "/parameters/file"
PAGE = "impedance-form"
KINDS = "a table of any program (CSV, text), or WAV or FLAC of voltage and current with the .toml file of its sweep"


@dataclass(frozen=True, kw_only=True)
class KeptImpedance:
    """A file kept in the draft: its token there, its own name, what it is in words, when it was written, its channels
    (0: a table).
    """

    token: str
    name: str
    about: str
    written: str
    channels: int = 0

    @property
    def recorded(self) -> bool:
        """Whether it is a recording."""
        return self.channels > 0

    @property
    def when(self) -> dt.datetime:
        """When it was written."""
        return dt.datetime.fromisoformat(self.written)


def register(workshop: Workshop) -> None:
    """Add the route files are sent to."""

    @app.post(URL)
    def receive_impedance(file: UploadFile, written_ms: float = Form(0.0)) -> dict[str, Any]:
        name = file.filename or "impedance.csv"
        suffix = Path(name).suffix.lower()[:8] or ".csv"
        token = f"{secrets.token_hex(6)}{suffix}".removesuffix(".toml")

        def told(path: Path) -> dict[str, Any]:
            if name.lower().endswith(".toml"):
                return {"sweep": read_sweep(path, name)}
            return {"file": asdict(look(path, token, name, written_ms))}

        return keep_sent(workshop, PAGE, file, token, name, told)


def look(path: Path, token: str, name: str, written_ms: float) -> KeptImpedance:
    """What a kept file is; `InputError` when it cannot be an impedance."""
    from halfroll.workshop.audio import read_head
    from halfroll.workshop.files import read_whole
    from halfroll.workshop.impedance_file import read_impedance

    written = dt.datetime.fromtimestamp(written_ms / 1e3) if written_ms > 0 else dt.datetime.now()
    stamp = written.isoformat(timespec="seconds")
    if path.suffix.lower() in SUFFIXES:
        head = read_head(path)
        about = f"{count(head.channels, 'channel')}, {head.frames / head.rate_hz:.1f} s"
        return KeptImpedance(token=token, name=name, about=about, written=stamp, channels=head.channels)
    curve = read_impedance(read_whole(path), name)
    ends = f"{curve.frequency_hz[0]:.4g} to {curve.frequency_hz[-1]:.5g} Hz"
    phase = "modulus and phase" if curve.phase_known else "modulus only"
    return KeptImpedance(
        token=token, name=name, about=f"{len(curve.frequency_hz)} points, {ends}, {phase}", written=stamp
    )


def there(workshop: Workshop, kept: KeptImpedance) -> bool:
    """Whether the file is still kept."""
    return draft_file(workshop, PAGE, kept.token).exists()
