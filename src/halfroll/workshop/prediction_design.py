"""A version's design turned into a predicted driver: studies gathered, what is missing stood in for, the model built."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part
from halfroll.driver.predicted.entered import completed
from halfroll.driver.predicted.gathered import Gathered, MissingPartError, driver_of
from halfroll.motor.placing.stack import assemble
from halfroll.workshop.motor_design import design_of
from halfroll.workshop.motor_studies import USUAL_POWER_W, Case
from halfroll.workshop.parts import lookups
from halfroll.workshop.prediction_known import entered_of, measured_stated
from halfroll.workshop.prediction_studies import Run, holder_task, motor_tasks, work_all
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_check import check_moving
from halfroll.workshop.suspension_design import moving_of
from halfroll.workshop.suspension_studies import part_study
from halfroll.workshop.suspensions import MovingTables, solve_moving

if TYPE_CHECKING:
    from halfroll.driver.predicted.design_ingredients import MotorStudies
    from halfroll.driver.predicted.entered import Stated
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.motor.heat.borne import CoilHeat
    from halfroll.suspension.design import MovingDesign
    from halfroll.workshop.store import Workshop

_TABLES = {"motor": "[motor]", "coil": "[coil]", "suspension": "[surround] or [spider]", "cone": "[cone]"}


@dataclass(frozen=True, kw_only=True)
class DesignPrediction:
    """One prediction to be made; see `workshop.prediction.predict_record`."""

    workshop: Workshop
    version_id: str
    record: VersionRecord
    slot: str
    slopes: bool
    run: Run | None

    def worked_out(self, progress: Progress) -> PredictedDriver:
        """All of it."""
        case, moving = self._case(), self._moving()
        if case is None and moving is None:
            raise self._nothing()
        found = work_all(self.workshop, self._tasks(case, moving), part(progress, 0.0, 0.9), self.run)
        solved = (
            None
            if moving is None
            else solve_moving(self.workshop, moving, part(progress, 0.9, 0.95), slot=self.slot)
        )
        motor = None if case is None else self._motor(case, found)
        gathered = Gathered(
            motor=motor, moving=moving, suspension=None if solved is None else solved.suspension, mass=None if solved is None else solved.mass,
            break_up=None if solved is None else solved.break_up, heat=None if case is None or motor is None else self._heat(motor, case),
            stated_area_m2=None if self.record.effective_area_cm2 is None else 1e-4 * self.record.effective_area_cm2, travel_m=self._travel(),
        )  # fmt: skip
        try:
            predicted = driver_of(gathered, self._known, slopes=self.slopes)
        except MissingPartError as fault:
            raise self._lacks(fault) from fault
        progress(1.0, "done")
        return predicted

    def _case(self) -> Case | None:
        """Motor and coil, both or none."""
        record = self.record
        if record.motor is None or record.coil is None:
            return None
        design = design_of(record.motor, record.coil, lookups(self.workshop))
        return Case(design=design, assembly=assemble(design), power_w=record.rated_power_w or USUAL_POWER_W)

    def _moving(self) -> MovingDesign | None:
        if not MovingTables.of(self.record).any:
            return None
        folder = self.workshop.version(self.version_id).path.parent
        design = moving_of(self.record, lookups(self.workshop), folder)
        check_moving(design)
        return design

    def _tasks(self, case: Case | None, moving: MovingDesign | None) -> list[Any]:
        tasks = (
            []
            if case is None
            else motor_tasks(case, _planned(case, self._travel(moving)), self.slot, slopes=self.slopes)
        )
        if moving is None:
            return tasks
        kinds: tuple[Literal["surround", "spider"], ...] = ("surround", "spider")
        studies = [part_study(kind, moving) for kind in kinds if getattr(moving, kind) is not None]
        return [*tasks, *(holder_task(study, self.slot) for study in studies)]

    def _travel(self, moving: MovingDesign | None = None) -> float | None:
        """Travel one way (m) that the record states, or the moving parts are bent to."""
        if moving is not None:
            return moving.travel_m
        record = self.record
        stated = (
            record.moving.travel_mm if record.moving else None,
            record.motor.travel_mm if record.motor else None,
        )
        return next((1e-3 * one for one in stated if one is not None), None)

    def _motor(self, case: Case, found: dict[str, Any]) -> MotorStudies:
        from halfroll.driver.predicted.design_ingredients import MotorStudies
        from halfroll.motor.coil.wound import wind

        assert case.design.coil is not None
        return MotorStudies(assembly=case.assembly, coil=wind(case.design.coil), force_factor=found["field"].force_factor, blocked=found["blocked"],
                            modulation=found["modulation"], influences=found.get("influences"))  # fmt: skip

    def _heat(self, motor: MotorStudies, case: Case) -> CoilHeat | None:
        from halfroll.workshop.coil_heat import heat_of_version

        try:
            return heat_of_version(self.workshop, self.version_id, motor.coil, case.assembly)
        except InputError:  # such as air as warm as a limit: the driver is predicted without it
            return None

    @functools.cache  # noqa: B019  # as long as the prediction
    def _known(self) -> Stated | None:
        """Entered or measured values, for what is not designed."""
        folder = self.workshop.version(self.version_id).path.parent
        entered = entered_of(self.record, folder)
        if entered is not None:
            return completed(entered)
        return measured_stated(self.workshop, self.version_id, self.record)

    def _lacks(self, fault: MissingPartError) -> InputError:
        """What is said where a part of the design is missing and nothing stands in."""
        return InputError(
            f"The prediction of {self.version_id} needs {fault.needs}", key=fault.part if fault.part in ("motor", "coil", "cone") else "surround",
            found=f"no {_TABLES[fault.part]} in the design, and {fault.lacks} neither in [parameters] nor measured",
            remedy=f"Design it on the page {fault.page}/{self.version_id}, or state {fault.lacks} in [parameters], or measure the unit's parameters",
        )  # fmt: skip

    def _nothing(self) -> InputError:
        return InputError(
            f"The version {self.version_id} has no design to predict from", key="motor", found="no [motor] with [coil], and no moving parts",
            remedy=f"Design it on the pages /design/{self.version_id} and /suspension/{self.version_id}, or state what is known in [parameters]",
        )  # fmt: skip


def _planned(case: Case, travel_m: float | None) -> tuple[float, float]:
    """Displacements (m) the motor's studies go over: the travel, as far as the coil has room and stays near the gap."""
    from halfroll.motor.field.study import usual_travel

    usual = usual_travel(case.assembly)
    travel = min(travel_m or 0.5 * usual, usual)
    room = case.assembly.inward_room_m
    return -(travel if room is None else min(travel, room)), travel
