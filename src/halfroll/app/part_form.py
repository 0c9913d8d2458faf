"""The form of a part: what it is, what it costs, what is in stock; for a new one and for one that is there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, get_args

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import Choices, Field, button
from halfroll.app.offer_lines import HINT, lines_of, offers_in
from halfroll.app.typed import Errors, new_name, number_or_text, record_of, tried, without_place
from halfroll.core.errors import InputError
from halfroll.materials.types import PartKind
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import add_part, part_ids, save_part

NUMBERS = ("outer_mm", "inner_mm", "height_mm", "price", "pack_size", "stock")
TYPES: Choices = [(kind, kind) for kind in get_args(PartKind)]
SHAPES: Choices = [("", "of the catalogue, or none"), ("disc", "disc"), ("ring", "ring")]
UNITS: Choices = [("pieces", "pieces"), ("g", "grams"), ("m", "metres")]


class PartForm:
    """Fields of a part.

    Parameters
    ----------
    workshop
        Where it is kept.
    loaded
        The part that is changed; None for a new one.
    given
        What stands in the fields of a new one, by key.
    """

    def __init__(self, workshop: Workshop, loaded: Loaded[PartRecord] | None = None,
                 given: Mapping[str, str] | None = None) -> None:  # fmt: skip
        self.workshop, self.loaded = workshop, loaded
        self._start = dict(given or {}) if loaded is None else _typed(loaded.record)
        self.fields: dict[str, Field] = {}
        with el("div", cls="fields"):
            if loaded is None:
                self._add("id", "Name", hint="a short one, such as big-magnet")
            self._add("type", "What it is", tag="select", choices=TYPES, value="magnet")
            self._add("title", "Title", hint="may be empty")
            self._add(
                "catalogue", "Catalogue key", hint="such as nd-disc-20x5; empty for a shape of your own"
            )
            shapes = (
                [*SHAPES, ("turned", "turned, as the record says")]
                if self._start.get("shape") == "turned"
                else SHAPES
            )
            self._add("shape", "Shape", tag="select", choices=shapes)
            self._add("outer_mm", "Outer diameter, mm")
            self._add("inner_mm", "Hole, mm", hint="of a ring")
            self._add("height_mm", "Height, mm")
            self._add("material", "Material", hint="a key such as n42 or steel-1008, or one of yours")
        with el("div", cls="fields"):
            self._add("price", "Price of a pack")
            self._add("currency", "Currency", hint="three letters (ISO 4217)")
            self._add("pack_size", "A pack holds", value="1")
            self._add("pack_unit", "Counted in", tag="select", choices=UNITS, value="pieces")
            self._add("stock", "In stock", hint="in the same unit; of one with movements: before the first")
            self._add("place", "Where it lies", hint="a shelf or a drawer, for pick lists")
            self._add(
                "date", "Price of", kind="date", value=dt.date.today().isoformat() if loaded is None else ""
            )
            self._add("supplier", "Supplier")
            self._add("offers", "Offers of others", tag="textarea", hint=HINT)
            self._add("notes", "Notes")
        with el("div", cls="actions"):
            button("Add the part" if loaded is None else "Save", self._keep, main=True).mark("keep-part")

    def _add(self, key: str, label: str, **how: Any) -> None:
        value = self._start.get(key, how.pop("value", "") if self.loaded is None else "")
        how.pop("value", None)
        self.fields[key] = Field(key, label, value=value, **how)

    def _keep(self) -> None:
        errors: Errors = {}
        name = "" if self.loaded is not None else new_name(
            self.fields["id"].value, "part", "id", part_ids(self.workshop), errors)  # fmt: skip
        before = {} if self.loaded is None else dict(self.loaded.record)
        record = None
        try:
            values = {**before, **self._values(), "offers": offers_in(self.fields["offers"].value)}
            record = record_of(PartRecord, values, "", errors)
        except InputError as fault:
            errors["offers"] = without_place(fault)
        for key in [key for key in errors if key.startswith("offers[")]:
            errors["offers"] = errors.pop(key)
        if record is not None and not errors:
            self._try(name, record, errors)
        for key, field in self.fields.items():
            field.error(errors.pop(key, ""))
        if errors:
            raise InputError("; ".join(errors.values()))  # of a key without a field

    def _try(self, name: str, record: PartRecord, errors: Errors) -> None:
        def save() -> object:
            if self.loaded is None:
                return add_part(self.workshop, name, record)
            return save_part(self.workshop, self.loaded, record)

        if tried(save, self.fields, errors):
            ui.navigate.to(address.of_part(name or (self.loaded.id if self.loaded else "")))

    def _values(self) -> dict[str, Any]:
        """What is typed, as values of the record; what is empty is taken away."""
        typed = {key: field.value for key, field in self.fields.items() if key not in ("id", "offers")}
        values: dict[str, Any] = {}
        for key, text in typed.items():
            if key in NUMBERS:
                values[key] = number_or_text(text)
            elif key in ("title", "place", "supplier", "notes"):
                values[key] = text
            else:
                values[key] = text or None
        if values["pack_size"] is None:
            values["pack_size"] = 1.0
        if values["currency"]:
            values["currency"] = values["currency"].upper()
        if values["price"] is None:
            values["date"] = None if self.loaded is None else values["date"]
        if values["shape"] != "turned":
            values["profile_mm"] = ()
        return values


def _typed(record: PartRecord) -> dict[str, str]:
    """What a record says, as it is typed."""
    said: dict[str, str] = {}
    for key, value in record:
        if isinstance(value, float):
            said[key] = f"{value:g}"
        elif isinstance(value, dt.date):
            said[key] = value.isoformat()
        elif isinstance(value, str):
            said[key] = value
    said["offers"] = lines_of(record.offers)
    return said
