"""A suspension for a program to read: plain values whose keys carry the unit. Uncertainties ``u`` are standard ones."""

from __future__ import annotations

from typing import Any

import numpy as np

from halfroll.driver.suspension_distortion import SuspensionDistortion, ToneDistortion
from halfroll.suspension.results import (
    BreakUp,
    MovingMass,
    MovingPart,
    PartResult,
    ShellMode,
    StiffnessCurve,
    SuspensionResult,
    TravelRange,
)
from halfroll.workshop.suspension_measured import Comparison
from halfroll.workshop.suspension_report import MaterialUse, SuspensionReport


def report_dict(report: SuspensionReport, *, curve: bool = False, only: str | None = None) -> dict[str, Any]:
    """Everything in a report, without shapes and strain maps; force and stiffness over x with `curve`, of suspension parts `only` one."""
    solved = report.solved
    parts = () if solved.suspension is None else solved.suspension.parts
    return {
        "travel_mm": 1e3 * solved.design.travel_m,
        "temperature_c": solved.design.temperature_c,
        "suspension": None if solved.suspension is None else _suspension(solved.suspension, curve),
        "parts": [_part(part, curve) for part in parts if only is None or part.name == only],
        "mass": None if solved.mass is None else _mass(solved.mass),
        "break_up": None if solved.break_up is None else _break_up(solved.break_up),
        "materials": [_material(use) for use in report.materials],
        "measured": [_comparison(one) for one in report.comparisons],
        "distortion": None if report.distortion is None else _distortion(report.distortion),
        "faults": [fault.as_dict() for fault in report.faults],
        "verdicts": [verdict.as_dict() for verdict in report.verdicts],
    }


def _suspension(result: SuspensionResult, curve: bool) -> dict[str, Any]:
    rocking = result.rocking
    return _stiffness(result.curve, result.asymmetry, result.limit, curve) | {
        "moving_mass_g": _maybe(result.moving_kg, result.moving_u_kg, "g", 1e3),
        "resonance_hz": _maybe(result.resonance_hz, result.resonance_u_hz, "Hz"),
        "sag_mm": _times(result.sag_m, 1e3), "sag_later_mm": _times(result.sag_later_m, 1e3), "creep_days": result.creep_days,
        "rocking": None if rocking is None else {
            "rocking_hz": _figure(rocking.rocking_hz, rocking.rocking_u_hz, "Hz"), "pivot_mm": 1e3 * rocking.pivot_m, "shift_hz": rocking.shift_hz,
        },
    }  # fmt: skip


def _part(part: PartResult, curve: bool) -> dict[str, Any]:
    return {"name": part.name} | _stiffness(part.curve, part.asymmetry, part.limit, curve) | {
        "reached_mm": _list(part.reached_m, 1e3), "largest_strain": _extreme(part.strain, np.nanmax),
        "largest_stress_mpa": _extreme(part.stress_pa, np.nanmax, 1e-6), "lowest_hoop_strain": _extreme(part.hoop_strain, np.nanmin),
        "mass_g": 1e3 * part.mass_kg, "moving_g": 1e3 * part.moving_kg, "area_cm2": 1e4 * part.area_m2,
        "radial_n_per_m": part.radial_n_per_m, "tilt_nm_per_rad": part.tilt_nm_per_rad, "cross_n_per_rad": part.cross_n_per_rad,
        "own_resonances": [{"frequency_hz": hz, "nodal_diameters": count} for hz, count in part.own_hz],
        "wrinkles": [{"x_mm": 1e3 * x, "waves": waves} for x, waves in zip(part.wrinkle_x_m, part.wrinkle_waves, strict=True)],
        "hub_turn_deg": None if part.hub_turn_rad is None else float(np.degrees(np.max(np.abs(part.hub_turn_rad)))),
        "mesh_error_rel": part.mesh_error,
    } | ({"strain": _list(part.strain), "stress_mpa": _list(part.stress_pa, 1e-6), "hoop_strain": _list(part.hoop_strain) if np.isfinite(part.hoop_strain).all() else None} if curve else {})  # fmt: skip


def _stiffness(one: StiffnessCurve, asymmetry: float, limit: TravelRange, curve: bool) -> dict[str, Any]:
    rest = one.at_rest()
    found = {
        "kms_at_rest_n_per_m": _figure(rest, rest * one.u_relative, "N/m"), "asymmetry": asymmetry,
        "compliance_above_75_percent_mm": {
            "low_mm": 1e3 * limit.low_m, "high_mm": 1e3 * limit.high_m, "reaches_travel_low": limit.full_low, "reaches_travel_high": limit.full_high,
        },
    }  # fmt: skip
    if curve:
        found["curve"] = {
            "x_mm": _list(one.x_m, 1e3), "force_n": _list(one.force_n), "kms_n_per_m": _list(one.kms_n_per_m),
            "tangent_n_per_m": _list(one.tangent_n_per_m), "u_rel": one.u_relative,
        }  # fmt: skip
    return found


