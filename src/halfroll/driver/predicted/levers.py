"""What a predicted driver assumes: every uncertain thing with its standard uncertainty, and what it does to the ingredients.

A lever moves ingredients by z standard uncertainties. The values and spreads are those of the materials, of what is bought and of how it
is printed, wound and glued; own choices say so in `Assumption.source`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.predicted.from_design import Built, build
from halfroll.driver.predicted.ingredients import Ingredients
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, AssumptionKind
from halfroll.materials.types import Filament, MagnetGrade, Steel
from halfroll.materials.wire import resistance_u
from halfroll.motor.coil.wound import Coil
from halfroll.motor.results import FieldInfluences

OFFSET_U_M = 0.2e-3
"""Standard uncertainty of the coil's height when glued in with a jig (own choice)."""

TURNS_U = 0.5
"""Standard uncertainty of the number of turns (own choice)."""

AIR_U = 0.02
"""Relative standard uncertainty of the air's density: 5 to 30 °C and 980 to 1040 hPa, evenly (own choice)."""

GLUE_U = 0.6
"""The same of the glue in the winding, as `motor.coil.wound` has it."""

STEP = 0.5
"""Share of a standard uncertainty by which slopes are found."""

Change = Callable[[Ingredients, float], Ingredients]


@dataclass(frozen=True, kw_only=True, eq=False)
class Lever:
    """An assumption, and the ingredients with it moved by z of its standard uncertainties."""

    assumption: Assumption
    change: Change


def slopes_of(found: Ingredients, built: Built, levers: tuple[Lever, ...]) -> FloatArray:
    """Change of the packed model per standard uncertainty of each lever, (a, p), by moving it half of one down and up."""
    degrees = (built.stiffness_degree,)
    rows = []
    for one in levers:
        low, high = (pack(build(one.change(found, sign * STEP), degrees).model) for sign in (-1.0, 1.0))
        rows.append((high - low) / (2.0 * STEP))
    return np.array(rows).reshape(len(rows), len(pack(built.model)))


def relative(
    key: str, label: str, kind: AssumptionKind, value: float, unit: str, u_rel: float, change: Callable[[Ingredients, float], Ingredients],
    *, record: str = "", source: str = "",
) -> Lever:  # fmt: skip
    """A lever that moves by ratio: `change` gets the factor on the value."""
    assumption = Assumption(key=key, label=label, kind=kind, unit=unit, value=value, u=u_rel * abs(value), shared=bool(record), record=record,
                            source=source)  # fmt: skip
    return Lever(assumption=assumption, change=lambda found, z: change(found, math.exp(z * u_rel)))


def absolute(
    key: str, label: str, kind: AssumptionKind, value: float, unit: str, u: float, change: Callable[[Ingredients, float], Ingredients],
    *, source: str = "",
) -> Lever:  # fmt: skip
    """A lever that moves by difference: `change` gets what is added to the value."""
    assumption = Assumption(
        key=key, label=label, kind=kind, unit=unit, value=value, u=u, by_ratio=False, source=source
    )
    return Lever(assumption=assumption, change=lambda found, z: change(found, z * u))


def masses_by(kg: float) -> Callable[[Ingredients, float], Ingredients]:
    """A change of one mass (kg) by a factor."""
    return lambda found, factor: found.heavier((factor - 1.0) * kg)


def field_levers(
    influences: FieldInfluences, materials: Mapping[str, MagnetGrade | Steel], gap_m: float, height_m: float
) -> Iterator[Lever]:
    """Remanence, steel, gap and the winding's height: what the field's own study says of each. `materials` by the start of the name."""
    for name, u, change in zip(influences.names, influences.u, influences.change, strict=True):
        if name == "gap.width":
            said = Assumption(key=name, label="width of the gap", kind="assembly", unit="m", value=gap_m, u=float(u), by_ratio=False,
                              source="bore and pole within ±0.1 mm on the diameter, own choice")  # fmt: skip
        elif name == "coil.height":
            said = Assumption(key=name, label="height of the winding", kind="winding", unit="m", value=height_m, u=float(u) * height_m,
                              source="wound by hand, common practice")  # fmt: skip
        else:
            said = _material(name, materials[name.rpartition(".")[0]], float(u))
        yield Lever(assumption=said, change=_bl_by(influences.x_m, change))


