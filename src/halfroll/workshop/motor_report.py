"""All that is said of a motor and its coil at once: the same for a page, a command and a program."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Verdict
from halfroll.motor.coil.clearance import REFERENCE_C, Clearance, clearance
from halfroll.motor.coil.wound import Coil, wind
from halfroll.motor.field.travel import (
    GeometricTravel,
    TravelLimits,
    geometric_travel,
    travel_limits,
    travel_verdicts,
)
from halfroll.motor.heat.coil import CoilHeat, coil_heat
from halfroll.motor.placing.coil_room import clear_gap
from halfroll.workshop.coil_heat import heat_of_version
from halfroll.workshop.motor_cost import DesignCost, cost_of
from halfroll.workshop.motors import Solved

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True, eq=False)
class MotorReport:
    """What was solved, and what follows from it and from the design; None (no `faults`) where there is no coil or no field.

    `clearance` is cold, `clearance_warm` with coil and motor as warm as hours of the continuous power make them; `faults` are
    parts of the report that could not be worked out, in words; `notes` are on keys of the version's record that are not used.
    """

    solved: Solved
    coil: Coil | None
    limits: TravelLimits | None
    geometric: GeometricTravel | None
    clearance: Clearance | None
    clearance_warm: Clearance | None
    heat: CoilHeat | None
    cost: DesignCost
    faults: tuple[InputError, ...] = ()
    notes: tuple[Verdict, ...] = ()

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """Everything that is to be said, each once, the gravest first. Of the clearance the warm one speaks: it knows the cold."""
        solved = self.solved
        said = [
            *self.notes,
            *(() if solved.motor is None else solved.motor.verdicts),
            *(() if self.limits is None else travel_verdicts(self.limits)),
            *(() if self.coil is None else self.coil.verdicts),
            *(() if self.clearance_warm is None else self.clearance_warm.verdicts),
            *(() if self.heat is None else self.heat.verdicts),
            *(() if solved.inductance is None else solved.inductance.verdicts),
            *(() if solved.modulation is None else solved.modulation.verdicts),
            *(verdict for force in solved.forces for verdict in force.verdicts),
            *self.cost.verdicts,
        ]
        once = {(verdict.code, verdict.text): verdict for verdict in said}
        return tuple(sorted(once.values(), key=lambda verdict: -verdict.severity))


def motor_report(
    workshop: Workshop, solved: Solved, today: dt.date, version_id: str | None = None
) -> MotorReport:
    """Gather what follows from a solved motor; what cannot be worked out stands among the faults.

    With `version_id` the power logs of its units and its rated power count for the coil's heat, and keys of its record that are not used are said.
    """
    design, assembly, faults = solved.design, solved.assembly, []
    coil = None if design.coil is None else wind(design.coil)
    bl = None if solved.motor is None else solved.motor.force_factor
    heat = cold = warm = None
    if coil is not None:
        gap = clear_gap(assembly)
        try:
            heat = (
                coil_heat(coil, assembly)
                if version_id is None
                else heat_of_version(workshop, version_id, coil, assembly)
            )
        except InputError as fault:
            faults.append(fault)
        try:
            cold = clearance(coil, gap)
            coil_c, motor_c = (REFERENCE_C, REFERENCE_C) if heat is None else heat.warm_c
            warm = clearance(coil, gap, coil_c=coil_c, motor_c=motor_c)
        except InputError as fault:
            faults.append(fault)
    return MotorReport(
        solved=solved,
        coil=coil,
        limits=None if bl is None else travel_limits(bl),
        geometric=None if assembly.winding is None else geometric_travel(assembly.gap, assembly.winding),
        clearance=cold,
        clearance_warm=warm,
        heat=heat,
        cost=cost_of(workshop, design, today, assembly),
        faults=tuple(faults),
        notes=() if version_id is None else workshop.version(version_id).notes,
    )