def _mass(mass: MovingMass) -> dict[str, Any]:
    return {
        "parts": [_moving(part) for part in mass.parts], "mass_g": _figure(1e3 * mass.mass_kg, 1e3 * mass.mass_u_kg, "g"),
        "centre_mm": 1e3 * mass.centre_m, "diametral_kg_m2": mass.diametral_kg_m2, "air_g": 1e3 * mass.air_kg,
        "mms_g": _figure(1e3 * mass.mms_kg, 1e3 * mass.mass_u_kg, "g"), "area_cm2": _figure(1e4 * mass.area_m2, 1e4 * mass.area_u_m2, "cm²"),
        "surround_area_cm2": 1e4 * mass.surround_area_m2,
    }  # fmt: skip


def _moving(part: MovingPart) -> dict[str, Any]:
    return {
        "name": part.name, "mass_g": _figure(1e3 * part.mass_kg, 1e3 * part.mass_u_kg, "g"), "centre_mm": 1e3 * part.centre_m,
        "polar_kg_m2": part.polar_kg_m2, "diametral_kg_m2": part.diametral_kg_m2, "basis": part.basis,
    }  # fmt: skip


def _break_up(found: BreakUp) -> dict[str, Any]:
    u = found.u_relative
    return {
        "first_hz": None if found.first_hz is None else _figure(found.first_hz, u * found.first_hz, "Hz"),
        "second_hz": None if found.second_hz is None else _figure(found.second_hz, u * found.second_hz, "Hz"),
        "usable_hz": _figure(found.usable_hz, found.usable_u_relative * found.usable_hz, "Hz"), "usable_db": found.usable_db, "valid_hz": found.valid_hz,
        "frequency_hz": _list(found.frequency_hz), "angles_deg": list(found.angles_deg), "response_db": found.response_db.tolist(),
        "piston_db": found.piston_db.tolist(), "modes": [_mode(mode) for mode in found.modes],
    }  # fmt: skip


def _mode(mode: ShellMode) -> dict[str, Any]:
    return {
        "frequency_hz": _figure(mode.frequency_hz, mode.u_relative * mode.frequency_hz, "Hz"), "heard": mode.heard, "kind": mode.kind,
        "quality": mode.quality, "peak_db": mode.peak_db, "own_share": mode.own_share, "words": mode.words,
    }  # fmt: skip


def _material(use: MaterialUse) -> dict[str, Any]:
    filament, printed = use.filament, use.printed
    return {
        "part": use.part, "filament": filament.key, "title": filament.title, "support": filament.origin.support,
        "source": filament.origin.source, "calibrated": filament.calibrated or None,
        "modulus_mpa": _figure(1e-6 * printed.modulus_pa, 1e-6 * printed.modulus_u_pa, "MPa"),
        "poisson": {"value": printed.poisson, "u": printed.poisson_u},
        "density_kg_m3": _figure(printed.density_kg_m3, printed.density_u_kg_m3, "kg/m³"),
        "loss_factor": {"value": filament.loss_factor, "u": filament.loss_factor_u}, "law": printed.law, "lines": printed.lines, "words": printed.words,
    }  # fmt: skip


def _comparison(one: Comparison) -> dict[str, Any]:
    return {
        "name": one.name, "computed": _figure(one.computed, one.computed_u, one.unit), "measured": _figure(one.measured, one.measured_u, one.unit),
        "units": one.units, "difference_in_standard_uncertainties": one.difference, "words": one.words,
    }  # fmt: skip


def _distortion(found: SuspensionDistortion) -> dict[str, Any]:
    constants = found.constants
    return {
        "constants": {
            "bl_n_per_a": constants.bl, "re_ohm": constants.re_ohm, "le_h": constants.le_h, "mms_kg": constants.mms_kg,
            "rms_ns_per_m": constants.rms, "sd_m2": constants.sd_m2,
        },
        "origins": dict(found.origins), "stiffness_misfit_rel": found.stiffness.misfit, "stiffness_coefficients_si": list(found.stiffness.coefficients),
        "suspension_alone": [_tone(tone) for tone in found.alone], "motor_alone": [_tone(tone) for tone in found.motor],
        "both": [_tone(tone) for tone in found.both],
    }  # fmt: skip


def _tone(tone: ToneDistortion) -> dict[str, Any]:
    return {
        "drive_v": tone.voltage_v, "frequency_hz": _list(tone.frequency_hz), "thd_percent": _list(tone.thd, 100.0),
        "h2_percent": _list(tone.pressure_ratio[1], 100.0), "h3_percent": _list(tone.pressure_ratio[2], 100.0),
        "displacement_mm": (1e3 * tone.displacement_m).tolist(), "peak_mm": _list(tone.peak_m, 1e3), "offset_mm": _list(tone.offset_m, 1e3),
        "standing": list(tone.standing),
    }  # fmt: skip


def _figure(value: float, u: float, unit: str) -> dict[str, Any]:
    return {"value": value, "u": u, "unit": unit}


def _maybe(value: float | None, u: float | None, unit: str, factor: float = 1.0) -> dict[str, Any] | None:
    return None if value is None else _figure(factor * value, factor * (u or 0.0), unit)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else factor * value


def _extreme(values: Any, which: Any, factor: float = 1.0) -> float | None:
    return factor * float(which(values)) if np.isfinite(values).any() else None


def _list(values: Any, factor: float = 1.0) -> list[float]:
    return [factor * float(value) for value in values]
