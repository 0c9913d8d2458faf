"""Motors and coils of versions: their designs read, placed, solved with the results kept, and saved again.

What the page and the command line call; the motor room does the work.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import metadata
from typing import TYPE_CHECKING, Any, Literal

from halfroll.core.errors import ConflictError, InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.motor.coil import wind
from halfroll.motor.coil_design import CoilDesign
from halfroll.motor.design import Design
from halfroll.motor.design_changes import DesignChange, design_changes
from halfroll.motor.stack import assemble
from halfroll.motor.types import Assembly
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.motor_design import EXAMPLE, design_of, in_file
from halfroll.workshop.motor_record import CoilTable, MotorTable
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.parts import lookups
from halfroll.workshop.records import VersionRecord

if TYPE_CHECKING:
    from halfroll.motor.results import AssemblyForce, BlockedImpedance, Modulation, MotorResult
    from halfroll.motor.study import StudySettings
    from halfroll.workshop.store import Workshop

Want = Literal["field", "inductance", "modulation", "forces"]
"""Studies of a motor: the static field with Bl(x), and the slower ones."""

FREQUENCIES_HZ = (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0)
"""Frequencies of the blocked impedance, 1-2-5 over the audible range (ISO 266 has them all)."""

USUAL_POWER_W = 10.0
"""Power whose peak current the modulation goes up to where a version states no rated power; own choice."""

SHARES = (1.0, 3.0, 3.0, 21.0)
"""How long the studies take, roughly, for the progress bar."""

_WANTS: tuple[Want, ...] = ("field", "inductance", "modulation", "forces")


Run = Callable[[Want, "Case", Progress], Any]
"""Works out one study of a motor."""


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
    with in_file(str(loaded.path), _text(loaded)):
        return LoadedMotor(version=loaded, design=design, assembly=assemble(design))


def _design(workshop: Workshop, loaded: Loaded[VersionRecord]) -> Design:
    record = loaded.record
    if record.motor is None:
        raise no_motor(loaded)
    with in_file(str(loaded.path), _text(loaded)):
        return design_of(record.motor, record.coil, lookups(workshop))


def no_motor(loaded: Loaded[VersionRecord]) -> InputError:
    """What is said of a version without a motor: how to write one."""
    return InputError(
        f"The version {loaded.id} has no motor", file=str(loaded.path), key="motor", found="no table [motor]",
        remedy=f"Design it on the page /design/{loaded.id}, or write it into the file, for example:\n\n{EXAMPLE}",
    )  # fmt: skip


def _text(loaded: Loaded[VersionRecord]) -> str:
    return loaded.path.read_text(encoding="utf-8-sig")


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
    if revision is not None and revision != loaded.revision:
        raise ConflictError(
            f"The version {version_id} was changed by somebody else since it was opened", file=str(loaded.path),
            remedy="Nothing was overwritten; open it again and make your change once more",
        )  # fmt: skip
    if motor is not None:
        assemble(design_of(motor, coil, lookups(workshop)))
    return workshop.save(loaded, loaded.record.changed(motor=motor, coil=coil))


def changes_between(workshop: Workshop, before_id: str, after_id: str) -> tuple[DesignChange, ...]:
    """What the design of one version changed against that of another; `InputError` when one of them has none."""
    return design_changes(load_design(workshop, before_id), load_design(workshop, after_id))


def copy_design(workshop: Workshop, source_id: str, record: VersionRecord) -> VersionRecord:
    """A version's record with the design of another version; `InputError` when that has none."""
    loaded = workshop.version(source_id)
    if loaded.record.motor is None:
        raise no_motor(loaded)
    return record.changed(motor=loaded.record.motor, coil=loaded.record.coil)


