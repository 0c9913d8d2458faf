"""``/builders/new``: what a builder read, typed in, and the answer while it is typed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field, button
from halfroll.app.job import Job, work
from halfroll.app.pages.builders_answer import draw_answer
from halfroll.app.pages.builders_fields import ReadingFields
from halfroll.app.pages.builders_intake import PAGE, RecordingField
from halfroll.app.typed import number_or_text, said_at_field
from halfroll.builds.checks import Checked, Known, check_unit, known_of
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress, part
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.builders import PLACES, NewRecording, add_check, checked_record, free_name
from halfroll.workshop.faults import FaultsError

WAIT_S = 0.6
"""So long after the last keystroke it is worked out anew."""

MOUNTED = (("free-air", "lying free"), ("baffle", "in a large board"), ("box", "in its box"))
_FIELD_OF = {
    "version": "version",
    "box_l": "box_l",
    "port_hz": "port_hz",
    "drive_v": "drive_v",
    "from_unit": "from_unit",
}


class NewCheck:
    """The form and its answer."""

    def __init__(self, workshop: Workshop, version_id: str) -> None:
        self.workshop = workshop
        kept = load_draft(workshop, PAGE) or {}
        self._typed: dict[str, str] = {
            **kept.get("typed", {}),
            **({"version": version_id} if version_id else {}),
        }
        self._files: dict[str, Any] = kept.get("files", {})
        self._sweep: dict[str, Any] | None = kept.get("sweep")
        self._known: Known | None = None
        self._job: Job | None = None
        self._turn = 0
        self.fields: dict[str, Field] = {}
        self.recordings: dict[str, RecordingField] = {}

    def draw(self) -> None:
        """Put it on the page."""
        with el("form", cls="stack", novalidate="") as form:
            form.on("submit", lambda: None, js_handler="(event) => event.preventDefault()")
            self._whose()
            with _section("What was read"):
                el("p", "Begin with the multimeter; every field may stay empty.", cls="quiet small")
                self.readings = ReadingFields(self._typed, self._later)
                self.readings.draw()
            self._recording()
        with el("section", cls="block", aria_label="Answer", aria_live="polite"):
            self._fault = el("p", cls="alert", role="alert").mark("check-fault")
            self._panel = el("div")
            self._answer = el("div", cls="block").mark("answer")
            with self._answer:
                el("p", "The answer appears here as soon as something was read.", cls="quiet")
        self._keeping()
        if self._typed:
            self._later()

    def _whose(self) -> None:
        versions = self.workshop.version_ids()
        chosen = self._typed.get("version", "")
        with _section("Whose unit"), el("div", cls="fields"):
            self._add("version", "Version", tag="select", value=chosen if chosen in versions else versions[-1],
                      choices=tuple((one, one) for one in versions))  # fmt: skip
            self._add("builder", "Builder", hint="A nickname; nothing else about a person is kept.")
            self._add("complaint", "In the builder's words", hint="Such as: sounds thin.")
            self._add(
                "from_unit",
                "Unit of the workshop",
                hint="Its readings count too, such as avocet/v8/01; mostly empty.",
            )

    def _recording(self) -> None:
        with _section("A recording by telephone, if there is one"):
            el(
                "p",
                "Mind your ears: the sweep is played quietly, the telephone 3 cm before the cone.",
                cls="quiet small",
            )
            with el("p", cls="small"):
                el("a", "Download the builders' sweep", href="/builders/sweep.wav", download="")
            with el("div", cls="fields"):
                self._add(
                    "mounting",
                    "The driver sat",
                    tag="select",
                    value=self._typed.get("mounting", "free-air"),
                    choices=MOUNTED,
                )
                self._add("box_l", "Volume of the box, l", inputmode="decimal")
                self._add(
                    "port_hz", "Its port is tuned to, Hz", inputmode="decimal", hint="Empty: a closed box."
                )
                self._add(
                    "distance_cm",
                    "Telephone to cone, cm",
                    value=self._typed.get("distance_cm", "3"),
                    inputmode="decimal",
                )
                self._add(
                    "drive_v",
                    "Volts at the terminals",
                    inputmode="decimal",
                    hint="While it played; distortion counts only with it.",
                )
            with el("div", cls="two"):
                for place, title in (
                    ("recording", "This unit"),
                    ("reference", "A good unit by the same telephone"),
                ):
                    with el("div", cls="block"):
                        el("h3", title)
                        self.recordings[place] = RecordingField(
                            self.workshop, place, self._files.get(place), self._later, self._played
                        )
            self._sweep_said = el("p", cls="quiet small").mark("sweep-said")
            self._say_sweep()
            self._reveal()

    def _keeping(self) -> None:
        with _section("Keep it"):
            with el("div", cls="fields"):
                self._add(
                    "name",
                    "Name of the check",
                    hint="Small letters, digits, hyphens; empty: the builder's nickname.",
                )
            with el("div", cls="actions"):
                button("Keep the check", self._keep, main=True).mark("keep-check")
                button("Empty the form", self._forget).mark("empty-check")

    def _add(self, key: str, label: str, **more: Any) -> None:
        more.setdefault("value", self._typed.get(key, ""))
        self.fields[key] = Field(key, label, on_change=lambda _: self._later(), **more)

    def _played(self, sweep: dict[str, Any]) -> None:
        self._sweep = sweep
        self._say_sweep()
        self._later()

    def _say_sweep(self) -> None:
        sweep = self._sweep
        self._sweep_said.text = (
            "The builders' sweep was played. Was it another, drop its .toml file beside the recording."
            if sweep is None
            else f"Played was a sweep from {sweep['start_hz']:g} to {sweep['stop_hz']:g} Hz in {sweep['duration_s']:g} s, as its file says."
        )

    def _reveal(self) -> None:
        boxed = self.fields["mounting"].value == "box"
        for key in ("box_l", "port_hz"):
            self.fields[key].show(boxed)

    def _later(self) -> None:
        """Keep the draft, and work out anew once nothing more is typed for a moment."""
        self._reveal()
        self._save_draft()
        self._turn += 1
        mine = self._turn
        if self._job is not None:
            self._job.stop()

        async def when_quiet() -> None:
            if mine == self._turn:
                await self._work(mine)

        with self._panel:
            ui.timer(WAIT_S, when_quiet, once=True)

    def _save_draft(self) -> None:
        typed = {key: field.value for key, field in self.fields.items() if field.value}
        files = {place: one.kept for place, one in self.recordings.items() if one.kept}
        save_draft(
            self.workshop,
            PAGE,
            {"typed": {**typed, **self.readings.typed()}, "files": files, "sweep": self._sweep},
        )

    async def _work(self, mine: int) -> None:
        record = self._record()
        if record is None:
            return
        self._job = Job("Looking for faults")
        try:
            with self._panel:
                found = await work(
                    "Looking for faults", lambda progress: self._find(record, progress), job=self._job
                )
        except CancelledError:
            if mine == self._turn:
                self._fault.text = "Stopped. Change a value to go on."
            return
        except InputError as fault:
            if mine == self._turn:
                self._say(fault)
            return
        if mine == self._turn:
            self._show(found)

    def _find(self, record: BuilderRecord, progress: Progress) -> Checked:
        self._known = known_of(self.workshop, record, part(progress, 0.0, 0.8), self._known)
        return check_unit(
            self.workshop, record, self._new_recordings(), part(progress, 0.8, 1.0), known=self._known
        )

    def _show(self, found: Checked) -> None:
        self._answer.clear()
        with self._answer:
            draw_answer(found, whole=False)

    def _new_recordings(self) -> dict[str, NewRecording]:
        distance = number_or_text(self.fields["distance_cm"].value) or 3.0
        found = {}
        for place in PLACES:
            one = self.recordings[place].new(
                self._sweep, float(distance) if not isinstance(distance, str) else 3.0
            )
            if one is not None:
                found[place] = one
        return found

    def _record(self) -> BuilderRecord | None:
        """The record the form describes; None when something is wrong, which then stands under its field, or nothing was read."""
        self._fault.text = ""
        for field in self.fields.values():
            field.error("")
        readings = self.readings.values()
        if readings is None or not self._distance():
            return None
        values: dict[str, Any] = {
            "date": dt.date.today(), "version": self.fields["version"].value, "builder": self.fields["builder"].value,
            "complaint": self.fields["complaint"].value, "mounting": self.fields["mounting"].value, "readings": readings,
        }  # fmt: skip
        boxed = values["mounting"] == "box"
        for key in ("drive_v", "box_l", "port_hz"):
            value = number_or_text(self.fields[key].value)
            if value is not None and (boxed or key == "drive_v"):
                values[key] = float(value) if isinstance(value, int) else value
        if self.fields["from_unit"].value:
            values["from_unit"] = self.fields["from_unit"].value
        try:
            record = checked_record(self.workshop, values)
        except InputError as fault:
            self._say(fault)
            return None
        if not readings and record.from_unit is None and self.recordings["recording"].kept is None:
            self._answer.clear()
            with self._answer:
                el("p", "The answer appears here as soon as something was read.", cls="quiet")
            return None
        return record

    def _distance(self) -> bool:
        value = number_or_text(self.fields["distance_cm"].value)
        if value is None or (not isinstance(value, str) and 0.0 < value <= 500.0):
            return True
        self.fields["distance_cm"].error(f"A distance of 0 to 500 cm is wanted; found {value!r}.")
        return False

    def _say(self, fault: InputError) -> None:
        """Say a fault at its field, else above the answer."""
        for one in fault.faults if isinstance(fault, FaultsError) else (fault,):
            key = _FIELD_OF.get(one.place.key or "")
            if one.place.key in PLACES:
                self.recordings[str(one.place.key)].error(str(one).partition(": ")[2])
            elif key:
                self.fields[key].error(said_at_field(one))
            else:
                self._fault.text = str(one)

    async def _keep(self) -> None:
        record = self._record()
        if record is None:
            self._fault.text = (
                self._fault.text
                or "Nothing was kept: something was not read yet, or a field above needs a look."
            )
            return
        wish = self.fields["name"].value or record.builder or record.version.replace("/", "-")
        try:
            loaded = add_check(
                self.workshop,
                self.fields["name"].value or free_name(self.workshop, wish),
                record,
                self._new_recordings(),
            )
        except InputError as fault:
            self.fields["name"].error(said_at_field(fault))
            return
        clear_draft(self.workshop, PAGE)
        ui.navigate.to(address.of_check(loaded.id))

    def _forget(self) -> None:
        clear_draft(self.workshop, PAGE)
        ui.navigate.to(address.of_new_check())


def _section(title: str) -> Plain:
    with el("section", cls="block") as box:
        el("h2", title)
    return box
