"""Which windings fit into a gap and give an impedance: all wires, layers and packings tried, ranked, and the rest counted.

Ranked by (Bl)²/R, the square of the force per root of power, or by (Bl)²/(R M²) where the rest of the moving mass is known:
that is what sensitivity goes with. Windings that are a nuisance to make are set back by a stated tenth.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.materials.types import Wire
from halfroll.motor.clearance import clearance
from halfroll.motor.coil import Coil, wind
from halfroll.motor.coil_design import PACKINGS, CoilDesign, Packing
from halfroll.motor.gap_field import BlOf
from halfroll.motor.winding_types import Choice, Room, Target, Windings
from halfroll.motor.winding_words import explained, set_back, winding_verdicts

__all__ = ["Choice", "Room", "Target", "Windings", "windings_that_fit"]

TRIES = (10, 2000)
"""Fewest and most turns of a winding that is looked at."""


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
        Force factor (T m) of a winding, see `motor.gap_field`.
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
        verdicts=tuple(winding_verdicts(target, choices, rejected, field_solved)),
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
    coil = _nearest(base, wire, layers, packing, target)
    if isinstance(coil, str):
        return coil
    low, high = room.height_m
    if coil.height_m > high:
        return f"higher than {1e3 * high:g} mm"
    if coil.height_m < low:
        return f"lower than {1e3 * low:g} mm"
    travel = 0.5 * abs(coil.height_m - room.gap_height_m)
    if travel < room.travel_m:
        return f"less travel than {1e3 * room.travel_m:g} mm"
    try:
        sides = clearance(coil, room.gap, coil_c=room.coil_c, motor_c=room.motor_c, runout_m=room.runout_m, wall_tolerance_m=room.wall_tolerance_m)  # fmt: skip
    except InputError:
        return "does not go into the gap"
    if min(sides.inside.nominal_m, sides.inside.warm_m) < room.clearance_m:
        return f"less clearance inside than {1e3 * room.clearance_m:g} mm"
    if min(sides.outside.nominal_m, sides.outside.warm_m) < room.clearance_m:
        return f"less clearance outside than {1e3 * room.clearance_m:g} mm"
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


def _nearest(base: CoilDesign, wire: Wire, layers: int, packing: Packing, target: Target) -> Coil | str:
    """The coil of full layers whose resistance is nearest to the aim; a reason when none is within the range."""
    low, high = target.range_ohm
    few = 20
    probe = wind(_with(base, wire, layers, few, packing))
    per_layer = max(round(few * target.aim_ohm / probe.resistance_ohm), 2)
    near = []
    for each in (per_layer - 1, per_layer, per_layer + 1):
        if each >= 2 and TRIES[0] <= each * layers <= TRIES[1]:
            near.append(wind(_with(base, wire, layers, each, packing)))
    if not near:
        return f"fewer than {TRIES[0]} turns or more than {TRIES[1]}"
    coil = min(near, key=lambda one: abs(one.resistance_ohm - target.aim_ohm))
    if not low <= coil.resistance_ohm <= high:
        return "no full layers come within the resistance"
    return coil


def _with(base: CoilDesign, wire: Wire, layers: int, each: int, packing: Packing) -> CoilDesign:
    """A design of full layers; the former grows with the winding when its length is not designed for it."""
    turns = each * layers - (layers // 2 if packing == "nested" else 0)
    long_enough = base.former_height_m is None or base.former_height_m >= each * wire.overall_m
    height = base.former_height_m if long_enough else None
    return replace(base, wire=wire, layers=layers, turns=turns, packing=packing, former_height_m=height)
