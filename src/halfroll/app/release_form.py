"""The form of a release: what is published, when, for whom, under which licence, and what goes along."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import Choices, Field, button
from halfroll.app.typed import Errors, new_name, record_of, said_at_field, tried
from halfroll.core.errors import InputError
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.licences import LICENCES
from halfroll.workshop.release_record import CONTENTS, AudienceTable, ReleaseRecord, new_values
from halfroll.workshop.releases import free_release_id, new_release, release_ids, save_release

TAKES: Choices = [("best", "the best of each unit"), ("all", "all"), ("none", "none")]
ALONG = {
    "bill": "Bill of materials, with prices",
    "photographs": "Photographs of units",
    "builders": "Names of builders",
    "runs": "Impedance, tones and other runs",
}
YES: Choices = [("yes", "yes"), ("no", "no")]
WHO = "One a line: name; date; what they get if not all. Such as: supporters; 2026-07-01"


class ReleaseForm:
    """Fields of a release; of a new one where `loaded` is None, which then starts with `versions`."""

    def __init__(
        self, workshop: Workshop, loaded: Loaded[ReleaseRecord] | None = None, versions: Sequence[str] = ()
    ) -> None:
        self.workshop, self.loaded = workshop, loaded
        record = None if loaded is None else loaded.record
        self.fields: dict[str, Field] = {}
        with el("div", cls="fields"):
            self._what(record, versions)
        with el("div", cls="fields"):
            self._along(record)
        with el("div", cls="actions"):
            words = "Make the release" if record is None else "Save"
            button(words, self._keep, main=True).mark("keep-release")

    def _what(self, record: ReleaseRecord | None, versions: Sequence[str]) -> None:
        """What is released, when, by whom and for whom."""
        if record is None:
            free = free_release_id(self.workshop, versions)
            self._add("id", "Name", value=free, hint="a short one, part of the file's name")
        title = "" if record is None else record.title
        self._add("title", "Title", value=title, hint="such as Avocet v8")
        released = "\n".join(versions if record is None else record.versions)
        self._add("versions", "Versions", value=released, tag="textarea", hint="one a line: driver/version")
        date = dt.date.today() if record is None else record.date
        self._add("date", "Date of the release", kind="date", value=date.isoformat())
        self._licence(record)
        authors = "\n".join((self.workshop.name,) if record is None else record.authors)
        self._add("authors", "Authors", value=authors, tag="textarea", hint="one a line")
        self._add("audiences", "For whom", value="" if record is None else lines_of(record.audiences), tag="textarea",
                  hint=f"{WHO}. Empty: everyone from the date on.")  # fmt: skip

    def _along(self, record: ReleaseRecord | None) -> None:
        """What goes along, and the maker's own words."""
        takes = "best" if record is None else record.takes
        choices = [*TAKES, ("chosen", "those named in the record")] if takes == "chosen" else TAKES
        self._add("takes", "Recordings", tag="select", value=takes, choices=choices)
        models = ", ".join(("3mf", "stl", "step") if record is None else record.models)
        self._add("models", "Models", value=models, hint="3mf, stl, step; empty: none")
        for key, label in ALONG.items():
            value = getattr(record, key) if record is not None else key in ("bill", "runs")
            self._add(key, label, tag="select", choices=YES, value="yes" if value else "no")
        left_out = "" if record is None else ", ".join(record.leave_out)
        self._add("leave_out", "Leave out", value=left_out, hint=f"of: {', '.join(CONTENTS)}")
        self._add("notes", "Your own words", value="" if record is None else record.notes, tag="textarea",
                  hint="for the change notes; what they claim must be borne by the figures")  # fmt: skip

    def _licence(self, record: ReleaseRecord | None) -> None:
        known: Choices = [(id_, f"{id_}: {one.title}") for id_, one in LICENCES.items()]
        value = "CERN-OHL-S-2.0" if record is None else record.licence
        others = [] if value in LICENCES else [(value, value)]
        self._add("licence", "Licence", tag="select", choices=[*others, *known], value=value,
                  hint="of your own: LicenseRef-NAME, written into the record with its text beside it")  # fmt: skip

    def _add(self, key: str, label: str, **how: Any) -> None:
        self.fields[key] = Field(key, label, **how)

    def _keep(self) -> None:
        errors: Errors = {}
        name = (
            ""
            if self.loaded is not None
            else new_name(self.fields["id"].value, "release", "id", release_ids(self.workshop), errors)
        )
        record = self._record(errors)
        if record is not None and not errors:
            self._try(name, record, errors)
        for key, field in self.fields.items():
            field.error(errors.pop(key, ""))
        if errors:
            raise InputError("; ".join(errors.values()))

    def _record(self, errors: Errors) -> ReleaseRecord | None:
        before = {} if self.loaded is None else dict(self.loaded.record)
        try:
            values = {**before, **self._values()}
        except InputError as fault:
            errors["audiences"] = said_at_field(fault)
            return None
        found: Errors = {}
        record = record_of(ReleaseRecord, values, "", found)
        for key, text in found.items():
            errors.setdefault(re.split(r"[\[.]", key)[0], text)
        return record if isinstance(record, ReleaseRecord) else None

    def _values(self) -> dict[str, Any]:
        typed = {key: field.value for key, field in self.fields.items() if key != "id"}
        values: dict[str, Any] = dict(typed)
        for key in ALONG:
            values[key] = typed[key] == "yes"
        for key in ("versions", "authors"):
            values[key] = [line.strip() for line in typed[key].splitlines() if line.strip()]
        for key in ("models", "leave_out"):
            values[key] = [word.lower() for word in re.split(r"[,\s]+", typed[key]) if word]
        values["audiences"] = audiences_in(typed["audiences"])
        kept = (*ALONG, "models", "leave_out", "authors", "audiences", "notes")
        return {**new_values(**values), **{key: values[key] for key in kept}}

    def _try(self, name: str, record: ReleaseRecord, errors: Errors) -> None:
        def save() -> object:
            if self.loaded is None:
                return new_release(self.workshop, name, record)
            return save_release(self.workshop, self.loaded, record)

        if tried(save, self.fields, errors):
            ui.navigate.to(address.of_release(name or (self.loaded.id if self.loaded else "")))


def lines_of(audiences: Sequence[AudienceTable]) -> str:
    """Audiences as they are typed."""
    return "\n".join(
        f"{one.name}; {one.date.isoformat()}" + (f"; {', '.join(one.gets)}" if one.gets else "")
        for one in audiences
    )


def audiences_in(text: str) -> list[dict[str, Any]]:
    """Audiences as tables of a record, not checked but for their form.

    Raises
    ------
    InputError
        A line has no name and date.
    """
    found = []
    for line in text.splitlines():
        if not line.strip():
            continue
        words = [word.strip() for word in line.split(";")]
        if not 2 <= len(words) <= 3:
            raise InputError(
                "An audience must be name; date; and, if not all, what it gets",
                key="audiences",
                found=line.strip(),
            )
        gets = [word.lower() for word in re.split(r"[,\s]+", words[2]) if word] if len(words) == 3 else []
        found.append({"name": words[0].lower(), "date": words[1], **({"gets": gets} if gets else {})})
    return found
