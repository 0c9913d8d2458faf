"""A bundle of somebody else on the page: sent to the disk piece by piece, checked, reported, and brought in when asked."""

from __future__ import annotations

import asyncio
import datetime as dt
import secrets
from pathlib import Path
from typing import Any

from fastapi import Request, UploadFile
from nicegui import app
from nicegui.events import GenericEventArguments
from starlette.requests import ClientDisconnect

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.frame import telling
from halfroll.app.intake import DropZone
from halfroll.app.job import work
from halfroll.app.typed import without_place
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.text import count
from halfroll.workshop import Workshop, clear_draft, draft_file, keep_draft_file, load_draft, save_draft
from halfroll.workshop.bring_in import bring_in, names_by_driver
from halfroll.workshop.bundle import BundleReport, check_bundle
from halfroll.workshop.files import free_bytes
from halfroll.workshop.zip_names import MOST_BUNDLE

URL = "/releases/file"
PAGE = "releases"
_AROUND = 100_000
"""Bytes that a form may have around the file it sends."""


def register(workshop: Workshop) -> None:
    """Add the route bundles are sent to: refused before a byte is read when it is too long or does not say how long it is."""

    @app.post(URL)
    async def receive(request: Request) -> dict[str, Any]:
        length = request.headers.get("content-length", "")
        refused = _refusal(workshop, length)
        if refused:
            return {"name": "the bundle", "refused": refused}
        try:
            async with request.form(max_files=1, max_fields=2) as form:
                file = form.get("file")
                if not hasattr(file, "filename"):
                    return {"name": "the bundle", "refused": "No file came."}
                return await asyncio.to_thread(_keep, workshop, file)
        except ClientDisconnect:
            return {"name": "the bundle", "refused": "It was not sent wholly."}


def _refusal(workshop: Workshop, length: str) -> str:
    if not length.isdigit():
        return "The browser does not say how long the file is."
    if int(length) > MOST_BUNDLE + _AROUND:
        return f"A bundle has {MOST_BUNDLE // 1_000_000} MB at most; this file has {int(length) // 1_000_000} MB."
    if int(length) * 2 > free_bytes(workshop.folder):
        return "There is too little room on the disk for it."
    return ""


def _keep(workshop: Workshop, file: Any) -> dict[str, Any]:
    """Keep what was sent as the page's draft, in place of what was there; the form has put it on the disk, not into memory."""
    upload: UploadFile = file
    name = Path(upload.filename or "bundle.zip").name[:120]
    token = f"{secrets.token_hex(6)}.zip"
    try:
        clear_draft(workshop, PAGE)
        keep_draft_file(workshop, PAGE, token, upload.file)
        save_draft(workshop, PAGE, {"token": token, "name": name})
    except InputError as error:
        return {"name": name, "refused": without_place(error)}
    return {"name": name, "file": {"token": token, "name": name}}


