"""What a crossover needs to know of a driver in the workshop: from a take and its impedance, or from a model, alike."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.core.conditions import Space, radius_of_area
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.driver.crossover.responses import WayData, grid, interpolated
from halfroll.workshop import paths
from halfroll.workshop.crossover_record import WayTable
from halfroll.workshop.faults import asked_by

if TYPE_CHECKING:
    from halfroll.measure.analysis.response import Response
    from halfroll.workshop.store import Workshop

REFERENCE_M = 1.0
PISTON_KA = 2.0
"""Above this ka a stiff piston says little of a real cone, where no break-up was worked out (common practice)."""


def way_data(workshop: Workshop, table: WayTable, progress: Progress = silent) -> WayData:
    """What is known of the driver of a way.

    ``auto`` takes a measured take when there is one that can be used, and the model otherwise.

    Raises
    ------
    InputError
        There is no such driver, take or run, or nothing is known of it; the message says what to add.
    """
    existing_driver(workshop, table)
    if table.source == "measured" or (table.source == "auto" and table.cabinet is None):
        take_id = _take_of(workshop, table)
        if take_id is not None:
            return _measured(workshop, table, take_id, progress)
        if table.source == "measured":
            raise InputError(f"There is no take of {table.driver} from a distance", key=f"{table.name}.source", found="measured",
                             remedy="Record one in far field, join near and far field, or let the way be predicted")  # fmt: skip
    return _modelled(workshop, table, progress)


def existing_driver(workshop: Workshop, table: WayTable) -> None:
    """Refuse a way whose version or unit is not in the workshop."""
    level = "unit" if table.driver.count("/") == 2 else "version"
    workshop.existing(table.driver, level, key=f"{table.name}.driver")


def _modelled(workshop: Workshop, table: WayTable, progress: Progress) -> WayData:
    from halfroll.driver.cone import cone_transfer
    from halfroll.driver.cone_of_shell import cone_of_shell
    from halfroll.driver.linear import linear_response
    from halfroll.workshop.prediction import driver_model

    version_id = paths.version_of(table.driver)
    f = grid()
    load = None
    if table.cabinet is not None:
        from halfroll.acoustics.cabinet.network import load_of
        from halfroll.workshop.cabinets import load_cabinet

        with asked_by(f"{table.name}.cabinet"):
            load = load_of(load_cabinet(workshop, table.cabinet, version_id), STANDARD_AIR)
    found = driver_model(
        workshop, version_id, table.source if table.source != "measured" else "auto", progress
    )
    record = workshop.version(version_id).record
    response = linear_response(found.model, f, load=load, distance_m=REFERENCE_M)
    pressure, end = (
        response.pressure_pa_per_v,
        PISTON_KA * STANDARD_AIR.speed_of_sound / (2.0 * math.pi * found.model.radius),
    )
    if found.break_up is not None:
        cone = cone_of_shell(found.break_up)
        pressure = pressure + response.cone_pressure_pa_per_v * (cone_transfer(f, cone.modes) - 1.0)
        end = cone.valid_hz
    return WayData(
        frequency_hz=f, impedance_ohm=response.impedance_ohm, pressure_pa_per_v=pressure, radius_m=found.model.radius,
        valid_hz=(0.0, end), phase="computed", displacement_m_per_v=response.displacement_m_per_v,
        source="entered" if table.source == "entered" else "predicted", rated_ohm=record.rated_impedance_ohm, rated_w=record.rated_power_w,
        verdicts=_named(table, found.verdicts),
    )  # fmt: skip


def _take_of(workshop: Workshop, table: WayTable) -> str | None:
    """The take a way is heard by: the stated one, else a joined response, else the far-field take at the lowest drive."""
    units = [table.driver] if table.driver.count("/") == 2 else workshop.unit_ids(table.driver)
    if table.take is not None:
        return _stated_take(workshop, table, units)
    from halfroll.workshop.runs import load_run, run_ids

    for unit_id in units:
        joined = [
            run
            for run in run_ids(workshop, unit_id, "joined")
            if not load_run(workshop, run).record.leave_out
        ]
        if joined:
            return joined[-1]
    found: list[tuple[tuple[bool, float], str]] = []
    for take_id in (take for unit in units for take in workshop.take_ids(unit)):
        record = workshop.take(take_id).record
        if record.space is not Space.NEAR and not record.leave_out:
            found.append(((record.space is not Space.HALF, record.drive_v or math.inf), take_id))
    for _, take_id in sorted(found):
        if _response(workshop, take_id, silent).usable:
            return take_id
    return None


def _stated_take(workshop: Workshop, table: WayTable, units: list[str]) -> str:
    names = []
    for unit_id in units:
        from halfroll.workshop.runs import run_ids

        ids = [*run_ids(workshop, unit_id, "joined"), *workshop.take_ids(unit_id)]
        names += [id_.rpartition("/")[2] for id_ in ids]
        for id_ in ids:
            if table.take in (id_, id_.removeprefix(f"{unit_id}/"), id_.rpartition("/")[2]):
                return id_
    raise InputError(f"There is no take or joined response of {table.driver} with this name", key=f"{table.name}.take", found=table.take,
                     allowed=names[:12] or "there is no take yet")  # fmt: skip


def _response(workshop: Workshop, take_id: str, progress: Progress) -> Response:
    from halfroll.workshop import derive, joined

    return (
        joined.response(workshop, take_id, progress)
        if joined.is_joined(take_id)
        else derive.response(workshop, take_id, progress)
    )


def _measured(workshop: Workshop, table: WayTable, take_id: str, progress: Progress) -> WayData:
    response = _response(workshop, take_id, progress)
    unit_id = "/".join(take_id.split("/")[:3])
    record = workshop.version(paths.version_of(take_id)).record
    f, conditions = response.frequency_hz, response.conditions
    if worst(response.verdicts) >= Severity.BAD or not response.calibrated:
        why = "it cannot be used" if response.calibrated else "it is not calibrated"
        raise InputError(f"The take {take_id} says nothing of the level: {why}", key=f"{table.name}.take", found=take_id,
                         remedy="Name another take, or calibrate its rig")  # fmt: skip
    radius = (
        conditions.radius_m
        if record.effective_area_cm2 is None
        else radius_of_area(1e-4 * record.effective_area_cm2)
    )
    if radius is None:
        raise InputError(f"The piston area of {table.driver} must be known for its pattern", key=f"{table.name}.driver", found="none stated",
                         remedy="State effective_area_cm2 in the version's record")  # fmt: skip
    low = max(response.valid_hz[0], response.gate.valid_from_hz)
    measured = response.voltage_recorded
    return WayData(
        frequency_hz=f, impedance_ohm=_impedance(workshop, table, unit_id, response), radius_m=radius,
        pressure_pa_per_v=_pressure(response, measured=measured), valid_hz=(low, response.valid_hz[1]), space=conditions.space,
        phase="measured" if measured else "minimum", source="measured", rated_ohm=record.rated_impedance_ohm, rated_w=record.rated_power_w,
        verdicts=_cautions(table, response),
    )  # fmt: skip


def _pressure(response: Response, *, measured: bool) -> ComplexArray:
    """Pressure per volt brought to 1 m, travel time taken off; with minimum phase where the start of the sound is not known."""
    f, distance = response.frequency_hz, response.conditions.distance_m
    if measured:
        pressure = (
            np.where(response.in_room(), response.pressure_full_pa, response.pressure_pa) / response.voltage_v
        )
        speed = STANDARD_AIR.speed_of_sound
        return np.asarray(pressure * np.exp(2j * math.pi * f * distance / speed) * distance / REFERENCE_M)
    from halfroll.driver.crossover.phase import minimum_phase

    level = response.sensitivity_pa_per_v() * distance / REFERENCE_M
    good = np.isfinite(level) & (level > 0.0)
    phase = np.full(f.shape, np.nan)
    phase[good] = minimum_phase(f[good], level[good])
    return np.asarray(level * np.exp(1j * phase))


def _impedance(workshop: Workshop, table: WayTable, unit_id: str, response: Response) -> ComplexArray:
    """The impedance of the take, else of a stated or the latest run of the unit, on the take's grid."""
    if response.impedance_ohm is not None and table.impedance is None:
        return response.impedance_ohm
    from halfroll.workshop.contents import read_contents
    from halfroll.workshop.parameters import fitted_run

    contents = read_contents(workshop.folder, workshop.index)
    runs = contents.runs_below(unit_id, "impedance")
    if table.impedance is not None:
        runs = [run for run in runs if table.impedance in (run, run.rpartition("/")[2])]
    curves = [(run, fitted_run(workshop, contents, run)) for run in runs]
    plain = [one for _, one in curves if one.curve is not None and not one.record.leave_out
             and (table.impedance is not None or one.record.free)]  # fmt: skip
    if not plain or plain[-1].curve is None:
        names = [run.rpartition("/")[2] for run in contents.runs_below(unit_id, "impedance")]
        raise InputError(f"No impedance of {unit_id} is known, and a crossover needs it", key=f"{table.name}.impedance",
                         found=table.impedance or "none", allowed=names or None,
                         remedy="Measure it, or record the current with a take")  # fmt: skip
    curve = plain[-1].curve
    impedance = curve.impedance_ohm
    if not curve.phase_known:  # an impedance one can build of R, L and C is of minimum phase
        from halfroll.driver.crossover.phase import minimum_phase

        size = np.abs(impedance)
        impedance = np.asarray(size * np.exp(1j * minimum_phase(curve.frequency_hz, size)))
    return interpolated(curve.frequency_hz, impedance, response.frequency_hz)


def _named(table: WayTable, verdicts: tuple[Verdict, ...]) -> tuple[Verdict, ...]:
    """Cautions, with the way they are said of."""
    return tuple(
        replace(v, text=f"{table.name} ({table.driver}): {v.text}")
        for v in verdicts
        if v.severity >= Severity.CAUTION
    )


def _cautions(table: WayTable, response: Response) -> tuple[Verdict, ...]:
    found = list(_named(table, response.verdicts))
    if response.conditions.space is Space.NEAR:
        found.append(Verdict(code="crossover-near-field", severity=Severity.CAUTION,
                             text=f"{table.name} is heard by a near-field take, whose level is not that at a distance.",
                             remedy="Name a far-field take or a joined response.", data={"way": table.name}))  # fmt: skip
    return tuple(found)
