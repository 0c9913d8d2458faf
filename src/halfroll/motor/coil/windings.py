"""Which windings fit into a gap and give an impedance: all wires, layers and packings tried, ranked, and the rest counted.

Ranked by (Bl)²/R, the square of the force per root of power, or by (Bl)²/(R M²) where the rest of the moving mass is known:
that is what sensitivity goes with. Windings that are a nuisance to make are set back by a stated tenth.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.materials.types import Wire
from halfroll.motor.coil.clearance import Clearance, clearance
from halfroll.motor.coil.design import PACKINGS, CoilDesign, Packing
from halfroll.motor.coil.gap_field import BlOf
from halfroll.motor.coil.winding_types import Choice, Room, Target, Windings
from halfroll.motor.coil.winding_words import explained, set_back, winding_verdicts
from halfroll.motor.coil.wound import Coil, wind
from halfroll.motor.placing.coil_room import clear_gap, place_coil
from halfroll.motor.types import Assembly

__all__ = ["Choice", "Room", "Target", "Windings", "windings_that_fit"]

TRIES = (10, 2000)
"""Fewest and most turns of a winding that is looked at."""

ROUNDING_M = 1e-9
"""What a length may miss its limit by: differences of millimetres are not exact."""


def windings_that_fit(
    base: CoilDesign,
    room: Room,
    wires: Iterable[Wire],
    target: Target,
    bl_of: BlOf,
    *,
    layers: Sequence[int] = (1, 2, 3, 4, 5, 6),
    packings: Sequence[Packing] = PACKINGS,
    even_only: bool = False,
    other_mass_kg: float | None = None,
    field_solved: bool = True,
    most: int = 40,
) -> Windings:
    """Rank the windings on a given former that fit and give the impedance.

    Parameters
    ----------
    base
        Former, insulation, glue and offset are kept; wire, layers, turns and packing are tried.
    room
        Gap, clearance, heights, travel.
    wires
        Wires that can be had; a wire of each key once.
    target
        Rated impedance or resistance.
    bl_of
        Force factor (T m) of a winding, see `motor.coil.gap_field`.
    layers, packings, even_only
        What is tried; `even_only` leaves odd numbers of layers out.
    other_mass_kg
        Moving mass without the coil (kg); with it the rank is by (Bl)²/(R M²).
    field_solved
        Whether `bl_of` rests on a computed field; False is said.
    most
        Longest list.

    Raises
    ------
    InputError
        No wire given, or numbers that cannot be.
    """
    tried = [number for number in layers if not (even_only and number % 2)]
    stock = {wire.key: wire for wire in wires}
    if not stock or not tried:
        raise InputError(
            "There must be a wire and a number of layers to try",
            key="wire" if not stock else "layers",
            found="none",
        )
    rejected: Counter[str] = Counter()
    found: list[Choice] = []
    for wire in stock.values():
        for number in tried:
            for packing in packings if number > 1 else packings[:1]:
                got = _tried(base, room, wire, number, packing, target, bl_of, other_mass_kg)
                if isinstance(got, Choice):
                    found.append(got)
                else:
                    rejected[got] += 1
    ranked = sorted(found, key=lambda choice: -choice.score)
    choices = tuple(
        explained(choice, rank, ranked, other_mass_kg) for rank, choice in enumerate(ranked[:most])
    )
    if len(ranked) > most:
        rejected[f"ranked below the first {most}"] = len(ranked) - most
    return Windings(
        target=target, choices=choices, rejected=dict(rejected.most_common()),
        ranked_by="(Bl)²/R" if other_mass_kg is None else "(Bl)²/(R M²)",
        verdicts=tuple(winding_verdicts(target, choices, rejected, field_solved, room.travel_m)),
    )  # fmt: skip


def _tried(
    base: CoilDesign,
    room: Room,
    wire: Wire,
    layers: int,
    packing: Packing,
    target: Target,
    bl_of: BlOf,
    other_mass_kg: float | None,
) -> Choice | str:
    """The winding of full layers nearest to the resistance aimed at, or why it is none."""
    coil = _nearest(base, room, wire, layers, packing, target)
    if isinstance(coil, str):
        return coil
    travel = 0.5 * abs(coil.height_m - room.gap_height_m)
    if unsuited := _unsuited(coil.height_m, room):
        return unsuited
    sides = _room_beside(coil, room)
    if isinstance(sides, str):
        return sides
    winding = coil.winding()
    bl = bl_of(winding.r_inner, winding.r_outer, winding.z_low, winding.z_high, winding.turns)
    if bl == 0.0:
        return "no turn lies in the field"
    merit = bl * bl / coil.resistance_ohm
    moving = coil.mass_kg + (other_mass_kg or 0.0)
    score = merit if other_mass_kg is None else merit / moving**2
    hung: Literal["overhung", "underhung"] = "overhung" if coil.height_m >= room.gap_height_m else "underhung"
    choice = Choice(coil=coil, clearance=sides, bl=bl, merit=merit, score=score, travel_m=travel, hung=hung)
    return replace(choice, score=score * set_back(choice))


def _unsuited(height_m: float, room: Room) -> str:
    """What is wrong with a winding height; empty when nothing."""
    low, high = room.height_m
    if height_m > high + ROUNDING_M:
        return f"higher than {1e3 * high:g} mm"
    if height_m < low - ROUNDING_M:
        return f"lower than {1e3 * low:g} mm"
    if 0.5 * abs(height_m - room.gap_height_m) < room.travel_m - ROUNDING_M:
        return f"less travel than {1e3 * room.travel_m:g} mm"
    return ""


def _room_beside(coil: Coil, room: Room) -> Clearance | str:
    """The clearance on both sides, or why the coil does not go into its motor."""
    gap = room.gap if room.motor is None else clear_gap(replace(room.motor, winding=coil.winding()))
    try:
        sides = clearance(coil, gap, coil_c=room.coil_c, motor_c=room.motor_c, runout_m=room.runout_m, wall_tolerance_m=room.wall_tolerance_m)  # fmt: skip
    except InputError:
        return "does not go into the gap"
    for side, where in ((sides.inside, "inside"), (sides.outside, "outside")):
        if min(side.nominal_m, side.warm_m) < room.clearance_m - ROUNDING_M:
            return f"less clearance {where} than {1e3 * room.clearance_m:g} mm"
    return sides if room.motor is None else _out_of_the_way(coil, room.motor, room.travel_m) or sides


def _out_of_the_way(coil: Coil, motor: Assembly, travel_m: float) -> str:
    """Which way a coil meets a part of its motor; empty when it stays clear of all of them over its travel."""
    try:
        place_coil(motor, coil.design, travel_m or None)
    except InputError as fault:
        if fault.place.key == "coil.offset_mm":  # said by its force: no turn lies in the field
            return ""
        return (
            "meets a part within the travel"
            if fault.place.key == "motor.travel_mm"
            else "meets a part of the motor"
        )
    return ""


def _nearest(
    base: CoilDesign, room: Room, wire: Wire, layers: int, packing: Packing, target: Target
) -> Coil | str:
    """The coil of full layers whose resistance is nearest to the aim, of those whose height suits when any does; a reason when none
    is within the range.
    """
    low, high = target.range_ohm
    few, more = (wind(_with(base, wire, layers, each, packing)).resistance_ohm for each in (20, 40))
    turn = (more - few) / 20.0  # every turn more in each layer adds the same
    aim = 20.0 + (target.aim_ohm - few) / turn
    within = range(
        math.ceil(20.0 + (low - few) / turn - 1e-9), math.floor(20.0 + (high - few) / turn + 1e-9) + 1
    )
    if not any(TRIES[0] <= each * layers <= TRIES[1] for each in (within or (round(aim),))):
        return f"fewer than {TRIES[0]} turns or more than {TRIES[1]}"
    tried = [each for each in within if each >= 2 and TRIES[0] <= each * layers <= TRIES[1]]
    if not tried:
        return "no full layers come within the resistance"
    each = min(tried, key=lambda each: (_unsuited(each * wire.overall_m, room) != "", abs(each - aim)))
    return wind(_with(base, wire, layers, each, packing))


def _with(base: CoilDesign, wire: Wire, layers: int, each: int, packing: Packing) -> CoilDesign:
    """A design of full layers; the former grows with the winding when its length is not designed for it."""
    turns = each * layers - (layers // 2 if packing == "nested" else 0)
    long_enough = base.former_height_m is None or base.former_height_m >= each * wire.overall_m
    height = base.former_height_m if long_enough else None
    return replace(base, wire=wire, layers=layers, turns=turns, packing=packing, former_height_m=height)
