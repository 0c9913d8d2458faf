"""What can be worked out for a motor: the static field and the slower studies, and when a result is still the same."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata
from typing import TYPE_CHECKING, Any, Literal

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.wound import wind
from halfroll.motor.placing.design import Design
from halfroll.motor.types import Assembly
from halfroll.workshop.jobs import code_of, key_of

if TYPE_CHECKING:
    from halfroll.motor.field.study import StudySettings
    from halfroll.motor.results import AssemblyForce, BlockedImpedance, Modulation, MotorResult

Want = Literal["field", "inductance", "modulation", "forces"]
"""Studies of a motor: the static field with Bl(x), and the slower ones."""

FREQUENCIES_HZ = (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0)
"""Frequencies of the blocked impedance, 1-2-5 over the audible range (ISO 266 has them all)."""

USUAL_POWER_W = 10.0
"""Power whose peak current the modulation goes up to where a version states no rated power; own choice."""

SHARES = (1.0, 3.0, 3.0, 21.0)
"""How long the studies take, roughly, for the progress bar."""

WANTS: tuple[Want, ...] = ("field", "inductance", "modulation", "forces")
"""All of them, in the order in which they are worked out."""


Run = Callable[[Want, "Case", Progress], Any]
"""Works out one study of a motor."""


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
        return key_of(want, code, solver_release(), repr(self.assembly), repr(_asked(self, want)))

    def take(self, want: Want, slot: str) -> str:
        """Under what name the latest result of a slot is kept; other settings have a name of their own."""
        other = "" if self.settings is None or want != "field" else f" {self.settings!r}"
        return f"motor {want} {slot}{other}"


def compute(want: Want, case: Case, progress: Progress) -> Any:
    """One study of a motor, worked out now; `InputError` where the finite-element library is missing."""
    try:
        return _STUDIES[want](case, progress)
    except ImportError as fault:
        raise no_solver(fault) from fault


def no_solver(fault: ImportError) -> InputError:
    """What is said where the finite-element library is missing, as on Linux on ARM."""
    return InputError(
        "The field of a motor needs the library NGSolve, which does not start on this computer", found=str(fault),
        remedy="On Debian and Ubuntu it needs apt-get install libquadmath0. Designs, parts, coils, windings without a field (halfroll windings --no-field), cost, and everything about "
        "measurements work without it; compute motors on Linux x86-64, macOS or Windows",
    )  # fmt: skip


@functools.cache
def solver_release() -> str:
    """Release of the finite-element library; empty where there is none."""
    try:
        return metadata.version("ngsolve")
    except metadata.PackageNotFoundError:
        return ""


def _asked(case: Case, want: Want) -> dict[str, Any]:
    """What a study is asked for beside the motor itself; `InputError` where it needs a coil that is not designed."""
    if want == "field":
        return {"settings": case.settings}
    if want == "inductance":
        _need_coil(case, "The inductance")
        quarter = 0.25 * _usual_travel(case)
        return {
            "frequency_hz": FREQUENCIES_HZ,
            "x_m": (-quarter, -0.5 * quarter, 0.0, 0.5 * quarter, quarter),
        }
    if want == "modulation":
        coil = _need_coil(case, "The modulation by current")
        peak = math.sqrt(2.0 * case.power_w / wind(coil).resistance_ohm)
        half = 0.5 * _usual_travel(case)
        return {"currents_a": (0.5 * peak, peak), "x_m": (-half, -0.5 * half, 0.0, 0.5 * half, half)}
    return {}


def _field(case: Case, progress: Progress) -> MotorResult:
    from halfroll.motor.field.study import study

    return study(case.assembly, **_asked(case, "field"), progress=progress)


def _inductance(case: Case, progress: Progress) -> BlockedImpedance:
    from halfroll.motor.eddy.blocked import blocked_impedance

    return blocked_impedance(case.assembly, **_asked(case, "inductance"), progress=progress)


def _modulation(case: Case, progress: Progress) -> Modulation:
    from halfroll.motor.force.modulation import modulation

    return modulation(case.assembly, **_asked(case, "modulation"), progress=progress)


def _forces(case: Case, progress: Progress) -> tuple[AssemblyForce, ...]:
    from halfroll.motor.force.assembly_force import assembly_forces

    return assembly_forces(case.assembly, progress=progress)


def _usual_travel(case: Case) -> float:
    from halfroll.motor.field.study import usual_travel

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
