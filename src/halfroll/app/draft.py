"""What stands in the form of a page that edits tables of a version's record: drafts kept, undone, taken back, saved.

The form's values are kept as they will stand in ``version.toml``, by dotted key. Whatever cannot be built stays in the form with
its fault, and the last state that could be built goes on being drawn.
"""

from __future__ import annotations

import copy
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import Any

from halfroll.app.design_tables import Data
from halfroll.app.typed import said_at_field
from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft
from halfroll.workshop.faults import FaultsError, check
from halfroll.workshop.motor_design import path_of
from halfroll.workshop.parts import lookups
from halfroll.workshop.records import VersionRecord

_MOST_STEPS_BACK = 100


class Draft(ABC):
    """Tables of one version in the form of a page."""

    kind = "draft"
    """Begins the name under which the draft is kept."""
    data: Data
    saved: Data
    revision: str | None
    record: VersionRecord
    built: Any = None
    """The last state that could be built; None for none."""
    saved_built: Any = None
    """What is saved, built; None where it cannot be."""

    def __init__(self, workshop: Workshop, version_id: str) -> None:
        self.workshop, self.version_id = workshop, version_id
        self.page = f"{self.kind}--{version_id.replace('/', '--')}"
        self.catalogue: Catalogue = lookups(workshop)
        self.errors: dict[str, str] = {}
        self._before: list[Data] = []
        self._kept: Data | None = None
        self._read_and_check()  # what is saved is the last good state, should the draft have a fault
        kept = load_draft(workshop, self.page)
        if kept is not None and isinstance(kept.get("data"), dict):
            self.data = kept["data"]
            self._kept = copy.deepcopy(self.data)
            self.revision = kept.get("revision", self.revision)
        self.check()

    @property
    @abstractmethod
    def empty(self) -> bool:
        """Whether there is nothing to be drawn at all."""

    @abstractmethod
    def tables(self, record: VersionRecord) -> Data:
        """The tables of a record as plain values."""

    @abstractmethod
    def check(self) -> None:
        """Find out what can be built; faults are noted by key, the last good state stays."""

    @abstractmethod
    def write(self, revision: str | None) -> None:
        """Write what can be built into the record."""

    @abstractmethod
    def save_as(self, name: str) -> str:
        """Make a new version of the same driver with what can be built; its id."""

    @abstractmethod
    def note_saved(self) -> None:
        """Take note of what is saved, which was just read and checked."""

    @abstractmethod
    def typed(self, key: str, text: str, old: Any) -> Any:
        """What was typed at a key as it can stand in the record."""

    @abstractmethod
    def after_put(self, key: str, data: Data, old: Any) -> None:
        """Change what must change with a key, where `old` stood."""

    def _read_and_check(self) -> None:
        loaded = self.workshop.version(self.version_id)
        self.record, self.revision, self.folder = loaded.record, loaded.revision, loaded.path.parent
        self.data = self.tables(loaded.record)
        self.saved = copy.deepcopy(self.data)
        self.check()
        self.note_saved()

    @property
    def changed(self) -> bool:
        """Whether anything differs from what is saved."""
        return bool(self.data != self.saved)

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
        value = self.typed(key, text, old)
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
            self.after_put(key, data, old)

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
        """Write the tables into the version's record; refused as long as they cannot be built.

        Raises `ConflictError` when the record was changed since the draft was begun, unless it is to be written `over`: only these
        tables are replaced then, everything else in the record stays as it is by now.
        """
        try:
            self.write(None if over else self.revision)
        except InputError:
            self.keep()  # another window that saved may have taken it away
            raise
        self._forget()
        self._read_and_check()

    def table(self, model: Any, name: str) -> Any:
        """The checked table of a name, or None with each fault noted under its field."""
        try:
            return check(model, self.data[name], file="")
        except FaultsError as error:
            faults: tuple[InputError, ...] = error.faults
        except InputError as error:
            faults = (error,)
        for fault in faults:
            self.errors.setdefault(f"{name}.{fault.place.key}", said_at_field(fault))
        return None
