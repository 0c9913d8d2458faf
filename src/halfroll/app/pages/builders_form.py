"""The form of a builder's check: whose unit, what was read, what was recorded; kept as a draft, read as a record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from halfroll.app.dom import Plain, el
from halfroll.app.field import Field
from halfroll.app.pages.builders_fields import ReadingFields
from halfroll.app.pages.builders_intake import PAGE, RecordingField
from halfroll.app.typed import number_or_text, said_at_field
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop, load_draft, save_draft
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.builders import PLACES, NewRecording, checked_record
from halfroll.workshop.faults import FaultsError

MOUNTED = (("free-air", "lying free"), ("baffle", "in a large board"), ("box", "in its box"))
_FIELDS = ("version", "box_l", "port_hz", "drive_v", "from_unit")
"""Keys of the record that have a field of the same name."""


class CheckForm:
    """Fields of a check.

    Parameters
    ----------
    version_id
        The version to begin with; empty: that of the draft, else the only one there is, else it is asked for.
    on_change
        Told after every change, when the draft is kept.
    """

    def __init__(self, workshop: Workshop, version_id: str, on_change: Callable[[], Any]) -> None:
        self.workshop, self._changed = workshop, on_change
        kept = load_draft(workshop, PAGE) or {}
        self._typed: dict[str, str] = {
            **kept.get("typed", {}),
            **({"version": version_id} if version_id else {}),
        }
        self._files: dict[str, Any] = kept.get("files", {})
        self._sweep: dict[str, Any] | None = kept.get("sweep")
        self.fields: dict[str, Field] = {}
        self.recordings: dict[str, RecordingField] = {}
        self.fault = ""

    @property
    def begun(self) -> bool:
        """Whether something stands in it from before."""
        return bool(self._typed)

    def draw(self) -> None:
        """Put it on the page."""
        with el("form", cls="stack", novalidate="") as form:
            form.on("submit", lambda: None, js_handler="(event) => event.preventDefault()")
            self._whose()
            with section("What was read"):
                el("p", "Begin with the multimeter; every field may stay empty.", cls="quiet small")
                self.readings = ReadingFields(self._typed, self._later)
                self.readings.draw()
            self._recording()

    def add_name(self) -> None:
        """The field of the name under which it is kept."""
        self._add(
            "name", "Name of the check", hint="Small letters, digits, hyphens; empty: the builder's nickname."
        )

    def _later(self) -> None:
        self._reveal()
        self._save_draft()
        self._changed()

    def _whose(self) -> None:
        versions = self.workshop.version_ids()
        typed = self._typed.get("version", "")
        chosen = typed if typed in versions else versions[0] if len(versions) == 1 else ""
        ask = () if chosen else (("", "choose the version"),)
        with section("Whose unit"), el("div", cls="fields"):
            self._add(
                "version",
                "Version",
                tag="select",
                value=chosen,
                choices=(*ask, *((one, one) for one in versions)),
            )
            self._add("builder", "Builder", hint="A nickname; nothing else about a person is kept.")
            self._add("complaint", "In the builder's words", hint="Such as: sounds thin.")
            self._add(
                "from_unit",
                "Unit of the workshop",
                hint="Its readings count too, such as avocet/v8/01; mostly empty.",
            )

    def _recording(self) -> None:
        with section("A recording by telephone, if there is one"):
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

    def _save_draft(self) -> None:
        typed = {key: field.value for key, field in self.fields.items() if field.value}
        files = {place: one.kept for place, one in self.recordings.items() if one.kept}
        save_draft(
            self.workshop,
            PAGE,
            {"typed": {**typed, **self.readings.typed()}, "files": files, "sweep": self._sweep},
        )

    def record(self) -> BuilderRecord | None:
        """The record the form describes; None when something is wrong, which then stands under its field, or nothing was read."""
        self.fault = ""
        for field in self.fields.values():
            field.error("")
        readings = self.readings.values()
        if readings is None or not self._distance():
            return None
        if not self.fields["version"].value:
            if readings or self.recordings["recording"].kept is not None:
                self.fields["version"].error("Say which version was built; the answer depends on it.")
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
            self.say(fault)
            return None
        nothing = not readings and record.from_unit is None and self.recordings["recording"].kept is None
        return None if nothing else record

    def new_recordings(self) -> dict[str, NewRecording]:
        """The recordings that were dropped, by place."""
        distance = number_or_text(self.fields["distance_cm"].value) or 3.0
        found = {}
        for place in PLACES:
            one = self.recordings[place].new(
                self._sweep, float(distance) if not isinstance(distance, str) else 3.0
            )
            if one is not None:
                found[place] = one
        return found

    def _distance(self) -> bool:
        value = number_or_text(self.fields["distance_cm"].value)
        if value is None or (not isinstance(value, str) and 0.0 < value <= 500.0):
            return True
        self.fields["distance_cm"].error(f"A distance of 0 to 500 cm is wanted; found {value!r}.")
        return False

    def say(self, fault: InputError) -> None:
        """Say a fault at its field, else above the answer."""
        for one in fault.faults if isinstance(fault, FaultsError) else (fault,):
            key = one.place.key if one.place.key in _FIELDS else None
            if one.place.key in PLACES:
                self.recordings[str(one.place.key)].error(str(one).partition(": ")[2])
            elif key:
                self.fields[key].error(said_at_field(one))
            else:
                self.fault = str(one)


def section(title: str) -> Plain:
    """A part of a page with its heading."""
    with el("section", cls="block") as box:
        el("h2", title)
    return box
