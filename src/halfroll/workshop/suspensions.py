"""Moving parts of versions, and what holds them: their designs read, checked, solved with the results kept, and saved again.

What the page and the command line call; the suspension room does the work.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from halfroll.core.errors import ConflictError, InputError
from halfroll.motor.placing.design_changes import DesignChange
from halfroll.suspension.design import MovingDesign
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.motor_design import in_file
from halfroll.workshop.parts import lookups
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_changes import moving_changes
from halfroll.workshop.suspension_check import check_moving
from halfroll.workshop.suspension_design import EXAMPLE, moving_of
from halfroll.workshop.suspension_record import CapTable, ConeTable, MovingTable, SuspensionTable

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class MovingTables:
    """The tables of a version's record that say what moves and what holds it; None where not designed."""

    surround: SuspensionTable | None = None
    spider: SuspensionTable | None = None
    cone: ConeTable | None = None
    cap: CapTable | None = None
    moving: MovingTable | None = None

    @staticmethod
    def of(record: VersionRecord) -> MovingTables:
        """Those of a record."""
        return MovingTables(**{name: getattr(record, name) for name in TABLES})

    def put_into(self, record: VersionRecord) -> VersionRecord:
        """The record with these."""
        return record.changed(**{name: getattr(self, name) for name in TABLES})

    @property
    def any(self) -> bool:
        """Whether a part is designed."""
        return any(getattr(self, name) is not None for name in TABLES[:-1])


TABLES = tuple(field.name for field in fields(MovingTables))


@dataclass(frozen=True, kw_only=True)
class LoadedMoving:
    """A version's record with the design of what moves."""

    version: Loaded[VersionRecord]
    design: MovingDesign


def load_moving(workshop: Workshop, version_id: str) -> MovingDesign:
    """What moves in a version and what holds it, checked.

    Raises
    ------
    InputError
        There is no such version, it has no surround, spider, cone or cap, or what it says cannot be; with file, key and line.
    """
    return load_moving_version(workshop, version_id).design


def load_moving_version(workshop: Workshop, version_id: str) -> LoadedMoving:
    """The same with the version's record."""
    loaded = workshop.version(version_id)
    if not MovingTables.of(loaded.record).any:
        raise no_moving(loaded)
    with in_file(str(loaded.path), text_of_record(loaded)):
        return LoadedMoving(version=loaded, design=_checked(workshop, loaded, loaded.record))


def _checked(workshop: Workshop, loaded: Loaded[VersionRecord], record: VersionRecord) -> MovingDesign:
    design = moving_of(record, lookups(workshop), loaded.path.parent)
    check_moving(design)
    return design


def no_moving(loaded: Loaded[VersionRecord]) -> InputError:
    """What is said of a version without moving parts: how to write them."""
    return InputError(
        f"The version {loaded.id} has no moving parts", file=str(loaded.path), key="surround",
        found="no table [surround], [spider], [cone] or [cap]",
        remedy=f"Design them on the page /suspension/{loaded.id}, or write those you have into the file, for example:\n\n{EXAMPLE}",
    )  # fmt: skip


def text_of_record(loaded: Loaded[VersionRecord]) -> str:
    """The text of a record's file, from which lines are read."""
    return loaded.path.read_text(encoding="utf-8-sig")


def save_moving(
    workshop: Workshop, version_id: str, tables: MovingTables, *, revision: str | None = None
) -> Loaded[VersionRecord]:
    """Write moving parts into a version's record; only the keys that differ are touched, comments stay.

    They are checked first, so what cannot be is not saved. `revision` is that of the record the change was made from; when the file is
    another by now, nothing is written.

    Raises
    ------
    InputError
        A part cannot be.
    ConflictError
        The file was changed meanwhile.
    """
    loaded = workshop.version(version_id)
    if revision is not None and revision != loaded.revision:
        raise ConflictError(
            f"The version {version_id} was changed by somebody else since it was opened", file=str(loaded.path),
            remedy="Nothing was overwritten; open it again and make your change once more",
        )  # fmt: skip
    record = tables.put_into(loaded.record)
    if tables.any:
        _checked(workshop, loaded, record)
    return workshop.save(loaded, record)


def design_of_tables(workshop: Workshop, version_id: str, tables: MovingTables) -> MovingDesign:
    """The design that tables would be in a version, checked, not saved: what a page shows while it is typed.

    Raises
    ------
    InputError
        A part cannot be; the key is named.
    """
    loaded = workshop.version(version_id)
    return _checked(workshop, loaded, tables.put_into(loaded.record))


def changes_between(workshop: Workshop, before_id: str, after_id: str) -> tuple[DesignChange, ...]:
    """What the moving parts of one version changed against another's; `InputError` when one of them has none."""
    return moving_changes(load_moving(workshop, before_id), load_moving(workshop, after_id))
