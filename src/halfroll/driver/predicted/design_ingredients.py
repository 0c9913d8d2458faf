"""From the results of a design's studies to the ingredients of its model, and between which displacements it is to hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.text import format_plain, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.predicted.eddy_fit import fit_between
from halfroll.driver.predicted.ingredients import Holder, Ingredients, current_terms_of
from halfroll.driver.predicted.levers import Lever, coil_levers, field_levers, permeability_lever
from halfroll.materials.types import MagnetGrade, Steel
from halfroll.materials.wire import resistance_factor
from halfroll.motor.coil.wound import Coil
from halfroll.motor.results import BlockedImpedance, FieldInfluences, ForceFactor, Modulation
from halfroll.motor.types import Assembly, Magnet, SoftSteel
from halfroll.suspension.results import PartResult

LEAST_BL = 0.05
"""Share of Bl at rest below which the model ends (own choice): beyond it the coil is out of the gap."""

_LEAST_M = 0.2e-3


@dataclass(frozen=True, kw_only=True, eq=False)
class MotorStudies:
    """What was worked out for the motor and coil; `influences` None where no slopes are asked for."""

    assembly: Assembly
    coil: Coil
    force_factor: ForceFactor
    blocked: BlockedImpedance
    modulation: Modulation | None
    influences: FieldInfluences | None


def x_range_of(
    assembly: Assembly, force: ForceFactor, low_m: float, high_m: float
) -> tuple[tuple[float, float], tuple[Verdict, ...]]:
    """Between which displacements a model may hold that its suspension holds from `low_m` to `high_m`; and what ends it earlier.

    Raises
    ------
    InputError
        Nothing is left: the coil has no room to move.
    """
    said = []
    room = assembly.inward_room_m
    if room is not None and -low_m > room + 1e-9:
        said.append(_hits(assembly.inward_stop or "the motor", room, -low_m))
        low_m = -room
    low_bl, high_bl = _held(force)
    if low_m < low_bl - 1e-9 or high_m > high_bl + 1e-9:
        said.append(_leaves(max(low_m, low_bl), min(high_m, high_bl)))
        low_m, high_m = max(low_m, low_bl), min(high_m, high_bl)
    if not (low_m < -_LEAST_M and high_m > _LEAST_M):
        raise InputError("The coil must have room to move", key="coil", found=f"{1e3 * low_m:.2g} to {1e3 * high_m:.2g} mm",
                         remedy="Shorten the coil, raise it, or give the motor more room under the gap")  # fmt: skip
    return (low_m, high_m), tuple(said)


def _held(force: ForceFactor) -> tuple[float, float]:
    """Displacements around rest between which Bl keeps its sign and some of its size."""
    ratio = force.bl / force.at_rest
    rest = int(np.argmin(np.abs(force.x_m)))
    low, high = rest, rest
    while low > 0 and ratio[low - 1] > LEAST_BL:
        low -= 1
    while high < len(ratio) - 1 and ratio[high + 1] > LEAST_BL:
        high += 1
    return float(force.x_m[low]), float(force.x_m[high])


def _hits(body: str, room_m: float, travel_m: float) -> Verdict:
    return Verdict(
        code="coil-hits-motor", severity=Severity.CAUTION,
        text=f"The coil is longer than the travel allows: inwards it meets the {body} after {format_plain(1e3 * room_m, 'mm')}, and the suspension lets it "
        f"go {format_plain(1e3 * travel_m, 'mm')}. The prediction ends there; a real coil knocks and bends its former.",
        remedy="Shorten the coil or its former, raise the gap over the back plate, or stop the suspension earlier.",
        data={"room_m": room_m, "travel_m": travel_m, "body": body},
    )  # fmt: skip


def _leaves(low_m: float, high_m: float) -> Verdict:
    return Verdict(
        code="coil-leaves-gap", severity=Severity.CAUTION,
        text=f"The coil leaves the gap before the suspension stops it: the prediction holds from {format_value(1e3 * low_m, None, 'mm', sign=True)} to {format_value(1e3 * high_m, None, 'mm', sign=True)}.",
        remedy="Make the coil or the gap higher, or count on less travel.", data={"low_m": low_m, "high_m": high_m},
    )  # fmt: skip


def ingredients_of(
    motor: MotorStudies,
    holders: tuple[Holder, ...],
    moving_kg: float,
    area_m2: float,
    x_range: tuple[float, float],
) -> Ingredients:
    """All ingredients; the sense of the current is such that a positive one moves the coil outwards."""
    force = motor.force_factor
    sign = -1.0 if force.at_rest < 0.0 else 1.0
    wire = motor.coil.design.wire
    return Ingredients(
        re_ohm=motor.coil.resistance_ohm, alpha_per_k=resistance_factor(wire, 21.0) - 1.0, bl_x_m=force.x_m, bl=sign * force.bl,
        eddies=fit_between(motor.blocked), current_terms=None if motor.modulation is None else current_terms_of(motor.modulation, sign),
        holders=holders, moving_kg=moving_kg, area_m2=area_m2, x_range=x_range,
    )  # fmt: skip


def holders_of(parts: tuple[PartResult, ...], materials: list[tuple[float, float]]) -> tuple[Holder, ...]:
    """Suspension parts with the loss factor and creep per decade of their plastics."""
    return tuple(Holder.of(part, loss, creep) for part, (loss, creep) in zip(parts, materials, strict=True))


def motor_levers(motor: MotorStudies, found: Ingredients) -> Iterator[Lever]:
    """What is assumed of the motor and coil."""
    assembly = motor.assembly
    if motor.influences is not None:
        gap = assembly.gap
        sign = -1.0 if motor.force_factor.at_rest < 0.0 else 1.0
        influences = motor.influences
        turned = FieldInfluences(
            x_m=influences.x_m,
            bl=sign * influences.bl,
            names=influences.names,
            u=influences.u,
            change=sign * influences.change,
        )
        yield from field_levers(turned, _materials(assembly), gap.r_outer - gap.r_inner, motor.coil.height_m)
    yield from coil_levers(motor.coil)
    yield from permeability_lever(found)


def _materials(assembly: Assembly) -> dict[str, MagnetGrade | Steel]:
    """Magnet grades and steels of a motor, named as its influences begin."""
    found: dict[str, MagnetGrade | Steel] = {}
    for body in assembly.bodies:
        if isinstance(body.matter, Magnet):
            found[f"magnet.{body.matter.grade.key}"] = body.matter.grade
        elif isinstance(body.matter, SoftSteel):
            found[f"steel.{body.matter.steel.key}"] = body.matter.steel
    return found


def displacements_of(x_range: tuple[float, float], count: int) -> FloatArray:
    """Displacements of a study over a range, close at its ends as Chebyshev's are, rest among them; `count` odd."""
    half = count // 2
    share = np.sin(0.5 * np.pi * np.arange(1, half + 1) / half)
    return np.concatenate([x_range[0] * share[::-1], [0.0], x_range[1] * share])
