"""A workshop with one small driver, four parts, three suppliers and a kit: the worked case of docs/how-to/plan-a-batch-of-kits.md."""

import datetime as dt
from pathlib import Path

from halfroll.workshop import Workshop

DAY = dt.date(2026, 10, 3)
WORKSHOP = """\
format = 1
name = "Saltmarsh Workshop"

[costs]
currency = "EUR"
printer_per_hour = 0.4
work_per_hour = 12

[[suppliers]]
name = "Tideline Magnets"
postage = 4.90
free_from = 40.00
currency = "EUR"

[[suppliers]]
name = "Turned at the boat yard"
postage = 6.50
currency = "EUR"

[[suppliers]]
name = "Wire loft"
postage = 3.90
currency = "EUR"
"""
PARTS = {
    "magnet": """type = "magnet"
catalogue = "nd-disc-20x5"
material = "n42"
stock = 5
place = "steel box"
price = 8.40
currency = "EUR"
pack_size = 4
supplier = "Tideline Magnets"
date = 2026-09-01

[[offers]]
supplier = "Tideline Magnets"
price = 19.00
currency = "EUR"
pack_size = 10
""",
    "plate": """type = "other"
title = "Front plate, turned"
stock = 14
place = "shelf 2"
price = 2.30
currency = "EUR"
supplier = "Turned at the boat yard"
date = 2026-09-01

[[offers]]
supplier = "Turned at the boat yard"
price = 19.50
currency = "EUR"
pack_size = 10
""",
    "wire": """type = "wire"
catalogue = "cu-0.200-g1"
stock = 200
pack_unit = "g"
pack_size = 100
price = 11.00
currency = "EUR"
supplier = "Wire loft"
date = 2026-09-01

[[offers]]
supplier = "Tideline Magnets"
price = 13.50
currency = "EUR"
pack_size = 100
""",
    "screw": """type = "other"
title = "Screw M4 x 16"
stock = 30
place = "shelf 2"
price = 3.50
currency = "EUR"
pack_size = 50
supplier = "Turned at the boat yard"
date = 2026-09-01

[[offers]]
supplier = "Tideline Magnets"
price = 1.60
currency = "EUR"
pack_size = 20
""",
}
VERSION = """format = 1
title = "Small driver for a nest box"

[[bill.bought]]
part = "magnet"
use = "magnet"

[[bill.bought]]
part = "plate"
amount = 2
use = "front and back plate"

[[bill.bought]]
part = "wire"
amount = 12.5
use = "coil"

[[bill.printed]]
name = "basket"
material = "pla"
grams = 18
hours = 2.5
"""
KIT = """format = 1
title = "Nest box pair"

[[drivers]]
version = "dunlin/v1"
count = 2

[[extras]]
part = "screw"
amount = 8
use = "fixing to the box"

[[spares]]
part = "screw"
percent = 10

[[spares]]
part = "wire"
amount = 5

[price]
currency = "EUR"
margin_percent = 25
packing = 1.50
packing_hours = 0.25
postage = 4.90
tax = "VAT"
tax_percent = 19
rounding = 0.50
"""


def kit_shop(folder: Path) -> Workshop:
    """The workshop of the worked case."""
    shop = Workshop.init(folder, "Saltmarsh Workshop", durable=False)
    files = {"workshop.toml": WORKSHOP, "drivers/dunlin/driver.toml": 'format = 1\ntitle = "Dunlin"\n',
             "drivers/dunlin/v1/version.toml": VERSION, "kits/nest-pair.toml": KIT,
             **{f"parts/{name}.toml": f"format = 1\n{text}" for name, text in PARTS.items()}}  # fmt: skip
    for place, text in files.items():
        path = folder / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return shop
