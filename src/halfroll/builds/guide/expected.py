"""What a version's model says a unit reads on the bench, hanging in free air, and what of its doubt another unit shares."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import air_mass
from halfroll.core.errors import InputError
from halfroll.driver.lumped import DriverModel, small_signal

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import Assumption, PredictedDriver

STEP = 0.25
"""Share of a standard uncertainty by which slopes are found, as `driver.predicted.worked` does."""

COMMON = (".lines", "diaphragm.area", "steel.reversible")
"""Ends of assumptions that no material carries and that are still the same for every unit: how a printer lays lines, what the model knows."""


@dataclass(frozen=True, kw_only=True)
class Expected:
    """A reading as the model has it: value, what all units share of its standard uncertainty, what differs from unit to unit."""

    value: float
    u_shared: float
    u_unit: float


def free_air(model: DriverModel, air: Air = STANDARD_AIR) -> DriverModel:
    """The driver with the air that moves with it in free air instead of that of an infinite baffle: half of it (Lamb)."""
    from halfroll.driver.update.forward import FREE_AIR_SHARE

    lighter = model.Mms - (1.0 - FREE_AIR_SHARE) * air_mass(model.radius, air)
    return replace(model, Mms=max(lighter, 0.1 * model.Mms))


def bench_values(model: DriverModel) -> dict[str, float]:
    """Readings of a driver on the bench, by key of a band. The moving mass is the one on the scales, without any air."""
    loose = free_air(model)
    small = small_signal(loose)
    return {
        "re_ohm": model.Re, "fs_hz": small.fs, "qms": small.Qms, "qes": small.Qes, "qts": small.Qts, "impedance_peak_ohm": _peak(loose, small.fs),
        "moving_mass_g": 1e3 * (model.Mms - air_mass(model.radius)), "bl_n_per_a": abs(model.Bl[0]),
        "sensitivity_db": small_signal(model).level_2v83_db,
    }  # fmt: skip


def _peak(model: DriverModel, fs: float) -> float:
    """The highest impedance about the resonance (ohm)."""
    from halfroll.driver.linear import linear_response

    f = fs * np.geomspace(0.8, 1.25, 61)
    return float(np.abs(linear_response(model, f).impedance_ohm).max())


def slopes_of_values(predicted: PredictedDriver) -> dict[str, dict[str, float]]:
    """By assumption the change of each reading per standard uncertainty, to first order (unit of the reading)."""
    found = {}
    for one in predicted.assumptions:
        try:
            low, high = (bench_values(predicted.moved({one.key: sign * STEP})) for sign in (-1.0, 1.0))
        except InputError:  # no driver is like that
            continue
        found[one.key] = {key: (high[key] - low[key]) / (2.0 * STEP) for key in low}
    return found


def expected_of(predicted: PredictedDriver) -> Mapping[str, Expected]:
    """Readings of a predicted driver with the two parts of their uncertainty."""
    values, slopes = bench_values(predicted.model), slopes_of_values(predicted)
    common = {one.key for one in predicted.assumptions if all_alike(one)}
    found = {}
    for key, value in values.items():
        own = {
            name: change[key]
            for name, change in slopes.items()
            if not (key == "moving_mass_g" and name == "air.density")
        }
        shared = math.sqrt(sum(change**2 for name, change in own.items() if name in common))
        differs = math.sqrt(sum(change**2 for name, change in own.items() if name not in common))
        found[key] = Expected(value=value, u_shared=shared, u_unit=differs)
    return found


def all_alike(one: Assumption) -> bool:
    """Whether an assumption moves every unit of a version alike: one spool, one grade, one wire, one stated value."""
    if one.kind == "entered":
        return "usual spread" not in one.source
    return one.shared or one.key.endswith(COMMON)
