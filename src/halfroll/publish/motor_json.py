"""A motor for a program to read: plain values whose keys carry the unit. Uncertainties ``u`` are standard ones."""

from __future__ import annotations

import math
from typing import Any

from halfroll.motor.coil.wound import Coil
from halfroll.motor.field.travel import GeometricTravel, Limit, TravelLimits
from halfroll.motor.heat.masses import mass_kg
from halfroll.motor.results import (
    AssemblyForce,
    BlockedImpedance,
    Modulation,
    MotorResult,
    OperatingPoint,
    Saturation,
)
from halfroll.motor.types import Assembly, Body, FieldCoil, Filler, Magnet, Ring, SoftSteel
from halfroll.publish.coil_json import clearance_dict, coil_dict, heat_dict
from halfroll.publish.motor_slow_rows import fitted
from halfroll.workshop.motor_report import MotorReport


def report_dict(report: MotorReport) -> dict[str, Any]:
    """Everything in a report, without the field map."""
    solved = report.solved
    return {
        "parts": [_body(body) for body in solved.assembly.bodies],
        "gap": _gap(solved.assembly),
        "inward_room_mm": _mm(solved.assembly.inward_room_m),
        "inward_stop": solved.assembly.inward_stop,
        "field": None if solved.motor is None else _field(solved.motor),
        "travel": None if report.limits is None else _limits(report.limits),
        "geometric_travel": None if report.geometric is None else _geometric(report.geometric),
        "coil": None if report.coil is None else coil_dict(report.coil),
        "clearance": None if report.clearance is None else clearance_dict(report.clearance),
        "clearance_warm": None if report.clearance_warm is None else clearance_dict(report.clearance_warm),
        "heat": None if report.heat is None else heat_dict(report.heat),
        "inductance": None if solved.inductance is None else _inductance(solved.inductance, report.coil),
        "modulation": None if solved.modulation is None else _modulation(solved.modulation),
        "assembly_forces": [_force(force) for force in solved.forces],
        "cost": report.cost.as_dict(),
        "faults": [fault.as_dict() for fault in report.faults],
        "verdicts": [verdict.as_dict() for verdict in report.verdicts],
    }


def _body(body: Body) -> dict[str, Any]:
    matter = body.matter
    r_min, r_max, z_min, z_max = body.bounds
    place = {
        "name": body.name, "part": body.part, "inner_mm": 2e3 * r_min, "outer_mm": 2e3 * r_max, "bottom_mm": 1e3 * z_min,
        "top_mm": 1e3 * z_max, "outline_mm": [[1e3 * r, 1e3 * z] for r, z in body.outline], "mass_g": 1e3 * mass_kg(body),
    }  # fmt: skip
    if isinstance(matter, Magnet):
        return place | {"kind": "magnet", "material": matter.grade.key, "direction_r_z": list(matter.direction),
                        "temperature_c": matter.temperature_c}  # fmt: skip
    if isinstance(matter, SoftSteel):
        return place | {"kind": "steel", "material": matter.steel.key}
    if isinstance(matter, Ring):
        return place | {"kind": "ring", "material": matter.conductor.key}
    if isinstance(matter, FieldCoil):
        return place | {"kind": "field coil", "turns": matter.turns, "current_a": matter.current_a}
    assert isinstance(matter, Filler)
    return place | {"kind": "filler", "material": matter.title}


def _gap(assembly: Assembly) -> dict[str, Any]:
    gap = assembly.gap
    return {
        "inner": gap.inner, "outer": gap.outer, "inner_diameter_mm": 2e3 * gap.r_inner, "outer_diameter_mm": 2e3 * gap.r_outer,
        "width_mm": 1e3 * (gap.r_outer - gap.r_inner), "height_mm": 1e3 * (gap.z_high - gap.z_low),
    }  # fmt: skip


