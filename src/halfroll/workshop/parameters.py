"""The lumped parameters of a unit: its impedance runs, a fit of each, and what they tell together.

Which runs count for what: every free-air (or baffle) run that nothing speaks against is a reading of fs, Re and the Qs, so
repeats show their spread. The newest of them, with the mass and box runs of the unit, gives the absolute parameters; a mass run
counts when it was mounted as that one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.levels import DB_OF_RELATIVE
from halfroll.core.progress import Progress, part, silent
from halfroll.figures.parameters import absolute_readings, fit_readings
from halfroll.figures.types import FigureSettings, Reading, TakeReadings
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import AddedMass, Fit, FitSettings, KnownVolume, WeighedMass
from halfroll.workshop import paths
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.fitted import DEFAULT, FittedRun, UnitParameters
from halfroll.workshop.impedance_curves import RunPlace
from halfroll.workshop.impedance_record import ImpedanceRecord, Mounting
from halfroll.workshop.index import Result
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.records import UnitRecord, VersionRecord
from halfroll.workshop.rig_time import rig_at

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

WEIGHED_U, ADDED_U, VOLUME_U, AREA_U = 0.03, 0.01, 0.02, 0.02
"""Relative standard uncertainties taken where none is stated: what of surround and spider moves is a guess; a letter balance;
what the driver takes of a box; the middle of a roll. Own choice."""

_SPACES: dict[Mounting, Space] = {"free-air": Space.FREE, "baffle": Space.HALF, "closed-box": Space.CABINET}


def unit_parameters(
    workshop: Workshop,
    unit_id: str,
    settings: FitSettings = DEFAULT,
    *,
    contents: Contents | None = None,
    progress: Progress = silent,
) -> UnitParameters:
    """Curves, fits and absolute parameters of a unit; fits with the default settings come from the index.

    Raises
    ------
    InputError
        There is no such unit. A run that is wrong has its fault beside it.
    """
    workshop.existing(unit_id, "unit")
    contents = contents or read_contents(workshop.folder, workshop.index)
    fitted = []
    ids = sorted(
        contents.runs_below(unit_id, "impedance"), key=lambda i: contents.runs[i].when.replace(tzinfo=None)
    )
    for done, run_id in enumerate(ids):
        here = part(progress, done / len(ids), (done + 1) / len(ids))
        fitted.append(fitted_run(workshop, contents, run_id, settings, here))
    for run_id, fault in contents.faults.items():
        if run_id.startswith(f"{unit_id}/impedance/"):
            record = ImpedanceRecord(method="table", when=dt.datetime(1970, 1, 1))
            fitted.append(FittedRun(run_id=run_id, record=record, fault=fault, unread=True))
    found = UnitParameters(unit_id=unit_id, runs=tuple(fitted), settings=settings)
    version, unit = _records(contents, unit_id)
    return _with_absolute(found, version, unit)


def fitted_run(
    workshop: Workshop,
    contents: Contents,
    run_id: str,
    settings: FitSettings = DEFAULT,
    progress: Progress = silent,
) -> FittedRun:
    """A run with its curve and its fit, from the index or worked out now."""
    record = contents.runs[run_id]
    assert isinstance(record, ImpedanceRecord)
    version, unit = _records(contents, run_id)
    place = RunPlace(
        workshop=workshop, contents=contents, run_id=run_id, record=record, version=version, unit=unit
    )
    asked = _with_meter(settings, unit)
    blank = FittedRun(run_id=run_id, record=record)
    try:
        key = place.key(asked)
        packed = workshop.index.response(key)
        known = None if packed is None else unpack_value(packed)
        if isinstance(known, tuple) and len(known) == 2:
            return replace(blank, curve=known[0], fit=known[1])
        progress(0.0, f"reading the impedance {run_id}")
        curve = place.curve()
        fit = _fit(curve, asked, progress)
    except InputError as fault:
        return replace(blank, fault=fault)
    if settings == DEFAULT:
        workshop.index.put_results([Result(take=run_id, response_key=key, response=pack((curve, fit)))])
    return replace(blank, curve=curve, fit=fit)


def run_readings(
    workshop: Workshop,
    contents: Contents,
    unit_id: str,
    settings: FigureSettings,
    progress: Progress = silent,
) -> list[TakeReadings]:
    """Readings of the impedance runs of a unit, for figures and comparisons; one for each run without mass and box."""
    found = unit_parameters(workshop, unit_id, contents=contents, progress=progress)
    why = "" if found.parameters is not None else found.missing
    version, _ = _records(contents, unit_id)
    readings = []
    for run in found.runs:
        if run.unread or not (run.fault or run.record.leave_out or run.record.free):
            continue
        values: dict[str, Reading] = (
            {} if run.fit is None or not run.record.free else fit_readings(run.fit, run.scale_u)
        )
        if found.free is not None and run.run_id == found.free.run_id:
            values |= absolute_readings(found.parameters, why, run.scale_u)
        readings.append(_reading(contents, run, version, values))
    return readings


def _reading(
    contents: Contents, run: FittedRun, version: VersionRecord, values: dict[str, Reading]
) -> TakeReadings:
    record = run.record
    rig = contents.rigs.get(record.rig)
    then = None if rig is None or record.method == "table" else rig_at(rig, record.when, record.roles)
    return TakeReadings(
        take_id=run.run_id,
        when=record.when.isoformat(),
        rig=record.rig or paths.version_of(run.run_id),
        conditions=Conditions(
            drive_v=record.drive_v,
            distance_m=0.0,
            space=_SPACES[record.mounting],
            rated_impedance_ohm=version.rated_impedance_ohm,
            temperature_c=record.temperature_c,
        ),
        readings=values,
        verdicts=run.verdicts,
        current_u_db=DB_OF_RELATIVE * run.scale_u,
        calibration_dates=("", "", "") if then is None else then.dates,
        excluded=record.leave_out,
        kind="impedance",
        mounting=record.mounting,
    )


def _records(contents: Contents, id_: str) -> tuple[VersionRecord, UnitRecord]:
    unit_id = "/".join(id_.split("/")[:3])
    return (
        contents.versions.get(paths.version_of(id_)) or VersionRecord(),
        contents.units.get(unit_id) or UnitRecord(),
    )


def _with_meter(settings: FitSettings, unit: UnitRecord) -> FitSettings:
    """The settings with the unit's DC resistance by a meter, unless one is given."""
    if settings.re_ohm is not None or unit.re_ohm is None:
        return settings
    return replace(settings, re_ohm=unit.re_ohm, re_u_ohm=unit.re_u_ohm or None)


