"""One release on its page: what is in it for whom, change notes, the bundle built with progress and a way to stop, and its form."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from halfroll.app import address, frame
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field, button
from halfroll.app.frame import telling
from halfroll.app.job import work
from halfroll.app.pages.claims import draw_answers
from halfroll.app.release_form import ReleaseForm
from halfroll.app.view import show
from halfroll.compare.claims.recipe import CheckedText
from halfroll.core.errors import CancelledError
from halfroll.core.progress import Progress, part
from halfroll.core.text import count, join_words
from halfroll.publish.release import Built, build_release, change_notes, own_words, preview_release
from halfroll.publish.release.build import file_name
from halfroll.publish.release.changes import Notes
from halfroll.publish.release.contents import TABLE
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.files import digest_of_file
from halfroll.workshop.release_record import ReleaseRecord
from halfroll.workshop.releases import release_folder, turns_of


class ReleasePage:
    """The page of a release."""

    def __init__(self, workshop: Workshop, loaded: Loaded[ReleaseRecord]) -> None:
        self.workshop, self.loaded = workshop, loaded
        self.record = loaded.record

    async def show(self) -> None:
        """Draw it; what takes its time comes last."""
        self._head()
        with el("section", cls="block", aria_labelledby="bundle"):
            el("h2", "The bundle", id="bundle")
            self._form()
            self.contents = el("div", cls="block")
            self.built = el("div", cls="block", role="status")
        with el("section", cls="block", aria_labelledby="notes"):
            el("h2", "Change notes", id="notes")
            self.notes = el("div", cls="block")
        with el("details", cls="block") as fold:
            el("summary", "Change the release")
            ReleaseForm(self.workshop, self.loaded)
        fold.mark("change")
        await self._preview()
        await self._show_notes()

    def _head(self) -> None:
        record, today = self.record, dt.date.today()
        turns = turns_of(self.loaded.id, record, today)
        out = [turn.audience for turn in turns if turn.out]
        coming = [f"{turn.audience} from {turn.date.isoformat()} on" for turn in turns if not turn.out]
        said = [
            f"Out for {join_words(out)}." if out else "Not out yet.",
            f"Next: {join_words(coming)}." if coming else "",
        ]
        show("release_head.html", name=self.loaded.id, href=address.of_release(self.loaded.id), title=record.title,
             standing=" ".join(said).strip(), versions=[(id_, address.of_version(id_)) for id_ in record.versions],
             rows=[("Date", record.date.isoformat()), ("Licence", record.licence), ("By", join_words(list(record.authors)) if record.authors else "")])  # fmt: skip

    def _form(self) -> None:
        who = [(one.name, f"{one.name}, from {one.date.isoformat()}") for one in self.record.who]
        today = dt.date.today()
        first = next(
            (one.name for one in reversed(self.record.who) if one.date <= today), self.record.who[0].name
        )
        with el("div", cls="fields wide"):
            self.audience = Field("audience", "For whom", tag="select", choices=who, value=first)
            self.audience.control.on("entered", telling(self._preview))
            self.early = Field("early", "Before its day", tag="select", choices=[("no", "no: refuse it"), ("yes", "yes, and say so in the manifest")],
                               value="no")  # fmt: skip
        with el("div", cls="actions"):
            button("Build the bundle", self._build, main=True).mark("build")
        el(
            "p",
            "It takes seconds to minutes, mostly for models and papers, and can be stopped. It is kept in the folder of the release.",
            cls="quiet small",
        )

    async def _preview(self) -> None:
        name = self.audience.value
        with self.contents:
            found = await work(
                "Looking what would be in it",
                lambda progress: preview_release(
                    self.workshop, self.loaded.id, audience=name, progress=progress
                ),
            )
        self.contents.clear()
        rows = [
            (content.title, key in found.contents, found.left_out.get(key, ""))
            for key, content in TABLE.items()
        ]
        counts = f"{count(len(found.takes), 'take')} and {count(len(found.runs), 'run')} of {count(len(found.units), 'unit')}"
        with self.contents:
            show(
                "release_contents.html",
                audience=found.audience.name,
                date=found.audience.date.isoformat(),
                rows=rows,
                counts=counts,
                verdicts=found.verdicts,
            )
        self._known(name)

    def _known(self, audience: str) -> None:
        """A bundle that was built before can be downloaded still."""
        path = release_folder(self.workshop, self.loaded.id) / file_name(self.loaded.id, audience)
        self.built.clear()
        if path.is_file():
            with self.built:
                el("p", f"Built before: {path.name}, {path.stat().st_size / 1e6:.1f} MB.", cls="small")
                el("a", "Download it", href=self._href(path), download=True, cls="button")
                el("p", digest_of_file(path), cls="small quiet")

    async def _build(self) -> None:
        name, early = self.audience.value, self.early.value == "yes"
        self.built.clear()
        folder, today = release_folder(self.workshop, self.loaded.id), dt.date.today()
        with self.built:
            try:
                built = await work(
                    "Building the bundle",
                    lambda progress: build_release(
                        self.workshop,
                        self.loaded.id,
                        audience=name,
                        today=today,
                        target=folder,
                        early=early,
                        progress=progress,
                    ),
                )
            except CancelledError:
                self.built.clear()
                frame.say("Stopped. No bundle was written.")
                return
            self._show_built(built)

    def _show_built(self, built: Built) -> None:
        manifest = built.manifest
        show("release_built.html", name=built.path.name, size=f"{built.size / 1e6:.1f} MB", n_files=len(manifest.files), audience=manifest.audience,
             early=manifest.early, href=self._href(built.path), sha256=built.sha256,
             left_out=[(TABLE[line.content].title, line.why) for line in manifest.left_out if line.content in TABLE], verdicts=built.verdicts)  # fmt: skip

    def _href(self, path: Path) -> str:
        return f"{address.of_release(self.loaded.id)}/bundle/{path.name}"

    async def _show_notes(self) -> None:
        def made(progress: Progress) -> tuple[list[Notes], CheckedText]:
            within = part(progress, 0.0, 0.6)
            notes = [change_notes(self.workshop, self.loaded.id, id_, within) for id_ in self.record.versions]
            return notes, own_words(self.workshop, self.loaded, part(progress, 0.6, 1.0))

        holder: Plain = self.notes
        with holder:
            found, said = await work("Comparing with what was released before", made)
            if self.record.notes:
                el("p", self.record.notes, cls="prose")
            if said.sentences:
                draw_answers(said)
            show("release_notes.html", notes=found)