def _field(result: MotorResult) -> dict[str, Any]:
    bl = result.force_factor
    return {
        "gap_flux_density_t": _figure(result.gap_mean_t, result.gap_u_t, "T"),
        "gap_z_mm": _list(result.gap_z_m, 1e3), "gap_b_t": _list(result.gap_b_t),
        "gap_flux_wb": result.gap_flux_wb, "magnet_flux_wb": result.magnet_flux_wb, "leakage_share": result.leakage_share,
        "force_factor_n_per_a": None if bl is None else _figure(bl.at_rest, float(bl.u[len(bl.u) // 2]), "N/A"),
        "force_factor": None if bl is None else {"x_mm": _list(bl.x_m, 1e3), "bl_n_per_a": _list(bl.bl), "u_n_per_a": _list(bl.u)},
        "offset_most_symmetric_mm": _mm(result.offset_best_m), "stray_50_mm_away_t": result.stray_t,
        "discretisation_error": result.error, "unknowns": result.unknowns,
        "steel": [_steel(one) for one in result.steel], "magnets": [_magnet(one) for one in result.magnets],
    }  # fmt: skip


def _steel(one: Saturation) -> dict[str, Any]:
    return {"part": one.body, "mean_t": one.mean_t, "across": one.across, "at_mm": 1e3 * one.at_m, "peak_t": one.peak_t,
            "relative_permeability": one.mu_r}  # fmt: skip


def _magnet(one: OperatingPoint) -> dict[str, Any]:
    return {
        "part": one.body, "temperature_c": one.temperature_c, "b_mean_t": one.b_mean_t, "h_mean_a_m": one.h_mean_a_m,
        "permeance": one.permeance, "b_worst_t": one.b_worst_t, "worst_at_mm": [1e3 * value for value in one.worst_at_m],
        "knee_t": one.knee_t, "margin_t": one.margin_t, "share_below_knee": one.share_below_knee,
        "safe_to_c": one.safe_to_c if math.isfinite(one.safe_to_c) else None,
    }  # fmt: skip


def _limits(limits: TravelLimits) -> dict[str, Any]:
    return {
        "share": limits.share, "outwards_mm": _limit(limits.outwards), "inwards_mm": _limit(limits.inwards),
        "peak_mm": 1e3 * limits.peak_m, "reached": limits.reached, "asymmetry": limits.asymmetry,
    }  # fmt: skip


def _limit(side: Limit) -> dict[str, Any]:
    return _figure(1e3 * side.distance_m, 1e3 * side.u_m, "mm") | {"reached": side.reached}


def _geometric(travel: GeometricTravel) -> dict[str, Any]:
    return {
        "hang": travel.hang, "linear_mm": 1e3 * travel.linear_m, "plus_15_percent_mm": 1e3 * travel.plus_15_percent_m,
        "plus_third_of_gap_mm": 1e3 * travel.plus_third_of_gap_m, "off_centre_mm": 1e3 * travel.off_m,
    }  # fmt: skip


def _inductance(found: BlockedImpedance, coil: Coil | None) -> dict[str, Any]:
    models = () if coil is None else fitted(found, coil.resistance_ohm)
    return {
        "frequency_hz": _list(found.frequency_hz), "x_mm": _list(found.x_m, 1e3),
        "inductance_h": found.inductance_h.tolist(), "added_resistance_ohm": found.resistance_ohm.tolist(), "u_rel": found.u_rel,
        "low_level_inductance_h": None if found.low_level_inductance_h is None else found.low_level_inductance_h.tolist(),
        "low_level_added_resistance_ohm": None if found.low_level_resistance_ohm is None else found.low_level_resistance_ohm.tolist(),
        "fitted": {one.coil: {**one.values, "misfit_rel": one.misfit} for one in models},
    }  # fmt: skip


def _modulation(found: Modulation) -> dict[str, Any]:
    return {
        "current_a": _list(found.current_a), "x_mm": _list(found.x_m, 1e3), "bl_n_per_a": found.bl.tolist(),
        "reluctance_force_n": found.reluctance_n.tolist(), "inductance_h": found.inductance_h.tolist(), "u_rel": found.u_rel,
    }  # fmt: skip


def _force(found: AssemblyForce) -> dict[str, Any]:
    return {
        "part": found.body, "distance_mm": _list(found.distance_m, 1e3), "force_n": _list(found.force_n), "u_rel": found.u_rel,
        "contact_n": found.contact_n, "verdicts": [verdict.as_dict() for verdict in found.verdicts],
    }  # fmt: skip


def _figure(value: float, u: float, unit: str) -> dict[str, Any]:
    return {"value": value, "u": u, "unit": unit}


def _mm(length: float | None) -> float | None:
    return None if length is None else 1e3 * length


def _list(values: Any, factor: float = 1.0) -> list[float]:
    return [factor * float(value) for value in values]
