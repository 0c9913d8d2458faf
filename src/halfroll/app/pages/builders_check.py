"""``/builders/<check>``: one check, its answer, and what it was in the end."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.pages.builders_answer import draw_answer
from halfroll.app.pages.builders_fields import ReadingFields, typed_of
from halfroll.app.view import show
from halfroll.builds.checks import Checked, check_unit
from halfroll.builds.faults.kinds import FAULTS
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress
from halfroll.publish.builders_rows import NOTHING, STATUSES, fault_words
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.builders import kept_recordings, save_check


class CheckPage:
    """The page of one check."""

    def __init__(self, workshop: Workshop, loaded: Loaded[BuilderRecord]) -> None:
        self.workshop, self.loaded = workshop, loaded

    async def show(self) -> None:
        """Put it on the page, worked out once."""
        self._head()
        body = el("section", cls="block", aria_label="Answer").mark("answer")
        with body:
            try:
                found = await work("Looking for faults", self._find)
            except CancelledError:
                el("p", "Stopped. Load the page again to go on.", cls="quiet")
            except InputError as fault:
                el("p", str(fault), cls="alert", role="alert")
            else:
                with body:
                    draw_answer(found)
        self._more_readings()
        self._end()

    def _find(self, progress: Progress) -> Checked:
        return check_unit(self.workshop, self.loaded.record, kept_recordings(self.loaded), progress)

    def _head(self) -> None:
        record, name = self.loaded.record, self.loaded.id
        rows = [
            ("Builder", record.builder), ("Date", record.date.isoformat()), ("Status", STATUSES[record.status]),
            ("It was", fault_words(record.found_fault)), ("Recording", "" if record.recording is None else record.recording.file),
            ("Good unit", "" if record.reference is None else record.reference.file), ("Notes", record.notes),
        ]  # fmt: skip
        show("builders_check_head.html", name=name, href=address.of_check(name), title=name, complaint=record.complaint,
             version=record.version, version_href=address.of_version(record.version),
             rows=[row for row in rows if row[1]])  # fmt: skip

    def _more_readings(self) -> None:
        with el("details", cls="fold no-print"):
            el("summary", "Readings: change them, or add the next one")
            self._readings = ReadingFields(typed_of(self.loaded.record), lambda: None)
            self._readings.draw()
            with el("div", cls="actions"):
                button("Save and answer again", self._save_readings, main=True).mark("save-readings")

    def _save_readings(self) -> None:
        readings = self._readings.values()
        if readings is None:
            return
        before = {one.what: one for one in self.loaded.record.readings}
        tables: list[Any] = []
        for one in readings:  # what was not touched keeps its note and how it was read
            old = before.get(one["what"])
            same = old is not None and old.value == one["value"] and old.u == one.get("u")
            tables.append(old if same else one)
        self._keep({"readings": tuple(tables)})

    def _end(self) -> None:
        record = self.loaded.record
        with el("section", cls="block no-print"):
            el("h2", "What was answered, and what it was")
            faults = [
                ("", "not known yet"),
                (NOTHING, "nothing, the unit is good"),
                *((one.key, one.label) for one in FAULTS),
            ]
            known = [key for key, _ in faults]
            if record.found_fault and record.found_fault not in known:
                faults.append((record.found_fault, record.found_fault))
            with el("div", cls="fields wide"):
                self._status = Field(
                    "status", "Status", tag="select", value=record.status, choices=tuple(STATUSES.items())
                )
                self._found = Field("found_fault", "It was", tag="select", value=record.found_fault or "", choices=tuple(faults),
                                    hint="Counted on the page of all builders: so the workshop learns what goes wrong.")  # fmt: skip
            self._answered = Field("answer", "Answer given", tag="textarea", value=record.answer)
            with el("div", cls="actions"):
                button("Save", self._save_end, main=True).mark("save-check")

    def _save_end(self) -> None:
        found = self._found.value or None
        status = self._status.value
        if found is not None and status == "open":
            self._status.error("What it was is known only of a check that is answered or mended.")
            return
        self._keep({"status": status, "found_fault": found, "answer": self._answered.value})

    def _keep(self, changes: dict[str, Any]) -> None:
        from halfroll.workshop.faults import check

        data = {**self.loaded.record.model_dump(), **changes}
        record = check(
            BuilderRecord, {key: value for key, value in data.items() if value is not None}, file=""
        )
        self.loaded = save_check(self.workshop, self.loaded, record)
        ui.navigate.reload()
