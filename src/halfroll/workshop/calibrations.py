"""Calibrations of the workshop's filaments: what there is, what a new one would change, and saved whole or not at all.

A filament of the catalogue that is calibrated becomes a record of one's own under the same key, so every version that names it follows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.materials.calibrate.types import Creep, Estimate
from halfroll.materials.catalogue import catalogue, nearest
from halfroll.materials.types import Filament
from halfroll.workshop import paths
from halfroll.workshop.calibrated import Calibrated, calibrated
from halfroll.workshop.calibration_record import CalibrationTable, ResonanceTable
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.material_record import FilamentTable, MaterialRecord
from halfroll.workshop.own_materials import calibrated_of
from halfroll.workshop.parts import add_material, load_material, lookups, material_ids, save_material

if TYPE_CHECKING:
    from halfroll.suspension.design import FlexureDesign, StripDesign
    from halfroll.suspension.results import SuspensionResult
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class OwnFilament:
    """A filament with its calibrations; `loaded` is its record, None while it is only in the catalogue."""

    key: str
    calibrated: Calibrated
    loaded: Loaded[MaterialRecord] | None = None

    @property
    def filament(self) -> Filament:
        """What every version that names it is given."""
        return self.calibrated.filament


@dataclass(frozen=True, kw_only=True)
class Trial:
    """What a calibration says by itself, and the filament without and with it."""

    result: Estimate | Creep
    before: OwnFilament
    after: OwnFilament


def filament_of(workshop: Workshop, key: str, *, like: str | None = None) -> OwnFilament:
    """A filament of the workshop or of the catalogue with all its calibrations.

    Parameters
    ----------
    like
        For a key that is not there yet: the filament of the catalogue it starts from.

    Raises
    ------
    InputError
        There is no such filament, it is some other material, or its record is at fault.
    """
    shipped = catalogue()
    if key in material_ids(workshop):
        loaded = load_material(workshop, key)
        if loaded.record.filament is None:
            raise InputError(
                "Only filaments are calibrated", file=str(loaded.path), found=f"{key}, a {loaded.record.what}"
            )
        return OwnFilament(
            key=key, loaded=loaded, calibrated=calibrated_of(key, loaded.record, loaded.path, shipped)
        )
    if key in shipped.filaments and like is None:
        return OwnFilament(key=key, calibrated=calibrated(shipped.filaments[key], ()))
    if like is not None:
        record = _new_record(key, like, "")
        path = paths.material_path(workshop.folder, key)
        return OwnFilament(key=key, calibrated=calibrated_of(key, record, path, shipped))
    known = lookups(workshop).filaments
    raise InputError("There is no filament of that key", found=key, allowed=nearest(known, key) or sorted(known),
                     remedy="Name the filament of the catalogue it is like, and it is made: --like tpu-95a")  # fmt: skip


def filaments(workshop: Workshop) -> dict[str, OwnFilament]:
    """All filaments by key, own ones first; one whose record is at fault is left out."""
    found: dict[str, OwnFilament] = {}
    for key in (*material_ids(workshop), *catalogue().filaments):
        if key not in found:
            try:
                found[key] = filament_of(workshop, key)
            except InputError:
                continue
    return found


def try_calibration(
    workshop: Workshop, key: str, table: CalibrationTable, *, like: str | None = None
) -> Trial:
    """What a calibration would say and change; nothing is saved.

    Raises
    ------
    InputError
        There is no such filament, or the readings cannot be; the key of the reading is named.
    """
    before = filament_of(workshop, key, like=like if key not in material_ids(workshop) else None)
    tables = (*before.calibrated.tables, table)
    after = calibrated(before.calibrated.start, tables)
    result = after.results[-1]
    return Trial(result=result, before=before, after=replace(before, calibrated=after))


def add_calibration(
    workshop: Workshop,
    key: str,
    table: CalibrationTable,
    *,
    like: str | None = None,
    title: str = "",
    loaded: Loaded[MaterialRecord] | None = None,
) -> OwnFilament:
    """Save a calibration with its readings in the filament's record, which is made when there is none.

    Parameters
    ----------
    loaded
        The record as it was when the readings were typed in; by default as it is now.

    Raises
    ------
    InputError
        As for `try_calibration`.
    ConflictError
        The record was changed meanwhile; it is left as it is.
    """
    trial = try_calibration(workshop, key, table, like=like)
    there = loaded or trial.before.loaded
    if there is None:
        record = _new_record(key, like or key, title, (table,))
        add_material(workshop, key, record)
    else:
        save_material(
            workshop, there, with_calibrations(there.record, (*calibrations_in(there.record), table))
        )
    return filament_of(workshop, key)


def use_calibration(
    workshop: Workshop, loaded: Loaded[MaterialRecord], number: int, *, used: bool
) -> OwnFilament:
    """Let a calibration (counted from 1) count or not; its readings stay in the record.

    Raises
    ------
    InputError
        There is no such calibration.
    ConflictError
        The record was changed meanwhile.
    """
    tables = calibrations_in(loaded.record)
    if not 1 <= number <= len(tables):
        raise InputError("There is no calibration of that number", file=str(loaded.path), found=str(number),
                         allowed=f"1 to {len(tables)}" if tables else "it has none")  # fmt: skip
    changed = [
        table.changed(used=used) if place == number else table for place, table in enumerate(tables, 1)
    ]
    save_material(workshop, loaded, with_calibrations(loaded.record, changed))
    return filament_of(workshop, loaded.id)


def calibrations_in(record: MaterialRecord) -> tuple[CalibrationTable, ...]:
    """The calibrations of a filament's record."""
    assert record.filament is not None
    return record.filament.calibrations


