"""Motors and coils of versions: their designs read, placed, solved with the results kept, and saved again.

What the page and the command line call; the motor room does the work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.motor.placing.design import Design
from halfroll.motor.placing.design_changes import DesignChange, design_changes
from halfroll.motor.placing.stack import assemble
from halfroll.motor.types import Assembly
from halfroll.workshop.kept import kept
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.motor_design import EXAMPLE, design_of, in_record
from halfroll.workshop.motor_record import CoilTable, MotorTable
from halfroll.workshop.motor_studies import SHARES, USUAL_POWER_W, WANTS, Case, Run, Want, compute
from halfroll.workshop.parts import lookups
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_record import MOVING_TABLES

if TYPE_CHECKING:
    from halfroll.motor.field.study import StudySettings
    from halfroll.motor.results import AssemblyForce, BlockedImpedance, Modulation, MotorResult
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class LoadedMotor:
    """A version's record with its design and every part in its place."""

    version: Loaded[VersionRecord]
    design: Design
    assembly: Assembly


@dataclass(frozen=True, kw_only=True, eq=False)
class Solved:
    """What was worked out for a motor; None (no forces) where it was not asked for, or there is no coil for it."""

    design: Design
    assembly: Assembly
    motor: MotorResult | None = None
    inductance: BlockedImpedance | None = None
    modulation: Modulation | None = None
    forces: tuple[AssemblyForce, ...] = ()


def load_design(workshop: Workshop, version_id: str) -> Design:
    """The design of a version.

    Raises
    ------
    InputError
        There is no such version, it has no ``[motor]``, or what it says cannot be; with file, key and line.
    """
    return _design(workshop, workshop.version(version_id))


def load_motor(workshop: Workshop, version_id: str) -> LoadedMotor:
    """The design of a version with every part in its place; `InputError` with file, key and line."""
    loaded = workshop.version(version_id)
    design = _design(workshop, loaded)
    with in_record(loaded):
        return LoadedMotor(version=loaded, design=design, assembly=assemble(design))


def _design(workshop: Workshop, loaded: Loaded[VersionRecord]) -> Design:
    record = loaded.record
    if record.motor is None:
        raise no_motor(loaded)
    with in_record(loaded):
        return design_of(record.motor, record.coil, lookups(workshop))


def no_motor(loaded: Loaded[VersionRecord]) -> InputError:
    """What is said of a version without a motor: how to write one."""
    return InputError(
        f"The version {loaded.id} has no motor", file=str(loaded.path), key="motor", found="no table [motor]",
        remedy=f"Design it on the page /design/{loaded.id}, or write it into the file, for example:\n\n{EXAMPLE}",
    )  # fmt: skip


def save_design(
    workshop: Workshop,
    version_id: str,
    motor: MotorTable | None,
    coil: CoilTable | None,
    *,
    revision: str | None = None,
) -> Loaded[VersionRecord]:
    """Write the design into a version's record; only the keys that differ are touched, comments stay.

    It is placed first, so what cannot be built is not saved. `revision` is that of the record the change was made from; when
    the file is another by now, nothing is written.

    Raises
    ------
    InputError
        The design cannot be.
    ConflictError
        The file was changed meanwhile.
    """
    loaded = workshop.version(version_id)
    loaded.expect(revision)
    if motor is not None:
        assemble(design_of(motor, coil, lookups(workshop)))
    return workshop.save(loaded, loaded.record.changed(motor=motor, coil=coil))


def changes_between(workshop: Workshop, before_id: str, after_id: str) -> tuple[DesignChange, ...]:
    """What the design of one version changed against that of another; `InputError` when one of them has none."""
    return design_changes(load_design(workshop, before_id), load_design(workshop, after_id))


def copy_design(workshop: Workshop, source_id: str, record: VersionRecord) -> VersionRecord:
    """A version's record with the design of another version: motor, coil, moving parts, parameters and the bill of what goes with
    them; `InputError` when that has none.
    """
    loaded = workshop.version(source_id)
    names = ("motor", "coil", *MOVING_TABLES, "parameters", "bill")
    tables = {name: getattr(loaded.record, name) for name in names}
    if all(table is None for table in tables.values()):
        raise no_motor(loaded)
    return record.changed(**tables)


def solve_version(
    workshop: Workshop,
    version_id: str,
    wants: Sequence[Want] = ("field",),
    progress: Progress = silent,
    *,
    settings: StudySettings | None = None,
) -> Solved:
    """What was asked for of a version's motor, from the index or worked out now and kept there.

    Raises
    ------
    InputError
        The design cannot be, or a study asks for a coil that is not designed.
    CancelledError
        `progress` asked to stop; what was finished is kept.
    """
    case = case_of(workshop, version_id, settings=settings)
    return solve(workshop, case, wants, progress, slot=version_id)


def case_of(workshop: Workshop, version_id: str, *, settings: StudySettings | None = None) -> Case:
    """The motor of a version, ready to be studied; `InputError` when its design cannot be."""
    motor = load_motor(workshop, version_id)
    power = motor.version.record.rated_power_w or USUAL_POWER_W
    return Case(design=motor.design, assembly=motor.assembly, settings=settings, power_w=power)


def otherwise(case: Case, *, temperature_c: float | None = None, offset_m: float | None = None) -> Case:
    """The same motor with its magnets at another temperature (°C), its coil resting at another offset (m), or both.

    Raises
    ------
    InputError
        The motor cannot be so, or there is no coil to be moved.
    """
    design = case.design
    if temperature_c is not None:
        design = replace(design, motor=replace(design.motor, temperature_c=temperature_c))
    if offset_m is not None:
        if design.coil is None:
            raise InputError(
                "The coil can only be moved where there is one", key="coil", found="no table [coil]"
            )
        design = replace(design, coil=replace(design.coil, offset_m=offset_m))
    return case if design is case.design else replace(case, design=design, assembly=assemble(design))


def solve(
    workshop: Workshop,
    case: Case,
    wants: Sequence[Want] = ("field",),
    progress: Progress = silent,
    *,
    slot: str = "draft",
    run: Run | None = None,
) -> Solved:
    """The same for a motor that need not be saved. Of a `slot` only the results of the latest design are kept, for each settings.

    `run` does what `compute` does somewhere else, such as in another process.
    """
    asked = [want for want in WANTS if want in wants]
    total = sum(SHARES[WANTS.index(want)] for want in asked) or 1.0
    found: dict[str, Any] = {}
    done = 0.0
    for want in asked:
        share = SHARES[WANTS.index(want)] / total
        told = part(progress, done, done + share)
        found[want] = kept(
            workshop, case.key(want), case.take(want, slot), partial(run or compute, want, case, told)
        )
        done += share
    progress(1.0, "done")
    return Solved(
        design=case.design,
        assembly=case.assembly,
        motor=found.get("field"),
        inductance=found.get("inductance"),
        modulation=found.get("modulation"),
        forces=found.get("forces", ()),
    )
