"""What the demonstration's drivers cost: suppliers with postage, offers, spools, glue, screws, and the bills of the newer versions.

All suppliers and prices are invented. A part was renamed and an old bill still names it as before; the short pole can be turned from the long one;
one supplier asks another currency.
"""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from typing import Any

from halfroll.workshop import paths
from halfroll.workshop.bill_record import BillTable
from halfroll.workshop.costs_record import CostsTable, ExchangeTable, SupplierTable
from halfroll.workshop.part_record import OfferTable, PartRecord
from halfroll.workshop.parts import load_part, part_ids
from halfroll.workshop.store import Workshop

READ = dt.date(2026, 8, 20)
MAGNETS, YARD, WIRES, STORES = "Tideline Magnets", "Turned at the boat yard", "Mudflat Wire", "Harbour Stores"


def add_bills(workshop: Workshop) -> None:
    """Rates, suppliers, offers and parts, and a bill in every version there is of `BILLS`."""
    loaded = workshop.workshop_record()
    workshop.save(loaded, loaded.record.changed(costs=COSTS, suppliers=SUPPLIERS, exchange=EXCHANGE))
    there = set(part_ids(workshop))
    for name, part in PARTS.items():
        if name not in there:
            workshop.create_record(paths.part_path(workshop.folder, name), name, part)
    for name, changes in CHANGES.items():
        if name in there:
            part_loaded = load_part(workshop, name)
            workshop.save(part_loaded, part_loaded.record.changed(**changes))
    known = set(workshop.version_ids())
    for version_id, bill in bills().items():
        if version_id in known:
            version = workshop.version(version_id)
            workshop.save(version, version.record.changed(bill=bill))


COSTS = CostsTable(currency="EUR", printer_per_hour=0.35, work_per_hour=14.0)
SUPPLIERS = (
    SupplierTable(name=MAGNETS, postage=6.9, free_from=80.0, currency="EUR"),
    SupplierTable(name=YARD, currency="EUR"),
    SupplierTable(name=WIRES, postage=5.5, free_from=60.0, currency="GBP"),
    SupplierTable(name=STORES, postage=4.5, free_from=50.0, currency="EUR"),
)
EXCHANGE = (ExchangeTable(one="GBP", gives=1.17, of="EUR", date=READ),)


def _offer(supplier: str, price: float, pack: float = 1.0, currency: str = "EUR") -> OfferTable:
    return OfferTable(supplier=supplier, price=price, currency=currency, pack_size=pack, date=READ)


def _part(type_: str, title: str, price: float, **more: Any) -> PartRecord:
    stated = {
        "type": type_,
        "title": title,
        "price": price,
        "currency": "EUR",
        "date": READ,
        "supplier": STORES,
    }
    return PartRecord.model_validate(stated | more)


def _spool(title: str, material: str, price: float, grams: float = 750.0, **more: Any) -> PartRecord:
    return _part("filament", title, price, material=material, pack_size=grams, pack_unit="g", **more)


CHANGES: dict[str, dict[str, Any]] = {
    "ring-60": {"offers": (_offer(MAGNETS, 26.0, 10.0), _offer(STORES, 3.6))},
    "ring-80": {"offers": (_offer(STORES, 8.2),)},
    "disc-20": {"offers": (_offer(MAGNETS, 20.5, 10.0),)},
    "plate-60x6": {"offers": (_offer(STORES, 7.4),)},
    "pole-short": {"made_from": "pole-long", "made_from_cost": 1.5},
    "wire-020": {"supplier": WIRES, "offers": (_offer(WIRES, 18.0, 500.0, "GBP"),)},
    "wire-020-thick": {"supplier": STORES, "offers": (_offer(WIRES, 4.3, 100.0, "GBP"), _offer(WIRES, 17.5, 500.0, "GBP"))},
    "wire-016": {"supplier": WIRES},
    "wire-018-copper": {"supplier": WIRES},
    "laminate": {"supplier": STORES},
}  # fmt: skip
"""What is added to parts that are there already."""