def _material(name: str, material: MagnetGrade | Steel, u_rel: float) -> Assumption:
    """The remanence of a magnet grade (T), or by which factor a steel needs more field strength than its curve says."""
    if isinstance(material, MagnetGrade):
        return Assumption(key=name, label=f"remanence of {material.title}", kind="magnet", unit="T", value=material.br_t, u=u_rel * material.br_t,
                          shared=True, record=material.key, source=material.origin.source)  # fmt: skip
    return Assumption(key=name, label=f"field strength that {material.title} needs", kind="steel", unit="", value=1.0, u=u_rel, shared=True,
                      record=material.key, source=material.origin.source)  # fmt: skip


def _bl_by(x_m: FloatArray, change: FloatArray) -> Change:
    def moved(found: Ingredients, z: float) -> Ingredients:
        return replace(found, bl=found.bl + z * np.interp(found.bl_x_m, x_m, change))

    return moved


def coil_levers(coil: Coil) -> Iterator[Lever]:
    """Wire, length, turns, where it rests, glue, former."""
    metal, wire = coil.masses.metal, coil.design.wire
    section = resistance_u(wire)
    length = math.sqrt(max((coil.resistance_u_ohm / coil.resistance_ohm) ** 2 - section**2, 0.0))
    yield relative(
        f"wire.{wire.key}.section", f"cross-section of the metal in {wire.title}", "winding", 1.0, "", section,
        lambda found, factor: replace(found, re_ohm=found.re_ohm / factor).heavier((factor - 1.0) * metal),
        record=wire.key, source="IEC 60317-0-1, limits of the diameter",
    )  # fmt: skip
    yield relative(
        "coil.length", "length of the wire", "winding", coil.length_m, "m", length,
        lambda found, factor: _longer(found, factor, metal), source="printed diameter and build, common practice",
    )  # fmt: skip
    yield relative(
        "coil.turns", "turns of the coil", "winding", float(coil.turns), "", TURNS_U / coil.turns,
        lambda found, factor: _more_turns(found, factor, metal), source="own choice",
    )  # fmt: skip
    yield absolute("coil.offset", "height at which the coil is glued", "assembly", coil.design.offset_m, "m", OFFSET_U_M, with_coil_moved,
                   source="glued with a jig, own choice")  # fmt: skip
    if coil.masses.glue > 0.0:
        yield relative("coil.glue", "glue in the winding", "assembly", coil.masses.glue, "kg", GLUE_U, masses_by(coil.masses.glue),
                       source="common practice")  # fmt: skip
    former = coil.design.former
    wall = (
        0.5 * coil.design.print_tolerance_m / math.sqrt(3.0) / coil.design.former_wall_m
        if isinstance(former, Filament)
        else 0.03
    )
    if coil.masses.former > 0.0:
        yield relative("former.wall", "wall of the former", "print", coil.design.former_wall_m, "m", min(wall, 0.5),
                       masses_by(coil.masses.former), source="tolerance of the print, or of the sheet")  # fmt: skip


def _longer(found: Ingredients, factor: float, metal_kg: float) -> Ingredients:
    return replace(found, re_ohm=factor * found.re_ohm, bl=factor * found.bl).heavier(
        (factor - 1.0) * metal_kg
    )


def _more_turns(found: Ingredients, factor: float, metal_kg: float) -> Ingredients:
    """The inductance goes with the square of the turns."""
    logs = np.full(1 + 2 * len(found.eddies.branches), 2.0 * math.log(factor))
    return replace(_longer(found, factor, metal_kg), eddies=found.eddies.scaled(logs))


def with_coil_moved(found: Ingredients, outwards_m: float) -> Ingredients:
    """The same with the coil resting farther outwards (m): what was at x + d is now at x."""
    from scipy.interpolate import PchipInterpolator

    bl = PchipInterpolator(found.bl_x_m, found.bl)(found.bl_x_m + outwards_m)
    terms = found.current_terms
    return replace(found, bl=np.asarray(bl), eddies=found.eddies.moved(-outwards_m),
                   current_terms=None if terms is None else terms.moved(-outwards_m))  # fmt: skip


def permeability_lever(found: Ingredients) -> Iterator[Lever]:
    """Where the steel's permeability lies between the slope of its curve and the reversible one."""
    between = np.array(found.eddies.between)
    if not len(between):
        return
    u = 1.0 / math.sqrt(12.0)
    yield absolute(
        "steel.reversible", "steel's permeability for the coil's field, from the slope of its curve (0) to the reversible one (1)", "steel",
        0.5, "", u, lambda one, added: replace(one, eddies=one.eddies.scaled(added / u * between)),
        source="evenly between both, own choice",
    )  # fmt: skip
