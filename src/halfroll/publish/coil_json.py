"""A coil for a program to read: plain values whose keys carry the unit. Uncertainties ``u`` are standard ones."""

from __future__ import annotations

import math
from typing import Any

from halfroll.motor.coil.clearance import Clearance, Side
from halfroll.motor.coil.windings import Choice, Windings
from halfroll.motor.coil.wound import Coil
from halfroll.motor.heat.coil import Bearable, CoilHeat


def coil_dict(coil: Coil) -> dict[str, Any]:
    """How a coil is wound."""
    design, masses = coil.design, coil.masses
    return {
        "wire": design.wire.key, "layers": design.layers, "turns": coil.turns, "layer_turns": list(coil.layer_turns),
        "packing": design.packing, "former_material": design.former.key, "former_inner_mm": 2e3 * coil.former_inner_m,
        "former_wall_mm": 1e3 * design.former_wall_m, "former_height_mm": 1e3 * coil.former_height_m,
        "glue": None if design.glue is None else design.glue.key, "offset_mm": 1e3 * design.offset_m,
        "winding_height_mm": 1e3 * coil.height_m, "winding_height_u_mm": 1e3 * coil.height_u_m,
        "build_mm": 1e3 * coil.build_m, "build_u_mm": 1e3 * coil.build_u_m, "winding_inner_mm": 2e3 * coil.inner_m,
        "winding_outer_mm": 2e3 * coil.outer_m, "outermost_mm": 2e3 * coil.outermost_m,
        "mean_diameter_mm": 1e3 * coil.mean_diameter_m, "winding_length_m": coil.winding_length_m,
        "lead_length_m": coil.lead_length_m, "wire_to_buy_m": coil.wire_to_buy_m,
        "resistance_20c_ohm": {"value": coil.resistance_ohm, "u": coil.resistance_u_ohm, "unit": "ohm"},
        "inductance_air_h": coil.inductance_h, "fill_factor": coil.fill_factor,
        "mass_g": {"value": 1e3 * coil.mass_kg, "u": 1e3 * coil.mass_u_kg, "unit": "g"},
        "metal_g": 1e3 * masses.metal, "enamel_g": 1e3 * masses.enamel, "glue_g": 1e3 * masses.glue,
        "former_g": 1e3 * masses.former, "insulation_g": 1e3 * masses.insulation,
        "verdicts": [verdict.as_dict() for verdict in coil.verdicts],
    }  # fmt: skip


def clearance_dict(found: Clearance) -> dict[str, Any]:
    """Clearance on both sides."""
    return {
        "coil_c": found.coil_c, "motor_c": found.motor_c, "inside": _side(found.inside), "outside": _side(found.outside),
        "verdicts": [verdict.as_dict() for verdict in found.verdicts],
    }  # fmt: skip


def _side(side: Side) -> dict[str, Any]:
    return {
        "part": side.part, "wall": side.wall, "nominal_mm": 1e3 * side.nominal_m, "warm_mm": 1e3 * side.warm_m,
        "likely_mm": 1e3 * side.likely_m, "worst_mm": 1e3 * side.worst_m,
        "tolerances_mm": {t.cause: 1e3 * t.half_m for t in side.tolerances},
    }  # fmt: skip


def heat_dict(heat: CoilHeat) -> dict[str, Any]:
    """What heat a coil bears."""
    net = heat.network
    return {
        "air_c": heat.air_c, "continuous": _bearable(heat.continuous), "short": [_bearable(one) for one in heat.short],
        "continuous_v": heat.continuous_v, "resistance_ohm": heat.resistance_ohm,
        "warm_resistance_ohm": heat.warm_resistance_ohm, "level_loss_db": heat.level_loss_db,
        "runaway_current_a": heat.runaway_a,
        "limits": [{"part": one.part, "as_warm_as": one.node, "lasting_c": one.lasting_c, "brief_c": one.brief_c, "u_k": one.u_k}
                   for one in heat.limits],
        "network": {
            "source": net.source, "coil_j_k": _of(net.coil_j_k, net.u_coil_j_k, "J/K"),
            "motor_j_k": _of(net.motor_j_k, net.u_motor_j_k, "J/K"),
            "coil_to_motor_k_w": _of(net.coil_to_motor_k_w, net.u_coil_to_motor_k_w, "K/W"),
            "motor_to_air_k_w": _of(net.motor_to_air_k_w, net.u_motor_to_air_k_w, "K/W"),
            "coil_to_air_k_w": None if math.isinf(net.coil_to_air_k_w) else _of(net.coil_to_air_k_w, net.u_coil_to_air_k_w, "K/W"),
            "time_constants_s": list(net.time_constants_s), "coil_rise_k_w": net.per_watt_k[0], "motor_rise_k_w": net.per_watt_k[1],
        },
        "verdicts": [verdict.as_dict() for verdict in heat.verdicts],
    }  # fmt: skip


def _of(value: float, u_rel: float, unit: str) -> dict[str, Any]:
    return {"value": value, "u": u_rel * value, "unit": unit}


def _bearable(one: Bearable) -> dict[str, Any]:
    return {
        "seconds": None if math.isinf(one.seconds) else one.seconds, "power_w": _of(one.power_w, one.u_rel, "W"),
        "gives_way": one.limit.part, "limit_c": one.limit.brief_c if one.seconds <= 60.0 else one.limit.lasting_c,
    }  # fmt: skip


def windings_dict(found: Windings) -> dict[str, Any]:
    """Windings that fit, best first."""
    low, high = found.target.range_ohm
    return {
        "asked_ohm": found.target.ohm, "asked": found.target.kind, "low_ohm": low, "high_ohm": high,
        "ranked_by": found.ranked_by, "tried": found.tried, "rejected": found.rejected,
        "windings": [_choice(rank, one) for rank, one in enumerate(found.choices, 1)],
        "verdicts": [verdict.as_dict() for verdict in found.verdicts],
    }  # fmt: skip


def _choice(rank: int, one: Choice) -> dict[str, Any]:
    coil = one.coil
    return {
        "rank": rank, "why": one.why, "bl_n_per_a": one.bl, "bl2_per_r_n2_w": one.merit, "travel_mm": 1e3 * one.travel_m,
        "hung": one.hung, "coil": coil_dict(coil), "clearance": clearance_dict(one.clearance),
    }  # fmt: skip
