"""Recordings of telephones on their way in: dropped on the page, kept as a draft, read when the answer is worked out."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import UploadFile
from nicegui import app

from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.intake import DropZone, keep_sent, read_sweep
from halfroll.measure.phone.signal import PHONE_SWEEP
from halfroll.workshop import SweepTable, Workshop, draft_file
from halfroll.workshop.audio import SUFFIXES
from halfroll.workshop.builders import NewRecording
from halfroll.workshop.phone_audio import COMPRESSED, read_phone_audio

URL = "/builders/file"
PAGE = "builders"
Kept = dict[str, Any]
"""``token`` and ``name`` of a kept recording, its ``seconds`` and ``rate_hz``."""


def register(workshop: Workshop) -> None:
    """Add the route files are sent to."""

    @app.post(URL)
    def receive(file: UploadFile) -> dict[str, Any]:
        name = file.filename or "recording"
        token = f"{secrets.token_hex(6)}{Path(name).suffix.lower()}".removesuffix(".toml")

        def told(path: Path) -> dict[str, Any]:
            if name.lower().endswith(".toml"):
                return {"sweep": read_sweep(path, name)}
            audio = read_phone_audio(path, name=name)
            seconds = audio.samples.shape[1] / audio.rate_hz
            return {"file": {"token": token, "name": name, "seconds": seconds, "rate_hz": audio.rate_hz}}

        return keep_sent(workshop, PAGE, file, token, name, told)


class RecordingField:
    """A place for one recording: dropped, named, taken away again.

    Parameters
    ----------
    place
        ``recording`` or ``reference``.
    kept
        What is there already.
    on_change, on_sweep
        Told after a change; told the sweep that was dropped.
    """

    def __init__(
        self,
        workshop: Workshop,
        place: str,
        kept: Kept | None,
        on_change: Callable[[], Any],
        on_sweep: Callable[[dict[str, Any]], Any],
    ) -> None:
        self._workshop, self._place, self._changed, self._on_sweep = workshop, place, on_change, on_sweep
        self.kept = kept if kept and draft_file(workshop, PAGE, kept["token"]).exists() else None
        DropZone(
            on_kept=self._take, on_refused=self._refuse, url=URL, accept=",".join((*SUFFIXES, *COMPRESSED, ".toml")), name=f"{place}-file",
            kinds="WAV or FLAC best; M4A, MP3, OGG and the like do",
        ).mark(f"drop-{place}")  # fmt: skip
        self._said = el("div", cls="block", aria_live="polite").mark(f"{place}-said")
        self._fill()

    def new(self, sweep: dict[str, Any] | None, distance_cm: float) -> NewRecording | None:
        """The recording as it would be kept; None without one."""
        if self.kept is None:
            return None
        path = draft_file(self._workshop, PAGE, self.kept["token"])
        played = PHONE_SWEEP if sweep is None else SweepTable(**sweep).sweep()
        return NewRecording(
            audio=read_phone_audio(path, name=self.kept["name"]), sweep=played, distance_cm=distance_cm
        )

    def error(self, text: str) -> None:
        """Say what is wrong with it."""
        self._fill()
        with self._said:
            el("p", text, cls="error alert", role="alert")

    def _take(self, answer: dict[str, Any]) -> None:
        if "sweep" in answer:
            self._on_sweep(answer["sweep"])
            return
        self.kept = answer["file"]
        self._fill()
        self._changed()

    def _refuse(self, name: str, why: str) -> None:
        self.error(f"{name}: {why}")

    def _remove(self) -> None:
        self.kept = None
        self._fill()
        self._changed()

    def _fill(self) -> None:
        self._said.clear()
        if self.kept is None:
            return
        with self._said, el("p"):
            el("strong", self.kept["name"])
            el(
                "span",
                f" {self.kept['seconds']:.1f} s, {self.kept['rate_hz']} samples a second ",
                cls="quiet",
            )
            button("Remove", self._remove, cls="plain").put(aria_label=f"Remove {self.kept['name']}")
