"""A design while it is worked on: what stands in the form, what of it can be built, and what is wrong with the rest.

The form's values are kept as they will stand in ``version.toml``, by dotted key. Whatever cannot be built stays in the form with
its fault, and the last state that could be built goes on being drawn.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

from halfroll.app.design_stack import place, rename, take_out, tidy
from halfroll.app.design_tables import Built, Data, free_name, typed_value, written
from halfroll.app.typed import said_at_field, without_place
from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.motor.coil.wound import wind
from halfroll.motor.placing.stack import assemble
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft
from halfroll.workshop.faults import FaultsError, check
from halfroll.workshop.motor_design import design_of, path_of
from halfroll.workshop.motor_record import CoilTable, MotorTable
from halfroll.workshop.motors import save_design
from halfroll.workshop.parts import lookups

STRUCTURE = ("part", "shape", "material")
"""Keys of a part whose change asks for other fields."""

_MOST_STEPS_BACK = 100


class DesignDraft:
    """The design of one version in the form of a page."""

    data: Data
    saved: Data
    revision: str | None

    def __init__(self, workshop: Workshop, version_id: str) -> None:
        self.workshop, self.version_id = workshop, version_id
        self.page = f"design--{version_id.replace('/', '--')}"
        self.catalogue: Catalogue = lookups(workshop)
        self.errors: dict[str, str] = {}
        self.built: Built | None = None
        self.saved_built: Built | None = None
        self._before: list[Data] = []
        self._kept: Data | None = None
        self._read_and_check()  # what is saved is the last good state, should the draft have a fault
        kept = load_draft(workshop, self.page)
        if kept is not None and isinstance(kept.get("data"), dict):
            self.data = kept["data"]
            self._kept = copy.deepcopy(self.data)
            self.revision = kept.get("revision", self.revision)
        self.check()

    def _read(self) -> None:
        loaded = self.workshop.version(self.version_id)
        self.record = loaded.record
        self.revision = loaded.revision
        self.data = written(loaded.record.motor, loaded.record.coil)
        self.saved = copy.deepcopy(self.data)

    def _read_and_check(self) -> None:
        self._read()
        self.check()
        self.saved_built = None if self.errors else self.built

    @property
    def empty(self) -> bool:
        """Whether there is no motor at all."""
        return not self.data.get("motor")

    @property
    def changed(self) -> bool:
        """Whether anything differs from what is saved."""
        return bool(self.data != self.saved)

    @property
    def parts(self) -> list[Data]:
        """The parts' tables."""
        return list((self.data.get("motor") or {}).get("parts", []))

    def value(self, key: str) -> Any:
        """What stands at a dotted key; None for nothing."""
        here: Any = self.data
        for step in path_of(key):
            if isinstance(step, int):
                here = here[step] if isinstance(here, list) and step < len(here) else None
            else:
                here = here.get(step) if isinstance(here, dict) else None
        return here

    def put(self, key: str, text: str, *, remember: bool = True) -> None:
        """Write what was typed to a dotted key; nothing typed takes the key away."""
        old = self.value(key)
        value = typed_value(key, text, old)
        if value == old:
            return

        def write(data: Data) -> None:
            *way, last = path_of(key)
            here: Any = data
            for step in way:
                here = here[step] if isinstance(step, int) else here.setdefault(step, {})
            if value is None and isinstance(here, dict):
                here.pop(last, None)
            else:
                here[last] = value
            if last in STRUCTURE and isinstance(way[-1], int):
                tidy(data["motor"]["parts"][way[-1]], str(last), self.catalogue, self.built)

        self.change(write, remember=remember)

    def change(self, how: Callable[[Data], None], *, remember: bool = True) -> None:
        """Change the data, remember what they were, check them, and keep the draft."""
        if remember:
            self.mark()
        how(self.data)
        self.check()
        self.keep()

    def mark(self) -> None:
        """Remember the present state as one to come back to."""
        self._before = [*self._before, copy.deepcopy(self.data)][-_MOST_STEPS_BACK:]

    @property
    def can_undo(self) -> bool:
        """Whether there is a state to go back to."""
        return bool(self._before)

    def undo(self) -> None:
        """Go back one change."""
        if self._before:
            self.data = self._before.pop()
            self.check()
            self.keep()

    def revert(self) -> None:
        """Back to what is saved; that can be undone."""
        self.mark()
        self._read_and_check()
        self._forget()

    def keep(self) -> None:
        """Keep the draft in the workshop, or forget it when it is what is saved."""
        if self.changed:
            save_draft(self.workshop, self.page, {"data": self.data, "revision": self.revision})
            self._kept = copy.deepcopy(self.data)
        else:
            self._forget()

    def _forget(self) -> None:
        """Forget the draft that was kept, unless another window has kept its own since."""
        kept = load_draft(self.workshop, self.page)
        if kept is not None and kept.get("data") == self._kept:
            clear_draft(self.workshop, self.page)
        self._kept = None

    def save(self, *, over: bool = False) -> None:
        """Write the design into the version's record; refused as long as it cannot be built.

        Raises `ConflictError` when the record was changed since the draft was begun, unless it is to be written `over`: only the
        design is replaced then, everything else in the record stays as it is by now.
        """
        built = self._buildable()
        revision = None if over else self.revision
        try:
            save_design(self.workshop, self.version_id, built.motor, built.coil_table, revision=revision)
        except InputError:
            self.keep()  # another window that saved may have taken it away
            raise
        self._forget()
        self._read_and_check()

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
        motor = self._table(MotorTable, "motor")
        coil = self._table(CoilTable, "coil") if self.data.get("coil") else None
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

    def _table(self, model: Any, name: str) -> Any:
        try:
            return check(model, self.data[name], file="")
        except FaultsError as error:
            faults: tuple[InputError, ...] = error.faults
        except InputError as error:
            faults = (error,)
        for fault in faults:
            self.errors.setdefault(f"{name}.{fault.place.key}", said_at_field(fault))
        return None

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
