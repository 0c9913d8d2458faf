"""Motors and coils of the demonstration: a design in every version that Saltmarsh builds, and the parts in its drawers.

Sizes follow the story of the versions (one ring, then two; a short coil, then a long one; a copper cap; a jig), and were
chosen so that the force factor the motor room computes lies within about a tenth of the one in the story. Prices are invented.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from halfroll.workshop import paths
from halfroll.workshop.material_record import FilamentTable, MagnetTable, MaterialRecord
from halfroll.workshop.motor_record import CoilTable, MotorTable
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.store import Workshop

PRICED = dt.date(2026, 6, 1)
GLUE_MM = 0.05
STEEL = "steel-1008"

Tables = tuple[dict[str, Any], dict[str, Any]]
"""``[motor]`` and ``[coil]`` as a file says them."""


def add_motors(workshop: Workshop) -> None:
    """Materials, parts with price and stock, and the design of every version there is that Saltmarsh builds."""
    there = set(workshop.version_ids())
    for name, material in MATERIALS.items():
        workshop.create_record(paths.material_path(workshop.folder, name), name, material)
    for name, part in PARTS.items():
        workshop.create_record(paths.part_path(workshop.folder, name), name, part)
    for version_id, (motor, coil) in designs().items():
        if version_id not in there:
            continue
        loaded = workshop.version(version_id)
        tables = {"motor": MotorTable.model_validate(motor), "coil": CoilTable.model_validate(coil)}
        workshop.save(loaded, loaded.record.changed(**tables))


def designs() -> dict[str, Tables]:
    """The design of every version by its id."""
    short = _coil("wire-016", 60, 27.2, "card", 12.0)
    long = _coil("wire-020", 92, 27.2, "card", 17.0)
    jig = _coil("wire-020", 92, 27.2, "glass-laminate", 17.0, offset_mm=-0.3, glue="epoxy-warm")
    longer = _coil("wire-020-thick", 100, 27.2, "glass-laminate", 18.5, offset_mm=-0.3, glue="epoxy-warm")
    bare, capped = _avocet(2), _avocet(2, cap=True)
    curlew, larger = _curlew(), _coil("wire-020-copper", 104, 34.6, "card", 18.0)
    return {
        "avocet/v1": (_avocet(1, travel_mm=1.5), short),
        "avocet/v2": (_avocet(1, travel_mm=1.8), short),
        "avocet/v3": (_avocet(1, travel_mm=2.0), short),
        "avocet/v4": (bare, long),
        "avocet/v5": (capped, long),
        "avocet/v6": (capped, {**long, "offset_mm": 0.8}),
        "avocet/v7": ({**capped, "travel_mm": 3.5}, jig),
        "avocet/v8": ({**capped, "travel_mm": 4.0}, longer),
        "dunlin/v1": (
            _dunlin(travel_mm=2.0),
            _coil("wire-016-copper", 54, 22.5, "card", 10.0, offset_mm=0.3),
        ),
        "dunlin/v2": (
            _dunlin(travel_mm=2.6),
            _coil("wire-018-copper", 68, 22.5, "card", 12.0, offset_mm=-0.1),
        ),
        "curlew/v1": (curlew, {**larger, "offset_mm": 0.4}),
        "curlew/v2": ({**curlew, "travel_mm": 4.5}, {**larger, "offset_mm": -0.5}),
        "godwit/v1": (
            _godwit(),
            _coil("cu-0.250-g1", 132, 36.5, "polyimide", 26.0, offset_mm=-0.5, glue="epoxy-warm"),
        ),
    }


def _coil(
    wire: str, turns: int, inner_mm: float, former: str, former_height_mm: float, **more: Any
) -> dict[str, Any]:
    """Two layers on a former of 0.15 mm."""
    return {
        "wire": wire, "layers": 2, "turns": turns, "former_inner_mm": inner_mm, "former_wall_mm": 0.15,
        "former_material": former, "former_height_mm": former_height_mm, "glue": "epoxy",
    } | more  # fmt: skip


def _part(name: str, part: str, **more: Any) -> dict[str, Any]:
    return {"name": name, "part": part} | more


def _on(below: str) -> dict[str, Any]:
    return {"on": below, "glue_mm": GLUE_MM}


def _motor(pair: tuple[str, str], travel_mm: float, *parts: dict[str, Any]) -> dict[str, Any]:
    return {"gap": list(pair), "travel_mm": travel_mm, "parts": parts}


def _avocet(rings: int, *, cap: bool = False, travel_mm: float = 3.0) -> dict[str, Any]:
    """Ferrite rings 60 x 32 x 10 mm between turned plates; the coil hangs over the 4 mm gap on both sides. From v4 on the air
    between pole and coil leaves room for a copper cap of 0.5 mm.
    """
    parts = [
        _part("back plate", "plate-60x6"),
        _part("magnet", "ring-60", magnetised="down", **_on("back plate")),
    ]
    if rings == 2:
        parts.append(_part("second magnet", "ring-60", magnetised="down", **_on("magnet")))
    parts.append(_part("top plate", "top-plate-60", **_on(parts[-1]["name"])))
    parts.append(_part("pole", "pole-long" if rings == 2 else "pole-short", on="back plate"))
    if cap:
        parts.append(_part("copper cap", "copper-cap", beside="pole", align="top"))
    return _motor(("pole", "top plate"), travel_mm, *parts)


def _dunlin(travel_mm: float) -> dict[str, Any]:
    """A neodymium disc in a cup of steel: small, and it keeps its field to itself."""
    return _motor(
        ("pole plate", "cup wall"), travel_mm,
        _part("cup floor", "cup-floor-30"), _part("cup wall", "cup-wall-30", on="cup floor"),
        _part("magnet", "disc-20", magnetised="up", **_on("cup floor")), _part("pole plate", "pole-plate-22", **_on("magnet")),
    )  # fmt: skip


def _curlew() -> dict[str, Any]:
    """Avocet's motor, larger: a ferrite ring 80 x 40 x 15 mm."""
    return _motor(
        ("pole", "top plate"), 4.0,
        _part("back plate", "plate-80x8"), _part("magnet", "ring-80", magnetised="down", **_on("back plate")),
        _part("top plate", "top-plate-75", **_on("magnet")), _part("pole", "pole-34", on="back plate"),
    )  # fmt: skip