def with_calibrations(record: MaterialRecord, tables: Sequence[CalibrationTable]) -> MaterialRecord:
    """The record with other calibrations."""
    assert record.filament is not None
    return record.changed(filament=record.filament.changed(calibrations=tuple(tables)))


def _new_record(key: str, like: str, title: str, tables: tuple[CalibrationTable, ...] = ()) -> MaterialRecord:
    if not title and like != key:
        known = catalogue().filaments.get(like)
        title = f"{key}, like {known.title}" if known is not None else key
    return MaterialRecord(title=title, filament=FilamentTable(like=like, calibrations=tables))


def versions_using(workshop: Workshop, contents: Contents | None = None) -> dict[str, tuple[str, ...]]:
    """By the key of a material, the ids of versions whose records name it, or name a spool of it."""
    contents = contents or read_contents(workshop.folder, workshop.index)
    spools = {
        key: one.material or one.catalogue for key, one in contents.parts.items() if one.type == "filament"
    }
    found: dict[str, list[str]] = {}
    for version_id, record in contents.versions.items():
        for named in dict.fromkeys(_materials_in(record)):
            found.setdefault(spools.get(named) or named, []).append(version_id)
    return {key: tuple(dict.fromkeys(ids)) for key, ids in found.items()}


def _materials_in(value: Any) -> Iterator[str]:
    """Every key under `material` or `former_material` in a record's tables."""
    if isinstance(value, list | tuple):
        for one in value:
            yield from _materials_in(one)
        return
    if not hasattr(type(value), "model_fields"):
        return
    for key, inner in value:
        if isinstance(inner, str) and key in ("material", "former_material"):
            yield inner
        elif not isinstance(inner, str | bytes):
            yield from _materials_in(inner)


# From a unit's resonance.


def units_to_calibrate(workshop: Workshop, key: str) -> list[str]:
    """Units with a measured impedance whose version has a surround or a spider of a filament."""
    contents = read_contents(workshop.folder, workshop.index)
    made_of_it = versions_using(workshop, contents).get(key, ())
    held = [
        v
        for v in made_of_it
        if contents.versions[v].surround is not None or contents.versions[v].spider is not None
    ]
    return [
        unit
        for unit in contents.units
        if paths.version_of(unit) in held and contents.runs_below(unit, "impedance")
    ]


def resonance_readings(
    workshop: Workshop, unit_id: str, key: str, progress: Progress = silent
) -> dict[str, Any]:
    """Readings for a resonance calibration of a filament from what was measured of a unit and is computed of its version.

    Returns
    -------
    dict
        Keys of `ResonanceTable`, and ``lines``: resonance, moving mass and Qms from the unit's fits, stiffness of the parts made of the filament
        and of the others from the version's suspension.

    Raises
    ------
    InputError
        The unit has no fit with a moving mass, its version no suspension, or no part of it is made of the filament.
    """
    measured = measured_resonance(workshop, unit_id, part(progress, 0.0, 0.3))
    return {
        **measured,
        **predicted_stiffness(workshop, paths.version_of(unit_id), key, part(progress, 0.3, 1.0)),
    }


def measured_resonance(workshop: Workshop, unit_id: str, progress: Progress = silent) -> dict[str, Any]:
    """Resonance, moving mass and Qms of a unit, with their uncertainties; `InputError` when they are not known."""
    from halfroll.workshop.parameters import unit_parameters

    found = unit_parameters(workshop, unit_id, progress=progress)
    if found.parameters is None or "mms_kg" not in found.parameters.estimates:
        raise InputError(f"The moving mass of {unit_id} is not known", key="unit", found=found.missing.rstrip(".") or "no fit with a mass",
                         remedy="Measure its parameters with a mass on the cone, or state --resonance and --mass")  # fmt: skip
    estimates = found.parameters.estimates
    fit = found.free.fit.estimates if found.free is not None and found.free.fit is not None else estimates

    def told(name: str) -> tuple[float, float]:
        source = estimates if name in estimates else fit
        return source.value(name), source.u(name)

    (hz, hz_u), (mass, mass_u) = told("fs_hz"), told("mms_kg")
    readings: dict[str, Any] = {
        "unit": unit_id, "resonance_hz": hz, "resonance_u_percent": max(100 * hz_u / hz, 0.5), "moving_mass_g": 1e3 * mass,
        "moving_mass_u_percent": max(100 * mass_u / mass, 0.5),
    }  # fmt: skip
    if "qms" in fit or "qms" in estimates:
        q, q_u = told("qms")
        readings |= {"qms": q, "qms_u_percent": max(100 * q_u / q, 1.0)}
    return {
        key: float(f"{value:.5g}") if isinstance(value, float) else value for key, value in readings.items()
    }


