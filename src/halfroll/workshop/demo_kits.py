"""The stock and a kit of the demonstration: half a year of buying, building, breaking and counting, and a pair of drivers for a hide.

Everything is invented: the suppliers, the prices and what happened on the bench.
"""

from __future__ import annotations

import datetime as dt

from halfroll.workshop import paths
from halfroll.workshop.kit_record import ExtraTable, KitDriverTable, KitPriceTable, KitRecord, SpareTable
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import load_part
from halfroll.workshop.stock import move
from halfroll.workshop.stock_record import MovementKind, MovementTable
from halfroll.workshop.store import Workshop

KIT = "hide-pair"
TIDELINE, BOAT_YARD, MUDFLAT, HARBOUR = (
    "Tideline Magnets",
    "Turned at the boat yard",
    "Mudflat Wire",
    "Harbour Stores",
)
READ = dt.date(2026, 8, 20)

EXTRA_PARTS = {
    "wood-screws": PartRecord(type="other", title="Wood screw 4 x 20, stainless", price=4.2, currency="EUR", pack_size=50, supplier=HARBOUR,
                              date=READ, stock=20, place="shelf 2"),
}  # fmt: skip
PLACES = {"ring-60": "steel box", "plate-60x6": "shelf 1", "top-plate-60": "shelf 1", "pole-long": "shelf 1", "copper-cap": "drawer 4",
          "wire-020-thick": "drawer 1", "laminate": "drawer 1", "screws-m4": "shelf 2", "leads": "drawer 4", "terminals": "drawer 4"}  # fmt: skip

Row = tuple[str, str, MovementKind, float, str]
"""Day, part, what, amount, what for."""

MOVEMENTS: tuple[Row, ...] = (
    ("2026-06-05", "ring-60", "bought", 8, TIDELINE),
    ("2026-06-09", "ring-60", "used", 2, "avocet v7, second unit"),
    ("2026-06-09", "plate-60x6", "used", 1, "avocet v7, second unit"),
    ("2026-06-20", "ring-60", "spoiled", 1, "chipped when two jumped together"),
    ("2026-07-02", "plate-60x6", "bought", 6, BOAT_YARD),
    ("2026-07-02", "top-plate-60", "bought", 6, BOAT_YARD),
    ("2026-07-02", "pole-long", "bought", 6, BOAT_YARD),
    ("2026-07-02", "copper-cap", "bought", 4, BOAT_YARD),
    ("2026-07-11", "wire-020-thick", "bought", 100, MUDFLAT),
    ("2026-07-18", "wire-020-thick", "used", 10.5, "avocet v8, first unit"),
    ("2026-07-18", "ring-60", "used", 2, "avocet v8, first unit"),
    ("2026-07-18", "plate-60x6", "used", 1, "avocet v8, first unit"),
    ("2026-07-18", "top-plate-60", "used", 1, "avocet v8, first unit"),
    ("2026-07-18", "pole-long", "used", 1, "avocet v8, first unit"),
    ("2026-07-18", "copper-cap", "used", 1, "avocet v8, first unit"),
    ("2026-08-03", "wire-020-thick", "spoiled", 12, "two coils wound over, the jig slipped"),
    ("2026-08-30", "ring-60", "counted", 5, "shelf tidied; one was lent to the village hall"),
    ("2026-08-22", "terminals", "bought", 10, HARBOUR),
    ("2026-08-22", "screws-m4", "bought", 100, HARBOUR),
    ("2026-08-22", "leads", "bought", 5, HARBOUR),
    ("2026-08-30", "wood-screws", "counted", 34, "a bag more than the books knew"),
    ("2026-08-30", "gasket", "counted", 3.5, ""),
    ("2026-08-30", "laminate", "counted", 38, ""),
)
PAID = {("2026-06-05", "ring-60"): 22.0, ("2026-07-02", "plate-60x6"): 33.0,
        ("2026-07-02", "top-plate-60"): 54.0, ("2026-07-02", "pole-long"): 37.5, ("2026-07-02", "copper-cap"): 16.8,
        ("2026-07-11", "wire-020-thick"): 5.6,
        ("2026-08-22", "terminals"): 18.0, ("2026-08-22", "screws-m4"): 10.4, ("2026-08-22", "leads"): 3.4}  # fmt: skip

RECORD = KitRecord(
    title="Pair for a bird hide",
    notes="Two drivers for the hides at the saltings. Builders print surround, spider, cone and cap themselves, of the files of the release.",
    leave_out=("epoxy-heat", "epoxy-tubes", "instant", "contact", "coil glue"),
    drivers=(KitDriverTable(version="avocet/v8", count=2),),
    extras=(ExtraTable(part="wood-screws", amount=8, use="fixing to the hide"),),
    spares=(SpareTable(part="wood-screws", percent=10), SpareTable(part="screws-m4", amount=2), SpareTable(part="wire-020-thick", percent=20)),
    price=KitPriceTable(currency="EUR", margin_percent=25, packing=1.8, packing_hours=0.3, postage=6.2, tax="VAT", tax_percent=19, rounding=0.5),
)  # fmt: skip


def add_kits(workshop: Workshop) -> None:
    """One more part, where parts lie, the movements of a summer, and the kit; the parts that bills name are there already.

    Nothing of it where the version the kit is for is not.
    """
    if RECORD.drivers[0].version not in workshop.version_ids():
        return
    for name, record in EXTRA_PARTS.items():
        workshop.create_record(paths.part_path(workshop.folder, name), name, record)
    for name, place in PLACES.items():
        loaded = load_part(workshop, name)
        workshop.save(loaded, loaded.record.changed(place=place))
    move(workshop, *(_movement(row) for row in MOVEMENTS))
    workshop.create_record(paths.kit_path(workshop.folder, KIT), KIT, RECORD)


def _movement(row: Row) -> MovementTable:
    day, part, what, amount, words = row
    common = {"date": dt.date.fromisoformat(day), "part": part, "what": what, "amount": amount}
    if what != "bought":
        return MovementTable.model_validate({**common, "note": words})
    paid = PAID[day, part]
    return MovementTable.model_validate({**common, "supplier": words, "paid": paid, "currency": "EUR"})
