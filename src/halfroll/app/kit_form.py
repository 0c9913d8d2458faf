"""The form of a new kit: which drivers it is for, what is in the bag, and how its price is made."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import Errors, new_name, number_or_text, record_of, without_place
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop
from halfroll.workshop.kit_record import KitRecord
from halfroll.workshop.kits import add_kit, kit_ids

PRICE = ("currency", "margin_percent", "packing", "postage", "tax_percent", "rounding")
PLACES = {"drivers": "version", "drivers[1].version": "version", "drivers[1].count": "count",
          **{f"price.{key}": key for key in PRICE}}  # fmt: skip


class KitForm:
    """Fields of a new kit; the rest, extras and spares, is written into its file."""

    def __init__(self, workshop: Workshop, versions: Sequence[str]) -> None:
        self.workshop = workshop
        self.fields: dict[str, Field] = {}
        with el("div", cls="fields"):
            self._add("id", "Name", hint="a short one, such as hide-pair")
            self._add("title", "Title", hint="as builders read it")
            self._add(
                "version",
                "Version",
                tag="select",
                choices=[(one, one) for one in versions],
                value=versions[0],
            )
            self._add("count", "Drivers in one kit", value="1", inputmode="numeric")
            printed = [("by the builder", "by the builder"), ("in the bag", "in the bag")]
            self._add("printed", "Printed parts come", tag="select", choices=printed, value="by the builder")
            self._add(
                "spares_percent",
                "More of everything, %",
                value="0",
                inputmode="decimal",
                hint="pieces are rounded up",
            )
        with el("div", cls="fields"):
            self._add("currency", "Currency of its price", hint="three letters (ISO 4217); empty: no price")
            self._add("margin_percent", "Margin, % of the cost", value="0", inputmode="decimal")
            self._add("packing", "Bag and box", value="0", inputmode="decimal")
            self._add("postage", "Postage the builder pays", value="0", inputmode="decimal")
            self._add("tax_percent", "Tax, %", value="0", inputmode="decimal", hint="ask your tax office")
            self._add("rounding", "Price in steps of", inputmode="decimal", hint="empty: the smallest coin")
        with el("div", cls="actions"):
            button("Make the kit", self._keep, main=True).mark("keep-kit")

    def _add(self, key: str, label: str, **how: Any) -> None:
        self.fields[key] = Field(key, label, **how)

    def _keep(self) -> None:
        errors: Errors = {}
        name = new_name(self.fields["id"].value, "kit", "id", kit_ids(self.workshop), errors)
        record = record_of(KitRecord, self._values(), "", errors, fields=PLACES)
        if record is not None and not errors:
            try:
                add_kit(self.workshop, name, record)
            except InputError as fault:
                errors[PLACES.get(fault.place.key or "", fault.place.key or "id")] = without_place(fault)
        made = not errors
        for key, field in self.fields.items():
            field.error(errors.pop(key, ""))
        if errors:
            raise InputError("; ".join(errors.values()))  # of a key without a field
        if made:
            ui.navigate.to(address.of_kit(name))

    def _values(self) -> dict[str, Any]:
        typed = {key: field.value for key, field in self.fields.items()}
        values: dict[str, Any] = {
            "title": typed["title"], "printed": typed["printed"], "spares_percent": number_or_text(typed["spares_percent"]) or 0.0,
            "drivers": ({"version": typed["version"], "count": number_or_text(typed["count"], whole=True) or 1},),
        }  # fmt: skip
        if typed["currency"]:
            price = {key: number_or_text(typed[key]) for key in PRICE if key != "currency"}
            values["price"] = {
                "currency": typed["currency"].upper(),
                **{key: one for key, one in price.items() if one is not None},
            }
        return values