def predicted_stiffness(
    workshop: Workshop, version_id: str, key: str, progress: Progress = silent
) -> dict[str, Any]:
    """Stiffness at rest of the parts of a version made of a filament, with the modulus it was computed with, and of its other parts."""
    from halfroll.workshop.suspensions import solve_suspension

    solved = solve_suspension(workshop, version_id, progress, wants=("stiffness",))
    if solved.suspension is None:
        raise InputError(f"{version_id} has no suspension to compute", key="unit",
                         remedy="Design its surround and spider, or state --predicted and --reference")  # fmt: skip
    designs = {one.name: one for one in (solved.design.surround, solved.design.spider) if one is not None}
    return shares_of(solved.suspension, designs, key, version_id)


def shares_of(
    suspension: SuspensionResult, designs: dict[str, StripDesign | FlexureDesign], key: str, version_id: str
) -> dict[str, Any]:
    """Keys of `ResonanceTable` that say how stiff the parts of a filament and the others are."""
    from halfroll.materials.printed import in_print

    mine = [one for one in suspension.parts if one.name in designs and designs[one.name].material.key == key]
    if not mine:
        made_of = ", ".join(f"{name} of {one.material.key}" for name, one in designs.items())
        raise InputError(
            f"No suspension part of {version_id} is made of {key}", key="unit", found=made_of or "none"
        )
    design = designs[mine[0].name]
    printed = in_print(design.material, raster=design.print.raster, infill=design.print.infill)
    own = sum(one.curve.at_rest() for one in mine)
    rest = [one for one in suspension.parts if one not in mine]
    modulus_u = printed.modulus_u_pa / printed.modulus_pa
    shape_u = math.sqrt(max(mine[0].curve.u_relative ** 2 - modulus_u**2, 0.03**2))
    # A modulus that holds for a print of 40 % filling is told of the solid plastic.
    solid = printed.modulus_pa / design.print.infill**1.5
    said: dict[str, Any] = {
        "predicted_n_mm": 1e-3 * own, "predicted_u_percent": 100 * shape_u, "reference_mpa": 1e-6 * solid, "lines": printed.lines,
        "rest_n_mm": 1e-3 * sum(one.curve.at_rest() for one in rest),
    }  # fmt: skip
    if rest:
        said["rest_u_percent"] = 100 * max(one.curve.u_relative for one in rest)
    return {
        name: float(f"{value:.5g}") if isinstance(value, float) else value for name, value in said.items()
    }


def resonance_table(readings: dict[str, Any]) -> tuple[ResonanceTable, str]:
    """The table of readings that `resonance_readings` gives, and how the load met the lines."""
    inside = dict(readings)
    lines = str(inside.pop("lines", "across"))
    return ResonanceTable.model_validate(inside), lines


def predicted_curve(
    workshop: Workshop, version_id: str, name: str, key: str, kind: str, progress: Progress = silent
) -> dict[str, Any]:
    """Keys of `CurveTable` that say what is predicted for a part of a version, and ``lines``.

    Raises
    ------
    InputError
        The version has no such part, or it is made of another material.
    """
    from halfroll.materials.printed import in_print
    from halfroll.workshop.suspensions import solve_suspension

    solved = solve_suspension(workshop, version_id, progress, wants=("stiffness",))
    design = {"surround": solved.design.surround, "spider": solved.design.spider}.get(name)
    parts = () if solved.suspension is None else solved.suspension.parts
    found = next((one for one in parts if one.name == name), None)
    if design is None or found is None:
        raise InputError(
            f"{version_id} has no {name}",
            key="--part",
            found=name,
            allowed=[one.name for one in parts] or "it has none",
        )
    if design.material.key != key:
        raise InputError(
            f"The {name} of {version_id} is made of another material",
            key="--part",
            found=design.material.key,
            allowed=key,
        )
    printed = in_print(design.material, raster=design.print.raster, infill=design.print.infill)
    shape_u = math.sqrt(
        max(found.curve.u_relative**2 - (printed.modulus_u_pa / printed.modulus_pa) ** 2, 0.03**2)
    )
    values = 1e-3 * found.curve.kms_n_per_m if kind == "stiffness" else found.curve.force_n
    return {
        "predicted_x_mm": [float(f"{1e3 * x:.6g}") for x in found.curve.x_m], "predicted": [float(f"{v:.6g}") for v in values],
        "reference_mpa": float(f"{1e-6 * printed.modulus_pa / design.print.infill**1.5:.6g}"),
        "predicted_u_percent": float(f"{100 * shape_u:.4g}"), "lines": printed.lines,
    }  # fmt: skip
