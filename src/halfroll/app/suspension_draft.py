"""Moving parts and what holds them while they are worked on: what stands in the form, what of it can be built, what is wrong."""

from __future__ import annotations

from typing import Any

from halfroll.app.design_tables import Data
from halfroll.app.draft import Draft
from halfroll.app.suspension_tables import (
    MODELS,
    PARTS,
    POINTS,
    Suspended,
    fit_ends,
    fit_family,
    fit_shape,
    keep_joined,
    typed_moving,
    written_moving,
)
from halfroll.app.typed import without_place
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop
from halfroll.workshop.files import write_whole
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_check import check_moving
from halfroll.workshop.suspension_design import moving_of
from halfroll.workshop.suspension_record import MOVING_TABLES
from halfroll.workshop.suspensions import MovingTables, profile_files, save_moving


class SuspensionDraft(Draft):
    """The moving parts of one version in the form of a page."""

    kind = "suspension"

    def __init__(self, workshop: Workshop, version_id: str) -> None:
        self.built: Suspended | None = None
        self.saved_built: Suspended | None = None
        super().__init__(workshop, version_id)

    def tables(self, record: VersionRecord) -> Data:
        """See `Draft.tables`."""
        return written_moving(record)

    def note_saved(self) -> None:
        """See `Draft.note_saved`."""
        self.saved_built = None if self.errors else self.built

    @property
    def empty(self) -> bool:
        """Whether there is no part at all."""
        return not any(self.data.get(name) for name in PARTS)

    def typed(self, key: str, text: str, old: Any) -> Any:
        """See `Draft.typed`."""
        return typed_moving(key, text)

    def after_put(self, key: str, data: Data, old: Any) -> None:
        """Another family or shape has other dimensions; what is glued together stays together; print settings without any go."""
        part, _, last = key.partition(".")
        keep_joined(data, key, old)
        table = data.get(part) or {}
        if last == "family":
            fit_family(table)
        if last == POINTS and part in ("surround", "spider"):
            for end, diameter in fit_ends(table).items():
                keep_joined(data, f"{part}.{end}", diameter)
        if last == "shape":
            fit_shape(table)
        if not table.get("print", True):
            table.pop("print")

    def check(self) -> None:
        """See `Draft.check`."""
        self.errors = {}
        if self.empty:
            self.built = None
            return
        made = {name: self.table(MODELS[name], name) for name in MOVING_TABLES if name in self.data}
        if self.errors:
            return
        tables = MovingTables(**made)
        try:
            design = moving_of(tables.put_into(self.record), self.catalogue, self.folder)
            check_moving(design)
        except InputError as fault:
            self.errors[fault.place.key or ""] = without_place(fault)
            return
        self.built = Suspended(tables=tables, design=design)

    def write(self, revision: str | None) -> None:
        """See `Draft.write`."""
        save_moving(self.workshop, self.version_id, self._buildable().tables, revision=revision)

    def save_as(self, name: str) -> str:
        """See `Draft.save_as`; files of profiles go with it."""
        tables = self._buildable().tables
        driver = self.version_id.split("/")[0]
        fresh = {"parent": self.version_id, "title": "", "summary": "", "date": None, "changes": (), "published": None,
                 "notes": ""}  # fmt: skip
        files = profile_files(self.workshop.version(self.version_id))
        made = self.workshop.create_version(driver, name, tables.put_into(self.record).changed(**fresh))
        for file, content in files.items():
            write_whole(made.path.with_name(file), content, durable=self.workshop.durable)
        self._forget()
        return f"{driver}/{name}"

    def _buildable(self) -> Suspended:
        if self.built is None or self.errors:
            raise InputError("The moving parts must be ones that can be built before they are saved",
                             found=next(iter(self.errors.values()), "no part"))  # fmt: skip
        return self.built

    def add(self, part: str, table: Data) -> None:
        """Add a part."""
        self.change(lambda data: data.update({part: table}))

    def leave_out(self, part: str) -> None:
        """Take a part away."""
        self.change(lambda data: data.pop(part, None))
