"""What a unit's measurements and its version's suspension say of a filament: readings for a calibration, taken from the workshop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.workshop import paths
from halfroll.workshop.calibrations import versions_using
from halfroll.workshop.contents import read_contents

if TYPE_CHECKING:
    from halfroll.suspension.design import FlexureDesign, StripDesign
    from halfroll.suspension.results import SuspensionResult
    from halfroll.workshop.store import Workshop


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
    return shares_of(solved.suspension, designs, names_of(workshop, key), version_id)


def names_of(workshop: Workshop, key: str) -> tuple[str, ...]:
    """What a design may call a filament: its key, and the ids of its spools; the key first."""
    parts = read_contents(workshop.folder, workshop.index).parts
    spools = [
        id_ for id_, one in parts.items() if one.type == "filament" and (one.material or one.catalogue) == key
    ]
    return (key, *spools)


def shares_of(
    suspension: SuspensionResult,
    designs: dict[str, StripDesign | FlexureDesign],
    names: Sequence[str],
    version_id: str,
) -> dict[str, Any]:
    """Keys of `ResonanceTable` that say how stiff the parts of a filament, by any of its names, and the others are."""
    from halfroll.materials.printed import in_print

    mine = [
        one for one in suspension.parts if one.name in designs and designs[one.name].material.key in names
    ]
    if not mine:
        made_of = ", ".join(f"{name} of {one.material.key}" for name, one in designs.items())
        raise InputError(
            f"No suspension part of {version_id} is made of {names[0]}", key="unit", found=made_of or "none"
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
    if design.material.key not in names_of(workshop, key):
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
