"""The heat of a version's coil: estimated from its motor, and put right by what its units' power logs measured."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.text import THIN, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.coil.wound import Coil, wind
from halfroll.motor.heat.coil import CoilHeat, coil_heat
from halfroll.motor.heat.network import HeatNetwork
from halfroll.motor.types import Assembly
from halfroll.workshop.levels import power_result
from halfroll.workshop.motors import load_motor
from halfroll.workshop.runs import load_run, run_ids

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

LEAST_RISE_K = 10.0
"""A smaller rise says too little: the readings are good to some kelvin."""

LEAST_HOURS = 0.25
"""Shorter steps warm the coil alone and say little of the motor."""

POWER_U = 0.15
"""Relative standard uncertainty of V² over the warm resistance as heat in the wire: of a noise whose band lies mostly where the
impedance is near the resistance. Judged."""


@dataclass(frozen=True, kw_only=True)
class MeasuredRise:
    """How warm a unit's coil got: heat in the wire (W), rise over the air (K), for how long, how sure, and in which log."""

    run: str
    power_w: float
    rise_k: float
    seconds: float
    u_rel: float


def heat_of_version(workshop: Workshop, version_id: str, coil: Coil, motor: Assembly) -> CoilHeat:
    """The heat of a coil that is, or will be, a version's: by the warmest step in the power logs of its units, else estimated; weighed
    against the rated power of its record.

    A log puts right what is estimated for the design as saved, whose coil it was; a design changed since gets the same factor.

    Raises
    ------
    InputError
        What `coil_heat` refuses.
    """
    rated = workshop.version(version_id).record.rated_power_w
    estimated = coil_heat(coil, motor, rated_power_w=rated)
    rises = measured_rises(workshop, version_id)
    logged = _as_saved(workshop, version_id, estimated) if rises else estimated.network
    for measured in rises:
        try:
            scaled = logged.scaled_to(measured.power_w, measured.rise_k, measured.u_rel, measured.seconds)
        except InputError:
            continue  # a rise this coil cannot have was of another coil
        factor = scaled.per_watt_k[0] / logged.per_watt_k[0]
        network = estimated.network.scaled_by(factor, measured.u_rel)
        heat = coil_heat(coil, motor, network=network, rated_power_w=rated)
        return replace(heat, verdicts=(*heat.verdicts, _said(measured, factor)))
    return estimated


def _as_saved(workshop: Workshop, version_id: str, otherwise: CoilHeat) -> HeatNetwork:
    """What is estimated for the version as saved; `otherwise` where that cannot be."""
    try:
        saved = load_motor(workshop, version_id)
        return (
            otherwise.network
            if saved.design.coil is None
            else coil_heat(wind(saved.design.coil), saved.assembly).network
        )
    except InputError:
        return otherwise.network


def measured_rises(workshop: Workshop, version_id: str) -> list[MeasuredRise]:
    """What the power logs of a version's units say, the warmest step first; logs that cannot be read are left out."""
    found = [rise for unit in workshop.unit_ids(version_id) for rise in _of_unit(workshop, unit)]
    return sorted(found, key=lambda rise: -rise.rise_k)


def _of_unit(workshop: Workshop, unit_id: str) -> Iterator[MeasuredRise]:
    for run_id in run_ids(workshop, unit_id, "power"):
        try:
            steps = power_result(load_run(workshop, run_id).record).steps
        except InputError:
            continue
        for one in steps:
            step, got = one.step, one.coil
            if (
                got is None
                or step.re_warm_ohm is None
                or step.hours < LEAST_HOURS
                or got.rise_k < LEAST_RISE_K
            ):
                continue
            yield MeasuredRise(
                run=run_id, power_w=step.drive_v**2 / step.re_warm_ohm, rise_k=got.rise_k, seconds=3600.0 * step.hours,
                u_rel=math.hypot(got.u_k / got.rise_k, POWER_U),
            )  # fmt: skip


def _said(measured: MeasuredRise, factor: float) -> Verdict:
    return Verdict(
        code="heat-measured", severity=Severity.NOTE,
        text=f"The thermal resistances are {format_value(factor, None)} times those estimated, so that the coil rises by "
        f"{measured.rise_k:.0f}{THIN}K as in {measured.run} after {measured.seconds / 3600:g}{THIN}h of "
        f"{format_value(measured.power_w, None, 'W')}. Its power was taken as voltage squared over the warm resistance.",
        remedy="That holds for noise of the same band; where the impedance is higher the wire took less, and the powers here are too high.",
        data={"run": measured.run, "factor": factor, "power_w": measured.power_w, "rise_k": measured.rise_k},
    )  # fmt: skip