@dataclass(frozen=True, kw_only=True)
class Case:
    """A motor to be studied: its design, its parts in their places, how the static field is studied, and the power (W) whose
    peak current the modulation goes up to.
    """

    design: Design
    assembly: Assembly
    settings: StudySettings | None = None
    power_w: float = USUAL_POWER_W

    def key(self, want: Want) -> str:
        """Changes whenever a result may: the motor in its places with all values of its materials, what the study is asked for, the
        code, or the finite-element library.
        """
        code = code_of("core", "materials", "motor")
        return key_of(want, code, _solver(), repr(self.assembly), repr(_asked(self, want)))

    def take(self, want: Want, slot: str) -> str:
        """Under what name the latest result of a slot is kept; other settings have a name of their own."""
        other = "" if self.settings is None or want != "field" else f" {self.settings!r}"
        return f"motor {want} {slot}{other}"


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
    asked = [want for want in _WANTS if want in wants]
    total = sum(SHARES[_WANTS.index(want)] for want in asked) or 1.0
    found: dict[str, Any] = {}
    done = 0.0
    for want in asked:
        share = SHARES[_WANTS.index(want)] / total
        found[want] = _kept(workshop, case, want, slot, part(progress, done, done + share), run or compute)
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


def compute(want: Want, case: Case, progress: Progress) -> Any:
    """One study of a motor, worked out now; `InputError` where the finite-element library is missing."""
    try:
        return _STUDIES[want](case, progress)
    except ImportError as fault:
        raise no_solver(fault) from fault


def _kept(workshop: Workshop, case: Case, want: Want, slot: str, progress: Progress, run: Run) -> Any:
    """The result of one study from the index, or worked out now."""
    key = case.key(want)
    packed = workshop.index.response(key)
    known = None if packed is None else unpack_value(packed)
    if known is not None:
        return known
    result = run(want, case, progress)
    kept = Result(take=case.take(want, slot), response_key=key, response=pack(result))
    workshop.index.put_results([kept])
    return result


def no_solver(fault: ImportError) -> InputError:
    """What is said where the finite-element library is missing, as on Linux on ARM."""
    return InputError(
        "The field of a motor needs the library NGSolve, which is missing on this computer", found=str(fault),
        remedy="Designs, parts, coils, windings without a field (halfroll windings --no-field), cost, and everything about "
        "measurements work without it; compute motors on Linux x86-64, macOS or Windows",
    )  # fmt: skip


@functools.cache
def _solver() -> str:
    """Release of the finite-element library; empty where there is none."""
    try:
        return metadata.version("ngsolve")
    except metadata.PackageNotFoundError:
        return ""


def _asked(case: Case, want: Want) -> tuple[Any, ...]:
    """What a study is asked for beside the motor itself; `InputError` where it needs a coil that is not designed."""
    if want == "field":
        return (case.settings,)
    if want == "inductance":
        _need_coil(case, "The inductance")
        quarter = 0.25 * _usual_travel(case)
        return FREQUENCIES_HZ, (-quarter, -0.5 * quarter, 0.0, 0.5 * quarter, quarter)
    if want == "modulation":
        coil = _need_coil(case, "The modulation by current")
        peak = math.sqrt(2.0 * case.power_w / wind(coil).resistance_ohm)
        half = 0.5 * _usual_travel(case)
        return (0.5 * peak, peak), (-half, -0.5 * half, 0.0, 0.5 * half, half)
    return ()


def _field(case: Case, progress: Progress) -> MotorResult:
    from halfroll.motor.study import study

    return study(case.assembly, *_asked(case, "field"), progress=progress)


def _inductance(case: Case, progress: Progress) -> BlockedImpedance:
    from halfroll.motor.eddy import blocked_impedance

    return blocked_impedance(case.assembly, *_asked(case, "inductance"), progress=progress)


def _modulation(case: Case, progress: Progress) -> Modulation:
    from halfroll.motor.modulation import modulation

    return modulation(case.assembly, *_asked(case, "modulation"), progress=progress)


def _forces(case: Case, progress: Progress) -> tuple[AssemblyForce, ...]:
    from halfroll.motor.assembly_force import assembly_forces

    return assembly_forces(case.assembly, progress=progress)


def _usual_travel(case: Case) -> float:
    from halfroll.motor.study import usual_travel

    return usual_travel(case.assembly)


def _need_coil(case: Case, what: str) -> CoilDesign:
    if case.design.coil is None:
        raise InputError(f"{what} needs a coil", key="coil", found="no table [coil]",
                         remedy="Add [coil] to the version's record, or wind one on its design page")  # fmt: skip
    return case.design.coil


_STUDIES: dict[Want, Callable[[Case, Progress], Any]] = {
    "field": _field,
    "inductance": _inductance,
    "modulation": _modulation,
    "forces": _forces,
}
