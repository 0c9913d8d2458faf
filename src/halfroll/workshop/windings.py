"""Which windings would fit a version's motor, on the former its coil has."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.materials.catalogue import Catalogue, found_in
from halfroll.materials.types import Wire
from halfroll.motor.coil.design import PACKINGS, CoilDesign, Packing
from halfroll.motor.coil.gap_field import BlOf, FieldLine, in_gap_only
from halfroll.motor.coil.windings import Room, Target, Windings, windings_that_fit
from halfroll.motor.field.gap_flux import middle_radius
from halfroll.motor.placing.coil_room import clear_gap
from halfroll.motor.placing.design import Design
from halfroll.motor.placing.stack import assemble
from halfroll.motor.types import Assembly
from halfroll.workshop.motor_studies import Case
from halfroll.workshop.motors import load_design, solve
from halfroll.workshop.parts import lookups

if TYPE_CHECKING:
    from halfroll.motor.results import MotorResult
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is asked of a winding.

    Parameters
    ----------
    target
        Impedance or resistance.
    wires
        Keys of wires or their beginnings, such as ``cu-0.2``; empty: every copper wire, and of a design in another metal that too.
    layers, packings, even_only
        What is tried.
    clearance_m
        Least clearance as drawn on each side (m).
    height_m
        Least and most winding height (m).
    travel_m
        Geometric travel each way (m); None: what the motor's design asks for, or none.
    other_mass_kg
        Moving mass without the coil (kg).
    with_field
        Compute the motor's field; without it turns in the gap are counted, and that is said.
    most
        Longest list.
    """

    target: Target
    wires: Sequence[str] = ()
    layers: Sequence[int] = (1, 2, 3, 4, 5, 6)
    packings: Sequence[Packing] = field(default=PACKINGS)
    even_only: bool = False
    clearance_m: float = 0.2e-3
    height_m: tuple[float, float] = (2e-3, 50e-3)
    travel_m: float | None = None
    other_mass_kg: float | None = None
    with_field: bool = True
    most: int = 15


def windings_for(workshop: Workshop, version_id: str, asked: Asked, progress: Progress = silent) -> Windings:
    """Windings that fit a version's motor on its coil's former.

    Raises
    ------
    InputError
        The version has no motor or no coil, whose former is wound on; or what is asked cannot be.
    """
    design = load_design(workshop, version_id)
    assembly = placed(design)
    found = None
    if asked.with_field:
        case = Case(design=design, assembly=assembly)
        found = solve(workshop, case, ("field",), progress, slot=version_id).motor
    return windings_of(design, assembly, asked, lookups(workshop), found)


def windings_of(
    design: Design,
    assembly: Assembly,
    asked: Asked,
    catalogue: Catalogue,
    found: MotorResult | None,
    *,
    found_with: Assembly | None = None,
) -> Windings:
    """The same for a motor in its places (see `placed`) with its field, or None without; `found_with` is the motor the field was found
    in where its coil is another by now.
    """
    base = _former_of(design)
    travel = asked.travel_m if asked.travel_m is not None else design.motor.travel_m or 0.0
    room = Room(
        gap=clear_gap(assembly),
        clearance_m=asked.clearance_m,
        height_m=asked.height_m,
        travel_m=travel,
        motor=assembly,
    )
    return windings_that_fit(
        base, room, wires_of(catalogue, asked.wires, base.wire), asked.target, bl_of(found_with or assembly, found),
        layers=asked.layers, packings=asked.packings, even_only=asked.even_only, other_mass_kg=asked.other_mass_kg,
        field_solved=found is not None, most=asked.most,
    )  # fmt: skip


def placed(design: Design) -> Assembly:
    """The motor with its coil, or without it when that very coil does not fit: other windings may."""
    try:
        return assemble(design)
    except InputError as fault:
        if not (fault.place.key or "").startswith("coil"):
            raise
        return assemble(replace(design, coil=None))


def bl_of(assembly: Assembly, found: MotorResult | None) -> BlOf:
    """Force factor of a winding in a motor: along its field when that is known, else by turns in the gap."""
    if found is None:
        return in_gap_only(assembly.gap)
    return FieldLine(z_m=found.gap_z_m, b_t=found.gap_b_t, r_m=middle_radius(assembly)).bl


def wires_of(catalogue: Catalogue, keys: Iterable[str], now: Wire) -> list[Wire]:
    """Wires by key or by the beginning of it; without any those of copper, and of the metal the coil is wound of now. A wire one
    has a spool of stands under the spool's key alone.
    """
    wanted = list(keys)
    if not wanted:
        own = {replace(w, key="") for k, w in catalogue.wires.items() if k in catalogue.parts}
        catalogue = replace(catalogue, wires={
            k: w for k, w in catalogue.wires.items() if k in catalogue.parts or replace(w, key="") not in own
        })  # fmt: skip
        metals = {"copper", "copper-winding", now.conductor.key}
        solid = [w for w in catalogue.wires.values() if w.conductor.key in metals and w.core is None]
        same_clad = [w for w in catalogue.wires.values() if now.core is not None and w.core == now.core and w.clad_share == now.clad_share]  # fmt: skip
        return [*solid, *same_clad]
    found: dict[str, Wire] = {}
    for key in wanted:
        beginning = {k: w for k, w in catalogue.wires.items() if k.startswith(key)}
        found |= beginning or {key: found_in(catalogue.wires, key, "wire", key="wire")}
    return list(found.values())


def _former_of(design: Design) -> CoilDesign:
    if design.coil is None:
        raise InputError("The motor must have a coil, whose former is wound on", key="coil", found="no table [coil]",
                         remedy="Enter former, wire, layers and turns as a start, then ask again")  # fmt: skip
    return design.coil
