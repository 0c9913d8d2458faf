"""The form of a version's bill: what the design does not know, and what a slicer says."""

from __future__ import annotations

from nicegui import ui

from halfroll.app import address
from halfroll.app.bill_lines import HINTS, bill_in, texts_of
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import said_at_field, without_place
from halfroll.core.errors import InputError
from halfroll.workshop import Loaded, VersionRecord, Workshop
from halfroll.workshop.bill_record import BillTable
from halfroll.workshop.faults import FaultsError, check

LABELS = {"bought": "Bought", "printed": "Printed", "glued": "Glued"}


class BillForm:
    """Fields of a bill; what is wrong is said under them, and nothing is kept."""

    def __init__(self, workshop: Workshop, loaded: Loaded[VersionRecord]) -> None:
        self.workshop, self.loaded = workshop, loaded
        texts = texts_of(loaded.record.bill)
        with el("div", cls="block"):
            self.fields = {
                key: Field(key, label, tag="textarea", value=texts[key], hint=HINTS[key], rows=max(4, texts[key].count("\n") + 2))
                for key, label in LABELS.items()
            }  # fmt: skip
            self.fields["work_hours"] = Field(
                "work_hours", "Hours of work on one driver", value=texts["work_hours"]
            )
        with el("div", cls="actions"):
            button("Keep the bill", self._keep, main=True).mark("keep-bill")

    def _keep(self) -> None:
        errors: dict[str, str] = {}
        bill = self._read(errors)
        for key, field in self.fields.items():
            field.error(errors.get(key, ""))
        if errors:
            return
        self.workshop.save(self.loaded, self.loaded.record.changed(bill=bill))
        ui.navigate.to(address.of_bill(self.loaded.id))

    def _read(self, errors: dict[str, str]) -> BillTable | None:
        """The bill that is typed; None for an empty one, or with what is wrong by its field."""
        try:
            data = bill_in({key: field.value for key, field in self.fields.items()})
        except InputError as fault:
            errors[fault.place.key or "bought"] = without_place(fault)
            return None
        if not data:
            return None
        try:
            return check(BillTable, data, file="")
        except FaultsError as several:
            faults: tuple[InputError, ...] = several.faults
        except InputError as fault:
            faults = (fault,)
        for one in faults:
            key = one.place.key or "bought"
            errors.setdefault(key.partition("[")[0].partition(".")[0], f"{key}: {said_at_field(one)}")
        return None