class BundleIntake:
    """The part of the page that takes a bundle, says what it is, and brings it in."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop
        self.kept: dict[str, Any] | None = None
        self.report: BundleReport | None = None

    async def draw(self) -> None:
        """Draw it; a bundle that was dropped before is still there."""
        with el("section", cls="block", aria_labelledby="others"):
            el("h2", "A release of somebody else", id="others")
            el("p", "It is checked wholly before anything is written: names, sizes, every file against its hash, every record. Nothing of yours is overwritten.",
               cls="prose")  # fmt: skip
            zone = DropZone(
                on_kept=lambda _: None, on_refused=self._refuse, url=URL, accept=".zip", kinds="the ZIP as its maker gave it out", name="bundle",
            )  # fmt: skip
            zone.on("kept", telling(self._take))
            self.said = el("div", cls="block", role="status")
            with el("div", cls="block") as self.form:
                with el("div", cls="fields wide"):
                    self.expected = Field(
                        "sha256",
                        "Its hash, as its maker published it",
                        hint="SHA-256; empty if you do not know it",
                    )
                    self.name = Field(
                        "as",
                        "What its driver is called here",
                        hint="empty: its own name; OLD=NEW, one a line, where it has several",
                        tag="textarea",
                    )
                with el("div", cls="actions"):
                    button("Check it again", self._check).mark("check-bundle")
                    self.take_in = button("Bring it in", self._bring_in, main=True)
                    self.take_in.mark("bring-in")
                    button("Forget it", self._forget).mark("forget-bundle")
            self.form.set_visibility(False)
        kept = load_draft(self.workshop, PAGE)
        if kept and draft_file(self.workshop, PAGE, str(kept.get("token", ""))).exists():
            self.kept = kept
            await self._check()

    async def _take(self, event: GenericEventArguments) -> None:
        self.kept = event.args["file"]
        await self._check()

    def _refuse(self, name: str, reason: str) -> None:
        frame.say(f"{name} was not taken. {reason}")

    def _path(self) -> Path:
        assert self.kept is not None
        return draft_file(self.workshop, PAGE, str(self.kept["token"]))

    async def _check(self) -> None:
        path, expected = self._path(), self.expected.value or None
        self.said.clear()
        with self.said:
            try:
                self.report = await work(
                    "Checking the bundle",
                    lambda progress: check_bundle(path, expected=expected, progress=progress),
                )
            except CancelledError:
                frame.say("Stopped. Nothing was written.")
                return
            self._tell(self.report)
        self.form.set_visibility(True)
        self.take_in.put(disabled=None if self.report.sound and self.report.records.versions else True)

    def _tell(self, report: BundleReport) -> None:
        manifest = report.manifest
        rows = [("File", str((self.kept or {}).get("name", ""))), ("Size", f"{report.size / 1e6:.1f} MB")]
        if manifest is not None:
            rows += [("Release", manifest.title), ("Date", manifest.date.isoformat()), ("By", ", ".join(manifest.authors)),
                     ("Licence", manifest.licence.id), ("For", manifest.audience), ("Versions", ", ".join(manifest.versions))]  # fmt: skip
        if report.records.versions:
            counts = {kind: n for kind, n in report.records.counts.items() if n}
            rows.append(("Holds", ", ".join(count(n, kind.removesuffix("s")) for kind, n in counts.items())))
        show("bundle_report.html", sound=report.sound, rows=rows, sha256=report.sha256, problems=[_plain(problem) for problem in report.problems],
             verdicts=report.verdicts)  # fmt: skip

    async def _bring_in(self) -> None:
        path, expected, today = self._path(), self.expected.value or None, dt.date.today()
        try:
            names = names_by_driver([line.strip() for line in self.name.value.splitlines() if line.strip()])
            with self.said:
                found = await work(
                    "Bringing the release in",
                    lambda progress: bring_in(
                        self.workshop, path, as_name=names, expected=expected, today=today, progress=progress
                    ),
                )
        except CancelledError:
            frame.say("Stopped. Nothing was written.")
            return
        except InputError as fault:
            if fault.place.key != "--as" and "name of a driver" not in fault.message:
                raise
            self.name.error(without_place(fault))
            self.name.focus()
            return
        self.name.error("")
        clear_draft(self.workshop, PAGE)
        self.form.set_visibility(False)
        self.said.clear()
        with self.said:
            el("p", f"{count(len(found.versions), 'version')} came in:")
            for id_ in found.versions:
                el("a", id_, href=address.of_version(id_), cls="button")
            show("verdicts.html", verdicts=found.verdicts)

    def _forget(self) -> None:
        clear_draft(self.workshop, PAGE)
        self.kept = self.report = None
        self.said.clear()
        self.form.set_visibility(False)


def _plain(problem: InputError) -> str:
    """A problem without the path of the draft it lies in."""
    parts = [
        problem.message,
        *([f"found {problem.found}"] if problem.found else []),
        *([f"allowed {problem.allowed}"] if problem.allowed else []),
    ]
    where = problem.place.file or ""
    inner = where.partition(".zip/")[2]
    return (
        (f"{inner}: " if inner else "")
        + "; ".join(parts)
        + "."
        + (f" {problem.remedy}." if problem.remedy else "")
    )