def _godwit() -> dict[str, Any]:
    """A long coil in an 8 mm gap; its steel was turned at a neighbour's and has no price."""

    def steel(name: str, outer: float, height: float, **more: Any) -> dict[str, Any]:
        shape = "ring" if "inner_mm" in more else "disc"
        return {
            "name": name,
            "shape": shape,
            "outer_mm": outer,
            "height_mm": height,
            "material": STEEL,
        } | more

    return _motor(
        ("pole", "top plate"), 6.0,
        steel("back plate", 80.0, 8.0), _part("magnet", "ring-80", material="y35", magnetised="down", **_on("back plate")),
        steel("top plate", 75.0, 8.0, inner_mm=38.7, **_on("magnet")), steel("pole", 36.0, 24.1, on="back plate"),
    )  # fmt: skip


# What lies in the drawers -----------------------------------------------------------------------------------------


def _bought(type_: str, title: str, price: float, **more: Any) -> PartRecord:
    stated = {"type": type_, "title": title, "price": price, "currency": "EUR", "date": PRICED} | more
    return PartRecord.model_validate(stated)


def _turned(title: str, price: float, outer: float, height: float, stock: float, **more: Any) -> PartRecord:
    """A disc, or with `inner_mm` a ring, of mild steel from the lathe."""
    sizes = {
        "shape": "ring" if "inner_mm" in more else "disc",
        "outer_mm": outer,
        "height_mm": height,
        "material": STEEL,
    }
    return _bought("other", title, price, stock=stock, supplier="Turned at the boat yard", **(sizes | more))


def _spool(wire: str, title: str, price: float, stock_m: float) -> PartRecord:
    return _bought("wire", title, price, catalogue=wire, pack_size=100.0, pack_unit="m", stock=stock_m)


