"""What was really built, on the page of a unit: weighed parts, joints, deviations, photographs, the driver they make, and forms to note more."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import Response
from nicegui import app, ui

from halfroll.app import address, photograph_intake
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.handed import refused
from halfroll.app.intake import DropZone
from halfroll.app.typed import number_or_text, said_at_field, without_place
from halfroll.app.view import show
from halfroll.builds.guide.side_by_side import SideBySide
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.text import format_stated
from halfroll.publish.as_built_chart import as_built_chart
from halfroll.publish.as_built_rows import reading_rows, value_rows
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop import UnitRecord, Workshop
from halfroll.workshop.built_notes import noted
from halfroll.workshop.built_weights import WEIGHED_WORDS
from halfroll.workshop.faults import FaultsError
from halfroll.workshop.photographs import (
    add_photograph,
    photographs_of,
    read_photograph,
    remove_photograph,
    said_of,
)
from halfroll.workshop.picture_bytes import MEDIA

PLAIN = (("re_ohm", "DC resistance, Ω"), ("re_u_ohm", "Its standard uncertainty, Ω"), ("moving_mass_g", "Moving mass without air, g"),
         ("moving_mass_u_g", "Its standard uncertainty, g"))  # fmt: skip
DEVIATION = (("what", "What"), ("planned", "Planned"), ("built", "Built"), ("why", "Why"))
JOINT = (("seam", "Joint"), ("glue", "Glue"), ("mass_g", "How much, g"))


def register(workshop: Workshop) -> None:
    """Add the route photographs are sent to, and the one they are seen at."""
    photograph_intake.register(workshop)

    @app.get("/photograph/{driver}/{version}/{unit}/{file}")
    def seen(driver: str, version: str, unit: str, file: str) -> Response:
        try:
            found = read_photograph(workshop, f"{driver}/{version}/{unit}", file)
        except HalfrollError as fault:
            return refused(fault, 404)
        return Response(
            found.data,
            media_type=MEDIA[found.format],
            headers={"X-Content-Type-Options": "nosniff", "Cache-Control": "no-cache"},
        )


def show_built(workshop: Workshop, unit_id: str) -> None:
    """Weighed parts, joints, deviations and photographs; nothing where nothing is noted."""
    record = workshop.unit(unit_id).record
    photographs = photographs_of(workshop, unit_id)
    show(
        "unit_built.html",
        weighed=_weighed(record), glued=_glued(record), deviations=_deviations(record),
        photographs=[
            {"src": "" if one.state == "missing" else address.of_photograph(unit_id, one.file), "file": one.file, "shows": one.shows,
             "date": "" if one.date is None else one.date.isoformat()}
            for one in photographs
        ],
        verdicts=said_of(photographs),
    )  # fmt: skip


def _weighed(record: UnitRecord) -> list[tuple[str, str]]:
    if record.weighed is None:
        return []
    found = [(words, getattr(record.weighed, f"{name}_g")) for name, words in WEIGHED_WORDS.items()]
    return [(words, format_stated(grams, "g")) for words, grams in found if grams is not None]


def _glued(record: UnitRecord) -> Rows | None:
    rows = tuple(
        (one.seam, one.glue or "–", "–" if one.mass_g is None else format_stated(one.mass_g, "g"))
        for one in record.glued
    )
    return Rows(head=("Joint", "Glue", "How much"), rows=rows) if rows else None


def _deviations(record: UnitRecord) -> Rows | None:
    rows = tuple(
        (one.what, one.planned or "–", one.built or "–", one.why or "–") for one in record.deviations
    )
    return Rows(head=("Built otherwise", "Planned", "Built", "Why"), rows=rows) if rows else None


def show_driver(shown: SideBySide) -> None:
    """The driver as built beside its prediction and its measurement."""
    with el("section", cls="block", aria_labelledby="as-built-driver"):
        el("h3", "The driver as built").put(id="as-built-driver")
        with el("figure"):
            Chart(lambda look, width_px: as_built_chart(shown, theme=look, width_px=width_px)).mark(
                "chart-as-built"
            )
        show(
            "unit_driver.html",
            values=value_rows(shown),
            readings=reading_rows(shown),
            verdicts=shown.found.verdicts,
        )


class BuiltForm:
    """The forms that note what was built; every one saves at once and shows the page anew."""

    def __init__(self, workshop: Workshop, unit_id: str) -> None:
        self.workshop, self.unit_id = workshop, unit_id
        self.fields: dict[str, Field] = {}
        with el("details", cls="block no-print").mark("note-built"):
            el("summary", "Note what was built")
            self._readings()
            self._rows("deviation", "Built otherwise than planned", DEVIATION, "deviations")
            self._rows("joint", "A joint", JOINT, "glued")
            self._photograph()

    def _readings(self) -> None:
        record = self.workshop.unit(self.unit_id).record
        weighed = record.weighed
        with el("div", cls="fields"):
            for key, label in PLAIN:
                self._field(key, label, getattr(record, key) or None)
            for name, words in WEIGHED_WORDS.items():
                self._field(f"weighed.{name}_g", f"{words}, g", getattr(weighed, f"{name}_g", None))
            self._field(
                "weighed.u_g",
                "Standard uncertainty of each weighing, g",
                getattr(weighed, "u_g", None) or None,
                hint="empty: 0.02 g",
            )
            self.fields["faulty"] = Field(
                "faulty",
                "Known to be faulty",
                value=record.faulty,
                hint="then it does not count for the bands",
            )
        with el("div", cls="actions"):
            button("Save the readings", self._save_readings, main=True).mark("save-readings")

    def _field(self, key: str, label: str, value: float | None, hint: str = "") -> None:
        self.fields[key] = Field(
            key, label, value="" if value is None else f"{value:g}", hint=hint, inputmode="decimal"
        )

    def _save_readings(self) -> None:
        record = self.workshop.unit(self.unit_id).record
        values: dict[str, Any] = {}
        for key, _ in PLAIN:
            typed = number_or_text(self.fields[key].value)
            default = UnitRecord.model_fields[key].default
            values[key] = default if typed is None else typed
        weighed = {
            key.removeprefix("weighed."): number_or_text(self.fields[key].value)
            for key in self.fields
            if key.startswith("weighed.")
        }
        if any(value is not None for value in weighed.values()) or record.weighed is not None:
            weighed["u_g"] = weighed["u_g"] or 0.0
        self._save(weighed=weighed, faulty=self.fields["faulty"].value, **values)

    def _rows(self, name: str, heading: str, keys: tuple[tuple[str, str], ...], place: str) -> None:
        el("h3", heading)
        with el("div", cls="fields"):
            for key, label in keys:
                self.fields[f"{place}.{key}"] = Field(f"{name}-{key}", label)

        def add() -> None:
            row = {
                key: (number_or_text(text) if key.endswith("_g") else text)
                for key, _ in keys
                if (text := self.fields[f"{place}.{key}"].value)
            }
            if not row:
                self.fields[f"{place}.{keys[0][0]}"].error("Say what it is about.")
                return
            self._save(place=place, **{place: [row]})

        with el("div", cls="actions"):
            button(f"Add the {name}", add).mark(f"add-{name}")
            if getattr(self.workshop.unit(self.unit_id).record, place):
                button(f"Take the last {name} out", lambda: self._take_out(place)).mark(f"remove-{name}")

    def _take_out(self, place: str) -> None:
        loaded = self.workshop.unit(self.unit_id)
        self.workshop.save(loaded, loaded.record.changed(**{place: getattr(loaded.record, place)[:-1]}))
        self._again()

    def _save(self, place: str = "", **values: Any) -> None:
        """Save, or say each fault under its field."""
        for field in self.fields.values():
            field.error("")
        loaded = self.workshop.unit(self.unit_id)
        try:
            record = noted(loaded.record, file="", **values)
        except FaultsError as error:
            faults: tuple[InputError, ...] = error.faults
        except InputError as error:
            faults = (error,)
        else:
            self.workshop.save(loaded, record)
            self._again()
            return
        for fault in faults:
            first = next((name for name in self.fields if place and name.startswith(place)), "faulty")
            self.fields.get(_plain_key(fault.place.key or ""), self.fields[first]).error(said_at_field(fault))

    def _again(self) -> None:
        ui.navigate.to(address.of_unit(self.unit_id))

    def _photograph(self) -> None:
        el("h3", "A photograph")
        self.held = el("div", cls="block")
        self.refused = el("p", cls="alert", role="alert").mark("photograph-refused")
        DropZone(on_kept=self._kept, on_refused=self._refused, url=photograph_intake.URL, accept=".jpg,.jpeg,.png,.webp", kinds=photograph_intake.KINDS,
                 name="photographs").mark("drop-photograph")  # fmt: skip
        for one in self.workshop.unit(self.unit_id).record.photographs:
            button(f"Take out {one.file}", lambda file=one.file: self._remove(file))

    def _refused(self, name: str, why: str) -> None:
        self.refused.text = f"{name}: {why}"

    def _kept(self, answer: dict[str, Any]) -> None:
        self.refused.text = ""
        with self.held, el("div", cls="fields"):
            el("p", f"{answer['name']}: {answer['about']}.")
            shows = Field("shows", "What it shows", hint="one sentence for whoever cannot see it")
            taken = Field("taken", "When it was taken", kind="date")
            button("Add the photograph", lambda: self._add(answer, shows, taken), main=True).mark(
                "add-photograph"
            )

    def _add(self, answer: dict[str, Any], shows: Field, taken: Field) -> None:
        shows.error("")
        if not shows.value:
            shows.error("Say in a sentence what it shows.")
            return
        try:
            data = photograph_intake.kept_bytes(self.workshop, answer["token"])
            day = dt.date.fromisoformat(taken.value) if taken.value else None
            add_photograph(self.workshop, self.unit_id, answer["name"], data, shows.value, day)
        except InputError as fault:
            shows.error(without_place(fault))
            return
        photograph_intake.drop(self.workshop, answer["token"])
        self._again()

    def _remove(self, file: str) -> None:
        remove_photograph(self.workshop, self.unit_id, file)
        self._again()


def _plain_key(key: str) -> str:
    """A record's key without the number of a row: ``deviations[0].what`` is ``deviations.what``."""
    head, _, rest = key.partition("[")
    return head + rest.partition("]")[2] if rest else head
