"""Files on their way in: dropped on a page, kept as a draft, looked at, and only later made a take."""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from fastapi import Form, UploadFile
from nicegui import app, ui
from nicegui.events import GenericEventArguments

from halfroll.app.frame import telling
from halfroll.app.typed import without_place
from halfroll.core.errors import InputError
from halfroll.measure.recording import Role
from halfroll.workshop import SweepTable, Workshop, draft_file, keep_draft_file
from halfroll.workshop.paths import slug

URL = "/import/file"
PAGE = "import"
_USUAL = (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A recording kept in the draft: its token there, its own name, what its header says, a first guess of roles."""

    token: str
    name: str
    channels: int
    rate_hz: int
    seconds: float
    written: str
    roles: tuple[str, ...]

    @staticmethod
    def from_dict(raw: dict[str, Any]) -> Kept:
        """The inverse of ``asdict``."""
        return Kept(**{**raw, "roles": tuple(raw["roles"])})


class DropZone(ui.element, component="static/drop.js"):
    """A field to drop files on; says what was kept and what was refused."""

    def __init__(
        self, *, on_kept: Callable[[dict[str, Any]], Any], on_refused: Callable[[str, str], Any], url: str = URL,
        accept: str = ".wav,.flac,.toml", kinds: str = "WAV or FLAC, and the .toml file of the sweep if there is one",
        name: str = "files",
    ) -> None:  # fmt: skip
        super().__init__()
        self.props.update({"url": url, "accept": accept, "name": name, "kinds": kinds})

        def kept(event: GenericEventArguments) -> None:
            on_kept(event.args)

        def refused(event: GenericEventArguments) -> None:
            on_refused(event.args["name"], event.args["refused"])

        self.on("kept", telling(kept))
        self.on("refused", telling(refused))


def register(workshop: Workshop) -> None:
    """Add the route files are sent to."""

    @app.post(URL)
    def receive(file: UploadFile, written_ms: float = Form(0.0)) -> dict[str, Any]:
        name = file.filename or "recording"
        token = f"{secrets.token_hex(6)}{Path(name).suffix.lower()}".removesuffix(".toml")

        def told(path: Path) -> dict[str, Any]:
            if name.lower().endswith(".toml"):
                return {"sweep": read_sweep(path, name)}
            return {"file": asdict(look(path, token, name, written_ms))}

        return keep_sent(workshop, PAGE, file, token, name, told)


def keep_sent(
    workshop: Workshop, page: str, file: UploadFile, token: str, name: str, told: Callable[[Path], dict[str, Any]]
) -> dict[str, Any]:  # fmt: skip
    """Keep a file that was sent as a draft of a page, with what `told` says of it; one that it refuses is not kept."""
    try:
        path = keep_draft_file(workshop, page, token, file.file)
        try:
            return {"name": name, **told(path)}
        except InputError:
            path.unlink(missing_ok=True)
            raise
    except InputError as error:
        line = f"Line {error.place.line}: " if error.place.line else ""
        return {"name": name, "refused": line + without_place(error)}


def look(path: Path, token: str, name: str, written_ms: float) -> Kept:
    """What a kept recording is; `InputError` when it cannot be a take."""
    from halfroll.workshop.audio import read_head

    head = read_head(path)
    written = dt.datetime.fromtimestamp(written_ms / 1e3) if written_ms > 0 else dt.datetime.now()
    return Kept(
        token=token, name=name, channels=head.channels, rate_hz=head.rate_hz, seconds=head.frames / head.rate_hz,
        written=written.isoformat(timespec="seconds"), roles=guess_roles(name, head.channels),
    )  # fmt: skip


def guess_roles(name: str, channels: int) -> tuple[str, ...]:
    """What the channels of a file probably hold: told by its name when it has one channel, else the usual order."""
    if channels == 1:
        end = slug(Path(name).stem).replace("_", "-").rpartition("-")[2]
        return (next((role for role in _USUAL if end in (role, role[:3])), Role.MICROPHONE),)
    return tuple((*_USUAL, *(Role.UNUSED,) * channels)[:channels])


def read_sweep(path: Path, name: str) -> dict[str, Any]:
    """The parameters in the file beside a sweep; the kept copy goes at once."""
    from halfroll.workshop.records import SweepRecord
    from halfroll.workshop.toml_read import read_record

    try:
        record = read_record(path, SweepRecord, "").record
    except InputError as error:
        raise InputError(f"{name} is not the file of a sweep. {without_place(error)}") from error
    path.unlink(missing_ok=True)
    return {key: getattr(record, key) for key in SweepTable.model_fields}


def there(workshop: Workshop, kept: Kept) -> bool:
    """Whether the recording is still kept."""
    return draft_file(workshop, PAGE, kept.token).exists()


def drop(workshop: Workshop, kept: Kept) -> None:
    """Forget a kept recording."""
    draft_file(workshop, PAGE, kept.token).unlink(missing_ok=True)
