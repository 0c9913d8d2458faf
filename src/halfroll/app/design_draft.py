"""A motor's design while it is worked on: what stands in the form, what of it can be built, and what is wrong with the rest."""

from __future__ import annotations

import copy
from typing import Any

from halfroll.app.design_stack import place, rename, take_out, tidy
from halfroll.app.design_tables import Built, Data, free_name, typed_value, written
from halfroll.app.draft import Draft
from halfroll.app.typed import without_place
from halfroll.core.errors import InputError
from halfroll.motor.coil.wound import wind
from halfroll.motor.placing.stack import assemble
from halfroll.workshop import Workshop
from halfroll.workshop.motor_design import design_of, path_of
from halfroll.workshop.motor_record import CoilTable, MotorTable
from halfroll.workshop.motors import save_design
from halfroll.workshop.records import VersionRecord

STRUCTURE = ("part", "shape", "material")
"""Keys of a part whose change asks for other fields."""


class DesignDraft(Draft):
    """The design of one version in the form of a page."""

    kind = "design"

    def __init__(self, workshop: Workshop, version_id: str) -> None:
        self.built: Built | None = None
        self.saved_built: Built | None = None
        super().__init__(workshop, version_id)

    def tables(self, record: VersionRecord) -> Data:
        """See `Draft.tables`."""
        return written(record.motor, record.coil)

    def note_saved(self) -> None:
        """See `Draft.note_saved`."""
        self.saved_built = None if self.errors else self.built

    @property
    def empty(self) -> bool:
        """Whether there is no motor at all."""
        return not self.data.get("motor")

    @property
    def parts(self) -> list[Data]:
        """The parts' tables."""
        return list((self.data.get("motor") or {}).get("parts", []))

    def typed(self, key: str, text: str, old: Any) -> Any:
        """See `Draft.typed`."""
        return typed_value(key, text, old)

    def after_put(self, key: str, data: Data, old: Any) -> None:
        """A part of another shape or from stock has other sizes."""
        *way, last = path_of(key)
        if last in STRUCTURE and isinstance(way[-1], int):
            tidy(data["motor"]["parts"][way[-1]], str(last), self.catalogue, self.built)

    def write(self, revision: str | None) -> None:
        """See `Draft.write`."""
        built = self._buildable()
        save_design(self.workshop, self.version_id, built.motor, built.coil_table, revision=revision)

    def save_as(self, name: str) -> str:
        """Make a new version of the same driver with this design, its parent this one; the draft is then the new one's."""
        built = self._buildable()
        driver = self.version_id.split("/")[0]
        fresh = {"motor": built.motor, "coil": built.coil_table, "parent": self.version_id, "title": "", "summary": "",
                 "date": None, "changes": (), "published": None, "notes": ""}  # fmt: skip
        self.workshop.create_version(driver, name, self.record.changed(**fresh))
        self._forget()
        return f"{driver}/{name}"

    def _buildable(self) -> Built:
        if self.built is None or self.errors:
            raise InputError("The design must be one that can be built before it is saved",
                             found=next(iter(self.errors.values()), "no motor"))  # fmt: skip
        return self.built

    def check(self) -> None:
        """Find out what can be built; faults are noted by key, the last good state stays."""
        self.errors = {}
        if self.empty:
            self.built = None
            return
        motor = self.table(MotorTable, "motor")
        coil = self.table(CoilTable, "coil") if self.data.get("coil") else None
        if self.errors or motor is None:
            return
        try:
            design = design_of(motor, coil, self.catalogue)
            assembly = assemble(design)
            wound = None if design.coil is None else wind(design.coil)
        except InputError as fault:
            self.errors[fault.place.key or ""] = without_place(fault)
            return
        self.built = Built(motor=motor, coil_table=coil, design=design, assembly=assembly, coil=wound)

    # The stack.

    def add_part(self, part: Data) -> str:
        """Add a part; returns the name it got, a free one. What lay where it comes to lie is put on it."""
        names = [one.get("name", "") for one in self.parts]
        name = free_name(part["name"], names)
        self.change(lambda data: data["motor"]["parts"].append({**part, "name": name}))
        self._make_room(name, part.get("on"))
        return name

    def _make_room(self, name: str, under: str | None) -> None:
        """Put one part that lies on the same as a new one on the new one, if the two collide otherwise."""
        if not self._faulty(name) or under is None:
            return
        before = self.data
        for index in [
            n for n, part in enumerate(self.parts) if part.get("on") == under and part["name"] != name
        ]:
            self.data = copy.deepcopy(before)
            self.data["motor"]["parts"][index]["on"] = name
            self.check()
            if not self._faulty(name):
                self.keep()
                return
        self.data = before
        self.check()

    def _faulty(self, name: str) -> bool:
        """Whether a fault names a part."""
        return any(name in text for text in self.errors.values())

    def remove_part(self, index: int) -> None:
        """Take a part away; what was placed by it is placed by what carried it."""
        self.change(lambda data: take_out(data["motor"]["parts"], index))

    def rename(self, index: int, name: str) -> None:
        """Give a part another name, everywhere it is named."""
        old, name = self.parts[index].get("name"), name.strip()
        if name and name != old:
            self.change(lambda data: rename(data["motor"], index, name))

    def place(self, index: int, how: str, of: str) -> None:
        """Place a part on, under or beside another."""
        self.change(lambda data: place(data["motor"]["parts"][index], how, of))
