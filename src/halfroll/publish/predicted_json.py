"""A predicted driver for a program to read: plain values whose keys carry the unit. Uncertainties ``u`` are standard ones."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import Assumption, PredictedDriver, Worked
from halfroll.driver.predicted.uncertainty import MonteCarlo


def predicted_dict(found: PredictedDriver, drawn: MonteCarlo | None = None) -> dict[str, Any]:
    """Values, assumptions and the model itself."""
    return {
        "values": {one.key: _value(one) for one in found.values},
        "model": model_dict(found.model),
        "assumptions": [_assumption(one) for one in found.assumptions],
        "rms_parts": [{"name": name, "rms_ns_per_m": value} for name, value in found.rms_parts],
        "monte_carlo": None if drawn is None else {
            "drawn": len(drawn.samples), "refused": drawn.refused,
            "values": {key: {"mean": drawn.mean(key), "u": drawn.u(key), "interval_95": list(drawn.interval(key))} for key in drawn.keys},
        },
        "missing": list(found.missing),
        "verdicts": [verdict.as_dict() for verdict in found.verdicts],
    }  # fmt: skip


def _value(one: Worked) -> dict[str, Any]:
    return {
        "value": one.value,
        "u": one.u or None,
        "unit": one.unit,
        "symbol": one.symbol,
        "where": one.where,
        "shares": dict(one.shares),
    }


def _assumption(one: Assumption) -> dict[str, Any]:
    return asdict(one)


def model_dict(model: DriverModel) -> dict[str, Any]:
    """The model that is played, SI; curves as coefficients, lowest power first."""
    return {
        "re_ohm": model.Re, "mms_kg": model.Mms, "rms_ns_per_m": model.Rms, "sd_m2": model.Sd, "bl_coefficients_si": list(model.Bl),
        "kms_coefficients_si": list(model.K), "le_coefficients_si": list(model.Le), "x_range_m": list(model.x_range),
        "branches": [{"l_h": inductance, "r_ohm": resistance} for inductance, resistance in ((model.L2, model.R2), *model.branches) if inductance > 0.0],
        "branches_follow_le": model.eddy_follows, "le_current_coefficients_si": [list(one) for one in model.Le_i], "creep_lambda": model.creep,
        "alpha_per_k": model.alpha_per_k,
    }  # fmt: skip