MATERIALS = {
    "ferrite-y40": MaterialRecord(
        title="Y40",
        source="Sheet of the magnets in the drawer, invented for this demonstration",
        notes="The values are usual for this grade, from memory.",
        magnet=MagnetTable(like="y35", br_t=0.45, br_u_t=0.006, hcb_ka_m=330.0, hcj_ka_m=340.0),
    ),
    "glass-laminate": MaterialRecord(
        title="Glass laminate, 0.15 mm",
        source="Usual values of glass and epoxy sheet, from memory",
        filament=FilamentTable(
            density_kg_m3=1850.0, density_u_kg_m3=50.0, modulus_mpa=18_000.0, modulus_u_mpa=3000.0, glass_c=135.0,
            continuous_c=130.0, expansion_per_k=14e-6, sheet=True,
        ),
    ),
}  # fmt: skip

PARTS = {
    "ring-60": _bought("magnet", "Ferrite ring 60 x 32 x 10", 5.8, catalogue="ferrite-ring-60x32x10", material="ferrite-y40",
                       pack_size=2.0, stock=3.0, supplier="Tideline Magnets"),
    "ring-80": _bought("magnet", "Ferrite ring 80 x 40 x 15", 7.4, catalogue="ferrite-ring-80x40x15", material="y30", stock=1.0,
                       supplier="Tideline Magnets"),
    "disc-20": _bought("magnet", "Neodymium disc 20 x 5", 9.0, catalogue="nd-disc-20x5", material="n35", pack_size=4.0, stock=2.0,
                       supplier="Tideline Magnets", notes="Keep them apart: a pair pinches."),
    "plate-60x6": _turned("Back plate 60 x 6", 6.0, 60.0, 6.0, 2.0),
    "top-plate-60": _turned("Top plate 60 x 4, bore 28.9", 9.5, 60.0, 4.0, 1.0, inner_mm=28.9),
    "pole-short": _turned("Pole 25.8 x 15.1", 5.0, 25.8, 15.1, 1.0),
    "pole-long": _turned("Pole 25.8 x 25.1", 6.5, 25.8, 25.1, 0.0),
    "copper-cap": _turned("Copper cap, 0.5 mm wall", 4.2, 26.8, 8.0, 2.0, inner_mm=25.8, material="copper"),
    "cup-floor-30": _turned("Cup floor 30 x 3", 3.0, 30.0, 3.0, 1.0),
    "cup-wall-30": _turned("Cup wall 30 x 8.1, bore 25.3", 7.5, 30.0, 8.1, 1.0, inner_mm=25.3),
    "pole-plate-22": _turned("Pole plate 22 x 3", 3.0, 22.0, 3.0, 0.0),
    "plate-80x8": _turned("Back plate 80 x 8", 9.0, 80.0, 8.0, 0.0),
    "top-plate-75": _turned("Top plate 75 x 4, bore 37.6", 12.0, 75.0, 4.0, 0.0, inner_mm=37.6),
    "pole-34": _turned("Pole 34 x 20.1", 7.5, 34.0, 20.1, 1.0),
    "wire-016": _spool("cca15-0.160-g1", "Copper-clad aluminium 0.16", 4.4, 35.0),
    "wire-020": _spool("cca15-0.200-g1", "Copper-clad aluminium 0.20", 5.2, 60.0),
    "wire-020-thick": _spool("cca15-0.200-g2", "Copper-clad aluminium 0.20, thick enamel", 5.6, 0.0),
    "wire-016-copper": _spool("cu-0.160-g1", "Copper 0.16", 6.1, 80.0),
    "wire-018-copper": _spool("cu-0.180-g1", "Copper 0.18", 6.9, 12.0),
    "wire-020-copper": _spool("cu-0.200-g1", "Copper 0.20", 7.9, 44.0),
    "laminate": _bought("filament", "Glass laminate, one sheet", 6.0, material="glass-laminate", pack_size=60.0, pack_unit="g", stock=41.0),
}  # fmt: skip
"""By id. Some run out, one thing has no price, so that both are seen."""