def _fit(curve: ImpedanceCurve, settings: FitSettings, progress: Progress) -> Fit:
    from halfroll.measure.lumped.parameters import fit_impedance

    return fit_impedance(curve, settings, progress)


def _with_absolute(found: UnitParameters, version: VersionRecord, unit: UnitRecord) -> UnitParameters:
    """The absolute parameters, or what lacks for them."""
    free = next((run for run in reversed(found.runs) if run.resonant and run.record.free), None)
    found = replace(found, free=free)
    if free is None or free.fit is None:
        return replace(found, missing=_next_step(found.runs))
    if version.effective_area_cm2 is None:
        return replace(
            found,
            missing="The effective area of the version is not stated; enter it in the version's record.",
        )
    area_u_cm2 = version.effective_area_u_cm2 or AREA_U * version.effective_area_cm2
    added, boxes = _added(found.runs, free), _boxes(found.runs)
    weighed = None
    if unit.moving_mass_g is not None:
        weighed = WeighedMass(
            mass_kg=1e-3 * unit.moving_mass_g,
            u_kg=1e-3 * (unit.moving_mass_u_g or WEIGHED_U * unit.moving_mass_g),
        )
    from halfroll.measure.lumped.absolute import absolute_parameters

    try:
        parameters = absolute_parameters(
            free.fit, area_m2=1e-4 * version.effective_area_cm2, area_u_m2=1e-4 * area_u_cm2,
            added=added, boxes=boxes, weighed=weighed,
            mounting="baffle" if free.record.mounting == "baffle" else "free air",
        )  # fmt: skip
    except HalfrollError as error:
        return replace(found, missing=str(error))
    if not parameters.methods:
        return replace(found, missing=NO_MASS)
    return replace(found, parameters=parameters)


NO_MASS = (
    "Nothing tells the moving mass yet. Stick a known mass to the cone, about half of the moving mass, and measure again; or "
    "measure on a closed box of known volume; or enter the weighed moving mass in the unit's record."
)


def _next_step(runs: Sequence[FittedRun]) -> str:
    if not runs:
        return "No impedance was measured yet. Import a table or a recording of voltage and current."
    if not any(run.record.free for run in runs):
        return "There is no curve without mass and box. Measure the impedance of the driver alone too."
    return "No curve of the driver alone can be used; what is wrong with it is said beside it."


def _added(runs: Sequence[FittedRun], free: FittedRun) -> list[AddedMass]:
    return [
        AddedMass(mass_kg=1e-3 * run.record.added_mass_g, u_kg=1e-3 * (run.record.added_mass_u_g or ADDED_U * run.record.added_mass_g), fit=run.fit)
        for run in runs
        if run.resonant and run.fit is not None and run.record.added_mass_g is not None
        and run.record.mounting == free.record.mounting
    ]  # fmt: skip


def _boxes(runs: Sequence[FittedRun]) -> list[KnownVolume]:
    return [
        KnownVolume(
            volume_m3=1e-3 * run.record.volume_l,
            u_m3=1e-3 * (run.record.volume_u_l or VOLUME_U * run.record.volume_l),
            fit=run.fit,
        )
        for run in runs
        if run.resonant and run.fit is not None and run.record.volume_l is not None
    ]