PARTS = {
    "spool-grey": _spool("TPU 95A, grey, one spool", "tpu-grey", 27.0, offers=(_offer(MAGNETS, 31.0, 1000.0),)),
    "spool-hard": _spool("TPU 95A, harder, one spool", "tpu-95a", 29.5),
    "spool-foam": _spool("Foaming PP, one spool", "pp-foam", 41.0, 600.0),
    "spool-sand": _spool("ASA, sand, one spool", "asa-hide", 24.0, 1000.0, offers=(_offer(WIRES, 17.9, 750.0, "GBP"),)),
    "screws-m4": _part("other", "Screw M4 x 12, stainless", 5.2, pack_size=50.0, formerly=("screw-m4x12",), offers=(_offer(YARD, 0.15),)),
    "leads": _part("other", "Flexible lead", 3.4, pack_size=5.0, pack_unit="m", offers=(_offer(WIRES, 9.5, 20.0, "GBP"),)),
    "terminals": _part("other", "Pair of terminals on a plate", 2.4, offers=(_offer(STORES, 18.0, 10.0),)),
    "gasket": _part("other", "Foam tape 8 x 2", 4.8, pack_size=5.0, pack_unit="m"),
    "epoxy-heat": _part("glue", "Epoxy for heat, two tubes", 14.5, glue="epoxy-warm", pack_size=50.0, pack_unit="g"),
    "epoxy-tubes": _part("glue", "Epoxy, two tubes", 7.9, glue="epoxy", pack_size=48.0, pack_unit="g", offers=(_offer(YARD, 21.0, 200.0),)),
    "contact": _part("glue", "Contact glue", 5.6, pack_size=50.0, pack_unit="g"),
    "card": _spool("Card, one sheet", "card", 1.2, 90.0),
    "spool-white": _spool("PLA, white, one spool", "pla", 18.5, 1000.0),
    "instant": _part("glue", "Instant glue", 3.9, glue="cyanoacrylate", pack_size=20.0, pack_unit="g"),
}  # fmt: skip
"""Parts that only bills name, by id."""


def bills() -> dict[str, BillTable]:
    """The bill of every version that has one, by its id."""
    found = {
        "avocet/v7": _bill(
            "frame, 96 mm", 78.0, 6.2, 93.0, rings=2, screws="screw-m4x12", hours=(0.7, 0.4, 0.5, 0.2)
        ),
        "avocet/v8": _bill("frame, 100 mm", 84.0, 6.6, 97.0, rings=2, hours=(0.9, 0.4, 0.7, 0.2)),
        "avocet/v9": _bill("frame, 100 mm", 84.0, 6.6, 97.0, rings=2, hours=(1.0, 0.4, 0.7, 0.2)),
        "dunlin/v2": _bill("frame, 63 mm", 31.0, 2.9, 60.0, rings=0, screws_n=4, hours=(0.4, 0.3, 0.3, 0.1)),
    }
    return {version_id: BillTable.model_validate(table) for version_id, table in found.items()}


def _bill(
    frame: str, frame_g: float, frame_h: float, edge_mm: float, *, rings: int, hours: tuple[float, float, float, float],
    screws: str = "screws-m4", screws_n: int = 8,
) -> dict[str, Any]:  # fmt: skip
    """A bill with its frame, small parts and seams; `rings` of ferrite between plates, 0 where the magnet sits in a cup."""
    names = ("surround", "spider", "cone", "cap")
    printed = [{"name": name, "hours": one} for name, one in zip(names, hours, strict=True)]
    printed.append(
        {
            "name": frame,
            "material": "spool-sand",
            "grams": frame_g,
            "hours": frame_h,
            "how": "4 walls, 25 % filled, 0.24 mm layers",
        }
    )
    bought = [
        {"part": screws, "amount": float(screws_n), "use": "frame screws"}, {"part": "leads", "amount": 0.16, "use": "leads"},
        {"part": "terminals", "use": "terminals"}, {"part": "gasket", "amount": round(edge_mm * 3.1416e-3 + 0.01, 2), "use": "gasket"},
    ]  # fmt: skip
    return {
        "work_hours": 2.5,
        "bought": bought,
        "printed": printed,
        "glued": [*_motor_seams(rings), *_moving_seams(frame, edge_mm)],
    }


def _motor_seams(rings: int) -> list[dict[str, Any]]:
    if rings == 0:
        pairs = [("magnet", "cup floor"), ("pole plate", "magnet")]
        return [_seam(a, b, "epoxy-tubes", 50.0, 1.0) for a, b in pairs]
    stack = ["back plate", "magnet", "second magnet", "top plate"]
    return [_seam(upper, lower, "epoxy-tubes", 150.0, 1.5) for lower, upper in pairwise(stack)]


def _moving_seams(frame: str, edge_mm: float) -> list[dict[str, Any]]:
    return [
        _seam("surround", "cone", "instant", round(3.1416 * (edge_mm - 24.0)), 1.0), _seam("cone", "former", "epoxy-heat", 87.0, 1.2),
        _seam("spider", "former", "epoxy-heat", 87.0, 1.2), _seam("cap", "cone", "instant", 90.0, 0.8),
        _contact("surround", frame, 0.6),
        _contact("spider", frame, 0.3),
    ]  # fmt: skip


def _seam(one: str, other: str, glue: str, length_mm: float, bead_mm: float) -> dict[str, Any]:
    return {
        "seam": f"{one} to {other.partition(',')[0]}",
        "glue": glue,
        "joins": [one, other],
        "length_mm": float(length_mm),
        "bead_mm": bead_mm,
    }


def _contact(one: str, frame: str, grams: float) -> dict[str, Any]:
    """A seam that comes apart again with a warm knife."""
    return {
        "seam": f"{one} to frame",
        "glue": "contact",
        "joins": [one, frame],
        "grams": grams,
        "opens": True,
    }
