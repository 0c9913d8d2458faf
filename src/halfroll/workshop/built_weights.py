"""What a version's parts are expected to weigh, each by itself, and how every assumption moves that."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.levels import FloatArray

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.suspension.design import MovingDesign

_PACKED_MASS = 1  # as `driver.predicted.packing.pack` lays it out

PARTS = {"cone": ("cone", "dome"), "cap": ("dust cap",), "surround": ("surround",), "spider": ("spider",), "former": ("former",),
          "coil": ("former", "winding"), "glue": ("glue",), "leads": ("leads",)}  # fmt: skip
"""Which moving parts a weighing is of."""

WEIGHED_WORDS = {"cone": "Cone", "cap": "Dust cap", "surround": "Surround with its lips", "spider": "Spider with its lips", "former": "Former",
          "coil": "Coil on its former", "glue": "Glue of the moving joints", "leads": "Leads"}  # fmt: skip


def expected_weights(before: PredictedDriver, design: MovingDesign) -> dict[str, tuple[float, FloatArray]]:
    """By part what is expected on the scale (kg) and its relative change per standard uncertainty of each assumption, (a,)."""
    by_mass = kilograms(before)
    found = {name: expected_weight(name, before, design, by_mass) for name in PARTS}
    return {name: one for name, one in found.items() if one is not None}


def kilograms(before: PredictedDriver) -> FloatArray:
    """Change of the moving mass without air (kg) per standard uncertainty of each assumption, (a,)."""
    found = before.model.Mms * np.asarray(before.slopes[:, _PACKED_MASS], dtype=np.float64)
    only_air = [one.key in ("air.density", "diaphragm.area", "entered.sd_m2") for one in before.assumptions]
    return np.where(only_air, 0.0, found)


def expected_weight(
    name: str, before: PredictedDriver, design: MovingDesign, by_mass: FloatArray
) -> tuple[float, FloatArray] | None:
    """What is expected on the scale (kg), and its relative change per standard uncertainty of each assumption; None where there is no such part."""
    mass = before.mass
    parts = [] if mass is None else [one for one in mass.parts if one.name in PARTS[name]]
    if not parts or (name == "coil" and len(parts) < 2):
        return None
    moving = sum(one.mass_kg for one in parts)
    change = sum(
        (_share(one.name, one.basis, before, design, by_mass) for one in parts), np.zeros(len(by_mass))
    )
    whole = _whole(name, before, design) if name in ("surround", "spider") else moving
    return (whole, change / moving) if whole is not None and change.any() else None


def _share(
    part: str, basis: str, before: PredictedDriver, design: MovingDesign, by_mass: FloatArray
) -> FloatArray:
    """Change of one moving part's mass (kg) per standard uncertainty of each assumption."""
    own = np.array([_is_of(one.key, part) for one in before.assumptions])
    found = np.where(own, by_mass, 0.0)
    material = _material(part, design)
    if basis == "geometry" and material:
        together = (
            sum(
                one.mass_kg
                for one in before.mass.parts
                if one.basis == "geometry" and _material(one.name, design) == material
            )
            if before.mass
            else 0.0
        )
        mine = next(one.mass_kg for one in before.mass.parts if one.name == part) if before.mass else 0.0
        dense = np.array([one.key == f"filament.{material}.density" for one in before.assumptions])
        found = found + np.where(dense, by_mass * mine / together, 0.0)
    return found


def _is_of(key: str, part: str) -> bool:
    """Whether an assumption is of one part alone."""
    first, _, last = key.partition(".")
    if part == "winding":
        return (first == "coil" and last in ("length", "turns", "glue")) or (
            first == "wire" and last.endswith(".section")
        )
    if part in ("glue", "leads"):
        return key == f"moving.{part}"
    return first == {"dust cap": "cap", "dome": "cone"}.get(part, part)


def _material(part: str, design: MovingDesign) -> str:
    """Id of the plastic a part is printed of."""
    drawn = {"surround": design.surround, "spider": design.spider, "cone": design.cone, "dome": design.cone, "dust cap": design.cap,
             "former": design.former}.get(part)  # fmt: skip
    return "" if drawn is None else drawn.material.key


def _whole(name: str, before: PredictedDriver, design: MovingDesign) -> float | None:
    """A surround or spider as it comes from the printer, lips included (kg)."""
    from halfroll.suspension.density import lip, plastic_of

    holder = design.surround if name == "surround" else design.spider
    if holder is None or before.suspension is None:
        return None
    stated = holder.print.weighed_kg or holder.print.slicer_kg
    if stated:
        return float(stated)
    result = next((one for one in before.suspension.parts if one.name == name), None)
    if result is None:
        return None
    lips = lip(holder, inner=True).amount + lip(holder, inner=False).amount
    return float(result.mass_kg + plastic_of(holder.material, holder.print).density_kg_m3 * lips)
