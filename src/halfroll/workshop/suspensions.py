"""Moving parts of versions, and what holds them: their designs read, checked, solved with the results kept, and saved again.

What the page and the command line call; the suspension room does the work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.motor.placing.design_changes import DesignChange
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.results import BreakUp, MovingMass, SuspensionResult
from halfroll.workshop.files import read_whole
from halfroll.workshop.kept import kept
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.motor_design import in_record
from halfroll.workshop.parts import lookups
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_changes import moving_changes
from halfroll.workshop.suspension_check import check_moving
from halfroll.workshop.suspension_design import moving_of
from halfroll.workshop.suspension_example import EXAMPLE
from halfroll.workshop.suspension_record import (
    MOVING_TABLES,
    CapTable,
    ConeTable,
    MovingTable,
    SuspensionTable,
)
from halfroll.workshop.suspension_studies import (
    SHARES,
    WANTS,
    MovingStudy,
    Run,
    StudyKind,
    Want,
    compute,
    part_study,
)

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
        return MovingTables(**{name: getattr(record, name) for name in MOVING_TABLES})

    def put_into(self, record: VersionRecord) -> VersionRecord:
        """The record with these."""
        return record.changed(**{name: getattr(self, name) for name in MOVING_TABLES})

    @property
    def any(self) -> bool:
        """Whether a part is designed."""
        return any(getattr(self, name) is not None for name in MOVING_TABLES[:-1])


@dataclass(frozen=True, kw_only=True)
class LoadedMoving:
    """A version's record with the design of what moves."""

    version: Loaded[VersionRecord]
    design: MovingDesign


@dataclass(frozen=True, kw_only=True, eq=False)
class SuspensionSolved:
    """What was worked out for moving parts; None where it was not asked for, or the design has nothing for it.

    `faults` are studies that could not be done, such as the break-up of a cone that is not designed well, in words.
    """

    design: MovingDesign
    suspension: SuspensionResult | None = None
    mass: MovingMass | None = None
    break_up: BreakUp | None = None
    faults: tuple[InputError, ...] = ()


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
    with in_record(loaded):
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
    loaded.expect(revision)
    record = tables.put_into(loaded.record)
    if tables.any:
        _checked(workshop, loaded, record)
    return workshop.save(loaded, record)


def profile_files(loaded: Loaded[VersionRecord]) -> dict[str, bytes]:
    """The files of profiles and curves that a version's record names, with what is in them, for a copy of the version.

    Raises
    ------
    InputError
        One cannot be read.
    """
    record = loaded.record
    named = [
        table.points for table in (record.surround, record.spider, record.cone) if table and table.points
    ]
    if record.parameters is not None and record.parameters.curves:
        named.append(record.parameters.curves)
    return {name: read_whole(loaded.path.with_name(name)) for name in named}


def changes_between(workshop: Workshop, before_id: str, after_id: str) -> tuple[DesignChange, ...]:
    """What the moving parts of one version changed against another's; `InputError` when one of them has none.

    A height that only followed from other parts, such as a former that became longer, is not told.
    """
    before, after = load_moving_version(workshop, before_id), load_moving_version(workshop, after_id)
    stated = _stated_heights(before.version.record) | _stated_heights(after.version.record)
    found = moving_changes(before.design, after.design)
    return tuple(one for one in found if not one.key.endswith(".at_mm") or one.key in stated)


def _stated_heights(record: VersionRecord) -> set[str]:
    """Keys of heights that a record states."""
    tables = {"surround": record.surround, "spider": record.spider, "cone": record.cone}
    return {
        f"{name}.at_mm" for name, table in tables.items() if table is not None and table.at_mm is not None
    }


def solve_suspension(
    workshop: Workshop,
    version_id: str,
    progress: Progress = silent,
    *,
    wants: Sequence[Want] = WANTS,
) -> SuspensionSolved:
    """What was asked for of a version's moving parts, from the index or worked out now and kept there.

    Raises
    ------
    InputError
        The design cannot be, or a part cannot be bent over the travel; with file, key and line.
    CancelledError
        `progress` asked to stop; what was finished is kept.
    """
    loaded = load_moving_version(workshop, version_id)
    with in_record(loaded.version):
        return solve_moving(workshop, loaded.design, progress, wants=wants, slot=version_id)


def solve_moving(
    workshop: Workshop,
    design: MovingDesign,
    progress: Progress = silent,
    *,
    wants: Sequence[Want] = WANTS,
    slot: str = "draft",
    run: Run | None = None,
) -> SuspensionSolved:
    """The same for moving parts that need not be saved. Of a `slot` only the results of the latest design are kept.

    `run` does what `compute` does somewhere else, such as in another process. Suspension parts come first: the mass counts with what of
    them moves.
    """
    from halfroll.suspension.study.system import together

    asked = _asked(design, wants)
    total = sum(SHARES[kind] for kind in asked) or 1.0
    found: dict[str, Any] = {}
    faults: list[InputError] = []
    done = 0.0
    for kind in asked:
        told = part(progress, done / total, (done + SHARES[kind]) / total)
        done += SHARES[kind]
        study = _study(kind, design, found)
        try:
            found[kind] = kept(workshop, study.key, study.take(slot), partial(run or compute, study, told))
        except InputError as fault:
            if kind in _HOLDERS:
                raise
            faults.append(fault)
    progress(1.0, "done")
    parts = [found[kind] for kind in _HOLDERS if kind in found]
    return SuspensionSolved(
        design=design,
        suspension=together(design, parts, found.get("mass")) if parts else None,
        mass=found.get("mass"),
        break_up=found.get("break-up"),
        faults=tuple(faults),
    )


_HOLDERS: tuple[Literal["surround", "spider"], ...] = ("surround", "spider")


def _asked(design: MovingDesign, wants: Sequence[Want]) -> list[StudyKind]:
    """Studies in the order in which they are done, of what the design has."""
    kinds: list[StudyKind] = []
    if "stiffness" in wants:
        kinds += [kind for kind in _HOLDERS if getattr(design, kind) is not None]
    if "mass" in wants:
        kinds.append("mass")
    if "break-up" in wants and design.cone is not None:
        kinds.append("break-up")
    return kinds


def _study(kind: StudyKind, design: MovingDesign, found: dict[str, Any]) -> MovingStudy:
    if kind == "surround" or kind == "spider":
        return part_study(kind, design)
    counted = {name: found.get(name) for name in (*_HOLDERS, "mass") if name != kind}
    return MovingStudy(kind=kind, design=design, **counted)
